"""A terminal written over row by row, from the top, so that nothing flickers."""

from __future__ import annotations

import re
import shutil
from collections.abc import Sequence

from ...lang.folding import width_of

CLEAR = "\x1b[2J\x1b[H"
HOME, WIPE_ROW, WIPE_BELOW = "\x1b[H", "\x1b[K", "\x1b[J"
_TINT = re.compile(r"\x1b\[[0-9;]*m")


def columns_of(row: str) -> int:
    """Columns that a row takes, its colours aside."""
    return width_of(_TINT.sub("", row))


def joined(parts: Sequence[str], between: str, width: int) -> list[str]:
    """``parts``, which may be coloured, in as few rows as hold them."""
    rows = [parts[0]]
    for part in parts[1:]:
        more = f"{rows[-1]}{between}{part}"
        rows[-1:] = [more] if columns_of(more) <= width else [rows[-1], f"  {part}"]
    return rows


def over(rows: Sequence[str]) -> str:
    """What writes ``rows`` over all that is on the terminal, as many as it holds. Each row is wiped
    before it is written: after its last column, a wipe would take the letter there."""
    size = shutil.get_terminal_size((80, 24))
    kept: list[str] = []
    left = size.lines - 1
    for row in rows:
        left -= max(1, -(-columns_of(row) // size.columns))
        if left < 0:
            kept[-1:] = ["…"]
            break
        kept.append(row)
    return HOME + "".join(f"{WIPE_ROW}{row}\n" for row in kept) + WIPE_BELOW
