"""What a printer and a caster can show: details, letters that read backward."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.roles import FigureOf, Role
from ..judging.digits import below, least, mm, place
from ..judging.figures import figure, narrowest
from ..judging.rule import Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def printer_detail(piece: Piece) -> Iterator[Verdict]:
    """Details finer than the printer makes."""
    wire, gap = piece.bound("printer-detail", "least"), piece.bound("printer-detail", "gap")
    for feature, call in piece.with_role(Role.WIRE, Role.HOLE):
        drilled = piece.is_for(feature.index, Role.HOLE)
        section = ("across", call.get("across")) if drilled else figure(call, FigureOf.SECTION)
        if section is None:
            continue
        key, size = section[0], narrowest(section[1])
        limit = gap if drilled else wire
        if not below(size, limit):
            continue
        yield Verdict(
            "this hole closes in the print" if drilled else "this wire is too fine to print",
            feature.index,
            mm(size),
            least(mm(limit)),
            "make it wider, or drill it after casting" if drilled else "take thicker wire",
            size,
            limit,
            key=key,
            keys=("wire", "across"),
            place=place(feature.frames[0, :, 3]),
        )


def letters_backward(piece: Piece) -> Iterator[Verdict]:
    """Letters that a mirror image turned round."""
    told = set()
    for solid in piece.plan_solids:
        letters = piece.call(solid.feature)
        if not letters.given("letters") or letters.get("reversed"):
            continue
        mirrors = (part for part in solid.parts if _mirrors(piece.features[part].frames).any())
        line = next(mirrors, solid.feature)
        backward = _mirrors(solid.frames)
        if not backward.any() or (line, solid.feature) in told:
            continue
        told.add((line, solid.feature))
        yield Verdict(
            f"the letters of {letters.name} read backward here",
            line,
            f'"{letters.get("letters")}" as in a mirror',
            "letters that read from left to right",
            "write copy in place of mirror; where left and right must differ, engrave each after mirroring",
            float(backward.sum()),
            0.0,
            place=place(solid.frames[backward][0, :, 3]),
        )


def _mirrors(frames: np.ndarray) -> np.ndarray:
    """Which of the frames (n, 3, 4) are mirror images, (n,)."""
    return np.linalg.det(frames[:, :, :3]) < 0
