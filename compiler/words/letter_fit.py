"""Letters as large as fit inside a closed path, so far from it. Lengths mm."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from ...lang.bench import Call
from ..bench.faces import faced as part_with_face
from ..bench.plan import PRISM
from ..geometry import frames as fr
from ..geometry.inside import inside_loops
from ..geometry.outlines import trace_all
from ..geometry.surfaces import Flat

if TYPE_CHECKING:
    from ..bench.feature import Feature, Lines
    from .letters import Typesetting

    Stood = Callable[[float], tuple[Typesetting, np.ndarray]]

LEAST, MOST = 0.3, 100.0  # mm tall
STEPS = 18  # of halving between them
FEW = 3  # letters, a monogram: it fills its face
RIM_SHARE = 0.18  # of the width of their face, what a monogram leaves beside it; our own choice
SAID = ("tall", "within", "along", "upon", "row", "circle", "grid", "both-sides")
LEVEL = 1e-3
MARGIN = 0.5  # mm from the path where the line says none


def tall_within(call: Call, stood: Stood, place: np.ndarray) -> float:
    """How tall letters may be that fit inside `within`, `margin` from it: ``stood`` gives the text so tall,
    and the spots (n, 3, 4) of its letters at its place (1, 3, 4)."""
    lines: Lines = call.get("within")
    path, margin = lines.lines[0], call.get("margin", MARGIN)
    if not path.closed:
        call.refuse(
            "path-not-closed", "letters fit inside a closed path; this one is open", "within",
            remedy="name the rim of the face they lie on, as in: within rim of medal",
        )  # fmt: skip
    tall = _tallest(stood, fr.apply(fr.inverse(place[0]), path.points)[:, :2], margin)
    if tall < LEAST:
        call.refuse(
            "letters-not-set", "there is no room for letters there", "within", seen=f"{tall:.2f} mm tall",
            limit=f"{LEAST:g} mm", remedy="put them at the middle of that face, or make margin smaller",
        )  # fmt: skip
    return tall


def tall_on_face(call: Call, stood: Stood, place: np.ndarray) -> float | None:
    """How tall one to three letters are no line says: as fills the flat face they stand on; None for more
    of them, and for other places."""
    part: Feature | None = call.get("on") or call.get("in")
    if part is None or any(map(call.given, SAID)) or len("".join(call.get("letters").split())) > FEW:
        return None
    face = part_with_face(part)
    if not isinstance(face.surface, Flat) or len(face.frames) != 1 or face.ground is not None:
        return None
    spot = fr.compose(fr.inverse(face.frames[0])[None], place)[0]
    rim = _rim_at(face, spot)
    if rim is None:
        return None
    rim = fr.apply(fr.inverse(spot), np.column_stack([rim, np.full(len(rim), spot[2, 3])]))[:, :2]
    tall = _tallest(stood, rim, RIM_SHARE * float(np.ptp(rim, axis=0).min()))
    return tall if tall >= LEAST else None


def _rim_at(face: Feature, spot: np.ndarray) -> np.ndarray | None:
    """The rim (k, 2) of a flat face, or of the field sunk in it, on which a place (3, 4) of the part lies."""
    if spot[2, 2] < 1 - LEVEL:
        return None
    if abs(spot[2, 3] - face.surface.height) < LEVEL:
        return np.asarray(trace_all(face.surface.outline)[0])
    for cut in reversed(face.worked):
        home = cut.frames[0]
        floor = home[2, 3] + float(cut.shape.figures[1]) if cut.shape.kind == PRISM else np.inf
        if len(cut.frames) == 1 and abs(spot[2, 3] - floor) < LEVEL:
            loop = trace_all(cut.shape.figures[0])[0]
            return fr.apply(home, np.column_stack([loop, np.zeros(len(loop))]))[:, :2]
    return None


def _tallest(stood: Stood, rim: np.ndarray, margin: float) -> float:
    """How tall letters are that stay ``margin`` inside a loop (k, 2) round their place; 0 where none do."""
    low, high = 0.0, MOST
    for _ in range(STEPS):
        middle = (low + high) / 2
        fits = inside_loops([rim], _edge(*stood(middle))).min() >= margin
        low, high = (middle, high) if fits else (low, middle)
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
