"""A revision: the texts of a piece as they were at one time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ...lang.loader import Files


@dataclass(frozen=True)
class Revision:
    """The piece at ``path`` of ``files``, as it was at ``when`` (a date of ISO 8601, "" for now).

    ``name`` is what it goes by, ``note`` what was said of it; ``record`` is what it came to, where
    that was taken down then."""

    name: str
    path: str
    files: Files
    when: str = ""
    note: str = ""
    record: Mapping[str, Any] | None = None

    @property
    def told(self) -> str:
        """Name, day and note in one line."""
        note = f'"{self.note}"' if self.note else ""
        return ", ".join(part for part in (self.name, self.when[:10], note) if part)

    def text(self, path: str) -> str | None:
        """The text at ``path`` as it was, line ends made alike; None where there was none."""
        try:
            data = self.files.read(path)
        except (OSError, ValueError, RuntimeError):
            return None
        return data.decode("utf-8", "replace").replace("\r\n", "\n")
