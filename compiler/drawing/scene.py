"""All that is drawn of a piece as one mesh: metal and stones, each triangle with its body."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ...stdlib.alloys import ALLOYS
from ...stdlib.cuts import CUTS
from ...stdlib.gem_light import light_of
from ...stdlib.gems import GEMS
from ..bench.roles import Role
from ..making.result import Built, Stone
from ..measures.triangles import together

_PLAIN_METAL, _PLAIN_STONE = "#d9d7d0", "#dfe6ea"  # for what no table names


@dataclass(frozen=True, eq=False)
class Body:
    """One metal or one stone. ``number`` and ``axis`` (table outward) are a stone's;
    ``faceted`` tells a cut stone from a smooth one (cabochon, pearl); ``inside`` is what one sees of its
    inside, one of ``gem_light.BODIES``."""

    colour: str
    number: int = 0
    faceted: bool = False
    centre: tuple[float, float, float] = (0.0, 0.0, 0.0)
    axis: tuple[float, float, float] = (0.0, 0.0, 1.0)
    across: float = 0.0
    inside: str = "clear"

    @property
    def stone(self) -> bool:
        """Whether this is a stone."""
        return self.number > 0


@dataclass(frozen=True, eq=False)
class Scene:
    """``points`` (n, 3) mm, ``triangles`` (m, 3) outward, ``body`` (m,) index into ``bodies``,
    ``feature`` (m,) the line of work a triangle is of, ``tolerance`` chord tolerance, mm; ``texture`` the
    lines of work that work a face all over, as with a hammer."""

    points: np.ndarray
    triangles: np.ndarray
    body: np.ndarray
    feature: np.ndarray
    bodies: tuple[Body, ...]
    tolerance: float
    texture: tuple[int, ...] = ()


Row = tuple[Body, np.ndarray, np.ndarray, np.ndarray]
"""A body with its points (n, 3) mm, its triangles (m, 3) and the line of work of each."""


def scene_of(built: Built) -> Scene | None:
    """The scene of a built piece; None when there is neither metal nor stone."""
    built.adopt_tables()
    rows = list(_bodies(built))
    texture = tuple(k for k, one in enumerate(built.features) if Role.TEXTURE.value in one.roles)
    return replace(assembled(rows, built.tolerance), texture=texture) if rows else None


def assembled(rows: Sequence[Row], tolerance: float) -> Scene:
    """The scene of some bodies, one or more."""
    points, triangles = together([(row[1], row[2]) for row in rows])
    body = [np.full(len(row[2]), k, dtype=np.int32) for k, row in enumerate(rows)]
    features = np.concatenate([row[3] for row in rows])
    return Scene(points, triangles, np.concatenate(body), features, tuple(row[0] for row in rows), tolerance)


def _bodies(built: Built) -> Iterator[Row]:
    """Every body with its points, triangles and the feature of each triangle."""
    for part in built.parts:
        if len(part.triangles):
            alloy = ALLOYS.get(part.metal)
            body = Body(alloy.colour if alloy else _PLAIN_METAL)
            yield body, part.points, part.triangles.astype(np.int64), part.owner
    for stone in built.stones:
        yield stone_body(stone)


def stone_body(stone: Stone) -> Row:
    """A stone where it sits, with its points, its triangles and the line of work of each."""
    from ..bench.stone_solid import placed_mesh

    points, triangles = placed_mesh(stone.shape, stone.frame)
    turn, move = stone.frame[:, :3], stone.frame[:, 3]
    gem = GEMS.get(stone.gem)
    body = Body(
        gem.colour if gem else _PLAIN_STONE,
        stone.number,
        CUTS[stone.shape[0]].facet_count > 0,
        tuple(float(v) for v in move),  # type: ignore[arg-type]
        tuple(float(v) for v in turn[:, 2]),  # type: ignore[arg-type]
        float(min(stone.size[:2])),
        light_of(stone.gem).body,
    )
    owner = np.full(len(triangles), stone.feature, dtype=np.int32)
    return body, points, triangles.astype(np.int64), owner
