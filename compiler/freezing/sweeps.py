"""One implicit step of heat along lines of cells, all lines at once."""

from __future__ import annotations

import numpy as np

from ..measures.kinds import Floats


def swept(warm: Floats, capacity: Floats, links: Floats) -> Floats:
    """Temperatures after a step along the first axis.

    ``warm`` (n, ...) temperatures, ``capacity`` J/K of each cell, ``links`` (n - 1, ...) heat that
    passes between neighbours in the step, J/K. The ends are shut. Solves a tridiagonal system a line
    by elimination (every quotient positive, so nothing overshoots)."""
    count = len(warm)
    if count == 1:
        return warm
    value, ratio = np.empty_like(warm), np.empty_like(links)
    base = capacity[0] + links[0]
    np.divide(links[0], base, out=ratio[0])
    np.multiply(capacity[0], warm[0], out=value[0])
    value[0] /= base
    for k in range(1, count):
        low = links[k - 1]
        base = low * (1.0 - ratio[k - 1])
        base += capacity[k]
        if k < count - 1:
            base += links[k]
            np.divide(links[k], base, out=ratio[k])
        np.multiply(capacity[k], warm[k], out=value[k])
        value[k] += low * value[k - 1]
        value[k] /= base
    for k in range(count - 2, -1, -1):
        value[k] += ratio[k] * value[k + 1]
    return value
