"""Figures of a table as text, as 3MF and OBJ have them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np


def records(template: str, columns: Sequence[np.ndarray], decimals: int) -> bytes:
    """``template`` filled in ("%s" for each figure) once for each row.

    ``columns`` are integers in units of 10**-``decimals``. With decimals there is always a
    digit before the point; trailing zeros go, and the point with them."""
    rows = zip(*(_figures(column, decimals) for column in columns), strict=True)
    return "".join(template % row for row in rows).encode()


def _figures(column: np.ndarray, decimals: int) -> list[str]:
    if not decimals:
        return [str(number) for number in column.tolist()]
    unit = 10**decimals
    return [f"{number / unit:.{decimals}f}".rstrip("0").rstrip(".") for number in column.tolist()]
