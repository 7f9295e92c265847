"""What `posy why` tells of the compiler's fault codes: records like those of the language (lang/codes.py).

Bench rules (what can be made but should not) are in rules/.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from ...lang.codes import codes_in, records

_HERE = Path(__file__).parent

CODES = codes_in(_HERE / "work.toml")
"""Figures that cannot be made, with an example wrong and right."""

PLAIN: Mapping[str, tuple[str, str]] = {
    name: (table["title"], table["why"]) for name, table in records(_HERE / "plain.toml").items()
}
"""What no text shows (files, prices, waivers, bench.toml): a title, and why it is one and what to do."""
