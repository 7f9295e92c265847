"""Metal as it was added, copy by copy: the triangles of each in its place, with the cuts made in it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence, Set
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from ..geometry import frames as fr
from ..geometry.bend import Bend
from .opening import is_open
from .plan import Shape, Step, hashed

if TYPE_CHECKING:
    pass

CHORD = 0.01  # mm, how finely metal is faceted to find its sides
Corners = np.ndarray  # (m, 3, 3) mm: the triangles of some metal


def metal_of(steps: Sequence[Step], wanted: set[int]) -> list[tuple[np.ndarray, Corners]]:
    """Frame and triangles of every copy of metal that the features ``wanted`` added."""
    return [(one.frame, one.corners) for one in lumps(steps, wanted)]


@dataclass(frozen=True, eq=False)
class Lump:
    """One copy of metal as it was added: where it stands (3, 4), its triangles, and the cuts that were asked
    for and work on it: each a tool and its frames (n, 3, 4)."""

    frame: np.ndarray
    corners: Corners
    cuts: tuple[tuple[Shape, np.ndarray], ...] = ()

    def content(self) -> str:
        """Content hash, hex."""
        cuts = (part for tool, where in self.cuts for part in (tool.digest(), where.tobytes()))
        return hashed(self.frame.tobytes(), self.corners.tobytes(), *cuts)


def lumps(
    steps: Sequence[Step], wanted: Set[int] | None, asked: Callable[[Step], bool] | None = None
) -> Iterator[Lump]:
    """Every copy of metal that the features ``wanted`` added (None: all), with those cuts in it that are
    ``asked`` for; of metal bent since, those of known depth, bent with it."""
    for number, step in enumerate(steps):
        if step.work != "add":
            continue
        cuts = tuple(
            (cut.shape, cut.frames) for cut in (steps[number + 1 :] if asked else ())
            if cut.work == "cut" and (cut.into is None or step.body in cut.into) and asked and asked(cut)
        )
        bend = Bend(*step.shape.figures) if step.shape.kind == "bent" else None
        mine = wanted is None or step.feature in wanted
        if step.shape.steps:
            inner = [*lumps(step.shape.steps, None if mine else wanted, asked)]
            inner = inner if bend is None else [_bent(one, bend, step.shape.figures) for one in inner]
        else:
            inner = [Lump(fr.identity()[0], _corners(step.shape))] if mine else []
        for frame in step.frames:
            for one in inner:
                corners = fr.apply(frame, one.corners.reshape(-1, 3)).reshape(-1, 3, 3)
                yield Lump(
                    fr.compose(frame[None], one.frame[None])[0], corners[:, :: _hand(frame)],
                    (*((tool, fr.compose(frame[None], there)) for tool, there in one.cuts), *cuts),
                )


def _bent(flat: Lump, bend: Bend, figures: tuple[Any, ...]) -> Lump:
    """A lump and its cuts bent, in triangles small enough to follow the bend."""
    corners = _fine(flat.corners, np.sqrt(8 * bend.neutral * CHORD))
    cuts = tuple(
        (Shape("bent", figures, (Step("add", tool, there, 0),)), fr.identity())
        for tool, there in flat.cuts if not is_open(tool)
    )  # fmt: skip
    bent = bend.apply(corners.reshape(-1, 3)).reshape(-1, 3, 3)
    return Lump(bend.frames(flat.frame[None])[0], bent, cuts)


def _fine(corners: Corners, longest: float) -> Corners:
    """The same triangles, each with an edge over ``longest`` mm in four, until there is none."""
    done = []
    while len(corners):
        long = (np.linalg.norm(corners - np.roll(corners, -1, axis=1), axis=2) > longest).any(axis=1)
        done.append(corners[~long])
        one, two, three = np.moveaxis(corners[long], 1, 0)
        half, next_, last = (one + two) / 2, (two + three) / 2, (three + one) / 2
        corners = np.concatenate([
            np.stack(each, axis=1)
            for each in ((one, half, last), (half, two, next_), (last, next_, three), (half, next_, last))
        ])  # fmt: skip
    return np.concatenate([corners, *done])


def _hand(frame: np.ndarray) -> int:
    """-1 of a frame that mirrors, which turns triangles inside out; else 1."""
    return -1 if fr.mirrored(frame) else 1


def _corners(shape: Shape) -> Corners:
    points, triangles = mesh_of(shape)
    return points[triangles]


@lru_cache(maxsize=256)
def _made(key: str, kind: str, figures: tuple[object, ...], chord: float) -> tuple[np.ndarray, np.ndarray]:
    from ..shapes.makers import make

    mesh = make(kind, figures, chord)
    return mesh.points, mesh.triangles


def mesh_of(shape: Shape, chord: float = CHORD) -> tuple[np.ndarray, np.ndarray]:
    """Points (n, 3) and triangles (m, 3) of a shape of known depth."""
    return _made(shape.digest(), shape.kind, shape.figures, chord)
