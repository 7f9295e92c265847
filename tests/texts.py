"""Building posy texts from memory in tests, and the unit cube as a mesh."""

from __future__ import annotations

import numpy as np
from manifold3d import Manifold, Mesh64

from posy.compiler.bench.feature import Feature
from posy.compiler.making.pipeline import _laid_out, build, check
from posy.compiler.making.result import Built
from posy.compiler.making.tried import built_and_tried
from posy.compiler.metal.part import Part
from posy.lang.faults import Fault, Level
from posy.lang.loader import Texts

CORNERS = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], np.float64)
FACES = np.array(
    [
        [0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1],
        [2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3],
    ],
    np.int32,
)  # fmt: skip


def made(text: str, **options: object) -> Built:
    """The piece of ``text``, built, whatever its faults."""
    return build("piece.posy", files=Texts({"piece.posy": text}), **options)  # type: ignore[arg-type]


def checked(text: str, **options: object) -> Built:
    """The piece of ``text`` laid out and judged without metal, whatever its faults."""
    return check("piece.posy", files=Texts({"piece.posy": text}), **options)  # type: ignore[arg-type]


def told_tried(text: str) -> dict[str, Fault]:
    """What is told of a piece by its code, but for hints, each with what came of its remedy."""
    found = built_and_tried("p.posy", files=Texts({"p.posy": text})).built.faults
    return {one.code: one for one in found if one.level is not Level.HINT}


def faults(made: Built, level: Level = Level.FAULT) -> list[Fault]:
    """Its remarks of that level."""
    return [fault for fault in made.faults if fault.level is level]


def codes(made: Built, level: Level = Level.FAULT) -> list[str]:
    """The names of its remarks of that level."""
    return [fault.code for fault in faults(made, level)]


def built(text: str, **options: object) -> Built:
    """The piece of ``text``, built; every fault fails the test that asked for it."""
    piece = made(text, **options)
    assert not faults(piece), [f"{f.code}: {f.message} {f.span}" for f in faults(piece)]
    return piece


def volume(text: str, **options: object) -> float:
    """Volume in mm3 of a piece of one alloy, corrected for faceting."""
    (part,) = built(text, **options).parts
    return part.volume


def solid_of(part: Part) -> Manifold:
    """The metal of one casting and alloy, for the kernel."""
    return Manifold(Mesh64(np.array(part.points, float), np.array(part.triangles, np.uint64)))


def metal_of(made: Built) -> Manifold:
    """The metal of a piece of one alloy."""
    (part,) = made.parts
    return solid_of(part)


def laid(text: str, name: str) -> Feature:
    """The feature called ``name`` of a piece that is laid out, without metal."""
    made, piece = _laid_out("piece.posy", {}, None, Texts({"piece.posy": text}))
    assert not made.faults, made.faults
    return next(f for f in piece.bench.features if f.name == name)
