"""How a piece lies on the table, hangs, and is worn: measured on the metal."""

from __future__ import annotations

from typing import Any

import numpy as np

from ..files.digits import rounded
from ..judging.piece import BANGLE, Piece


def poses_told(piece: Piece) -> dict[str, Any]:
    """The poses a piece can take, as plain data (mm, degrees).

    ``lying``: ``up`` (3,), the way that points from the table; ``hanging``, if it hangs: ``loops``, the
    middles (k, 3) it hangs by, and how far it leans ``forward`` and to the ``side``; ``worn``, if something
    goes through it: ``middle`` and ``axis`` (3,), ``radius``, and by what (finger, wrist)."""
    hole = piece.wear_measures.hole
    told: dict[str, Any] = {"lying": {"up": [0.0, 0.0, 1.0]}}
    if hole is not None:
        told["lying"] = {"up": rounded(np.asarray(hole.axis) / np.linalg.norm(hole.axis), 4)}
        told["worn"] = {
            "middle": rounded(hole.middle, 4), "axis": rounded(hole.axis, 4),
            "radius": round(float(hole.radius), 4),
            "by": "finger" if 2 * hole.radius < BANGLE else "wrist",
        }  # fmt: skip
    rests = (casting.rest for casting in piece.casting_measures.castings)
    rest = next((one for one in rests if one is not None), None)
    if rest is not None:
        told["hanging"] = {
            "loops": [rounded(loop.middle, 4) for loop in rest.loops],
            "forward": round(rest.hang.tilt_forward, 2), "side": round(rest.hang.tilt_side, 2),
        }  # fmt: skip
    return told
