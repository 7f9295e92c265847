"""Letters as large as fit inside a closed path, so far from it. Lengths mm."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from ...lang.bench import Call
from ..geometry import frames as fr
from ..geometry.inside import inside_loops
from ..geometry.outlines import trace_all

if TYPE_CHECKING:
    from ..bench.feature import Lines
    from .letters import Typesetting

LEAST, MOST = 0.3, 100.0  # mm tall
STEPS = 18  # of halving between them
MARGIN = 0.5  # mm from the path where the line says none


def tall_within(
    call: Call, stood: Callable[[float], tuple[Typesetting, np.ndarray]], place: np.ndarray
) -> float:
    """How tall letters may be that fit inside `within`, `margin` from it: ``stood`` gives the text so tall, and
    the spots (n, 3, 4) of its letters at its place (1, 3, 4)."""
    lines: Lines = call.get("within")
    path, margin = lines.lines[0], call.get("margin", MARGIN)
    if not path.closed:
        call.refuse(
            "path-not-closed", "letters fit inside a closed path; this one is open", "within",
            remedy="name the rim of the face they lie on, as in: within rim of medal",
        )  # fmt: skip
    rim = fr.apply(fr.inverse(place[0]), path.points)[:, :2]
    low, high = 0.0, MOST
    for _ in range(STEPS):
        middle = (low + high) / 2
        fits = inside_loops([rim], _edge(*stood(middle))).min() >= margin
        low, high = (middle, high) if fits else (low, middle)
    if low < LEAST:
        call.refuse(
            "letters-not-set", "there is no room for letters there", "within",
            seen=f"{low:.2f} mm tall", limit=f"{LEAST:g} mm",
            remedy="put them at the middle of that face, or make margin smaller",
        )  # fmt: skip
    return float(np.floor(low * 100) / 100)


def _edge(text: Typesetting, spots: np.ndarray) -> np.ndarray:
    """Spots (n, 2) along the edges of all letters of a text."""
    flat = [
        fr.apply(spot, np.column_stack((loop, np.zeros(len(loop)))))[:, :2]
        for letter, spot in zip(text.letters, spots, strict=True)
        for loop in (trace_all(("drawing", letter.loops)) if letter.loops else ())
    ]
    return np.concatenate([_divided(loop) for loop in flat])


def _divided(loop: np.ndarray) -> np.ndarray:
    """Spots along the edges of a letter, three to each."""
    after = np.roll(loop, -1, axis=0)
    return np.concatenate([loop + share * (after - loop) for share in (0.0, 1 / 3, 2 / 3)])
