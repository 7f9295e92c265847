"""The same figures as a sheet has, for programs: tables as CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence


def csv_bytes(heads: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """A table as CSV (RFC 4180, UTF-8), units in the heads; None is an empty cell."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(heads)
    writer.writerows(["" if cell is None else cell for cell in row] for row in rows)
    return text.getvalue().encode("utf-8", "replace")
