"""The stone each claw was made for, where a setting gives every stone claws of its own. Lengths mm."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from ..bench.carried import given_to
from ..bench.roles import Role
from ..bench.stone_solid import stone_mesh
from ..measures.kinds import least_that, place_of
from ..metal.kernel import join
from .edges import inside_by
from .forms import Spot
from .pairs import near_pairs
from .plan_solids import PlanSolid
from .stone_table import outline_of, reach_of

if TYPE_CHECKING:
    from manifold3d import Manifold

    from .piece import Piece

INWARD = 0.4  # mm from a claw toward its own stone: there it lies within that girdle, and off every other
BESIDE = 2.0  # mm, a claw farther than this from a girdle was not made for it
FINE, FARTHEST = 0.005, 6.0  # mm: how finely, and how far, stones are tried farther apart


class ClawHomes:
    """Which stone every claw was made for. Claws that a word shares between stones have no home, nor have
    those whose word was given no stone."""

    def __init__(self, piece: Piece) -> None:
        self.piece = piece
        self._heads: dict[int, Manifold] = {}
        self._known: dict[int, tuple[np.ndarray, np.ndarray]] = {}

    @cached_property
    def features(self) -> frozenset[int]:
        """The lines whose claws were made for one stone each."""
        claws = self.piece.with_role(Role.PRONG)
        return frozenset(
            feature.index for feature, call in claws
            if not call.figure("shared")
            and any(Role.PRONG in use.word.roles and given_to(use) for use in call.within)
        )  # fmt: skip

    def home(self, feature: int, points: np.ndarray) -> np.ndarray:
        """The stone that the claw of a line which stands nearest to each of the ``points`` (n, 3) was made
        for, (n,); -1 for none."""
        none = np.full(len(points), -1)
        if feature not in self.features:
            return none
        frames, homes = self._claws(feature)
        if not len(frames):
            return none
        off = points[:, None] - frames[None, :, :, 3]
        along = np.einsum("nij,ij->ni", off, frames[:, :, 2])
        aside = np.linalg.norm(off - along[:, :, None] * frames[None, :, :, 2], axis=2)
        return np.asarray(homes[np.argmin(aside, axis=1)])

    def of_another(self, stone: np.ndarray, feature: np.ndarray, points: np.ndarray) -> np.ndarray:
        """Whether metal of lines at ``points`` (n, 3) in stones is a claw made for another stone, (n,)."""
        found = np.zeros(len(stone), dtype=bool)
        for one in self.features.intersection(feature.tolist()):
            mine = np.flatnonzero(feature == one)
            home = self.home(one, points[mine])
            found[mine] = (home >= 0) & (home != stone[mine])
        return found

    @cached_property
    def bites(self) -> dict[int, tuple[Spot, ...]]:
        """Where the claws each line made for other stones stand deepest over the girdle of each stone. By
        solids: the edge of a vee is narrower than the room between two rays."""
        found: dict[tuple[int, int], Spot] = {}
        for stone, feature, claw in self._beside():
            known, spot = found.get((stone, feature)), self._bite(stone, feature, claw)
            if spot is not None and (known is None or spot.figure > known.figure):
                found[stone, feature] = spot
        return {
            stone: tuple(spot for (one, _), spot in sorted(found.items()) if one == stone)
            for stone in {stone for stone, _ in found}
        }

    def _beside(self) -> Iterator[tuple[int, int, Manifold]]:
        """Each stone and claw made for another whose boxes along the stone's axes meet; the claw's line."""
        stones = self.piece.stones
        meshes = [stone_mesh(kind.figures)[0] for kind in stones.kinds]
        boxes = [np.stack((mesh.min(axis=0), mesh.max(axis=0))) for mesh in meshes]
        reach = max((float(np.linalg.norm(box, axis=1).max()) for box in boxes), default=0.0)
        for one in self._solids(self.features):
            points, homes = self.piece.points_of(one), self._homes(one)
            far = reach + float(np.linalg.norm(points, axis=1).max(initial=0.0))
            near = near_pairs(stones.frames[:, :, 3], one.frames[:, :, 3], far)
            for stone, k in zip(*(part.tolist() for part in near), strict=True):
                if homes[k] in (-1, stone):
                    continue
                frame, claw = stones.frames[stone], one.frames[k]
                own = (points @ claw[:, :3].T + claw[:, 3] - frame[:, 3]) @ frame[:, :3]
                low, high = boxes[int(stones.kind[stone])]
                if (own.min(axis=0) < high).all() and (own.max(axis=0) > low).all():
                    yield stone, one.feature, self.piece.solid_of(one).transform(claw)

    def _bite(self, stone: int, feature: int, claw: Manifold) -> Spot | None:
        """How far a claw stands over a girdle, in the metal as it is; None where it stands in no stone."""
        piece, frame = self.piece, self.piece.stones.frames[stone]
        solid = claw ^ piece.stone_solids[stone][2]
        if not solid.is_empty():
            solid ^= piece.metal
        if solid.is_empty():
            return None
        at = np.array(solid.to_mesh64().vert_properties, dtype=float)[:, :3]
        inside = inside_by(outline_of(piece.stones.of(stone)), ((at - frame[:, 3]) @ frame[:, :3])[:, :2])
        deep = int(inside.argmax())
        return Spot(float(inside[deep]), place_of(at[deep]), feature)

    def apart(self, stone: int, home: int) -> float:
        """How much farther a stone has to stand from another for the claws of that one to clear it, and for
        no slit that closes to be left between the heads of both, mm."""
        piece = self.piece
        middle = piece.stones.frames[:, :, 3]
        way, room = middle[stone] - middle[home], piece.stone_solids[stone][2]
        far, own = float(np.linalg.norm(way)), join(self._made_for(home))
        way = way / far if far > FINE else piece.stones.frames[stone, :, 0]
        slit = piece.bound("closing-gap", "least") + FINE
        mine, its = self.head(stone), self.head(home)

        def clear(far: float) -> bool:
            by = far * way
            apart = (room.translate(by) ^ own).is_empty()
            return bool(apart and mine.translate(by).min_gap(its, 2 * slit) >= slit)

        return least_that(clear, 0.0, FARTHEST, FINE)

    def head(self, stone: int) -> Manifold:
        """All metal made to hold a stone: of what a setting makes for several, what lies nearest to it."""
        if stone not in self._heads:
            piece, line, found = self.piece, int(self.piece.stones.line[stone]), []
            for one in piece.plan_solids:
                served = piece.services.lines(one.feature)
                if not one.cut and line in served:
                    alike = np.flatnonzero(np.isin(piece.stones.line, list(served)))
                    middle = piece.points_of(one).mean(axis=0)
                    for frame in one.frames:
                        off = piece.stones.frames[alike, :, 3] - (frame[:, :3] @ middle + frame[:, 3])
                        if alike[np.linalg.norm(off, axis=1).argmin()] == stone:
                            found.append(piece.solid_of(one).transform(frame))
            self._heads[stone] = join(found)
        return self._heads[stone]

    def _made_for(self, stone: int) -> list[Manifold]:
        """The claws of a stone, as the plan has them."""
        claws: list[Manifold] = []
        for one in self._solids(self.features):
            frames, homes = self._claws(one.feature)
            for frame in one.frames:
                at = np.flatnonzero(np.abs(frames - frame).max(axis=(1, 2)) < 1e-9)
                if (homes[at] == stone).any():
                    claws.append(self.piece.solid_of(one).transform(frame))
        return claws

    def _solids(self, features: frozenset[int]) -> list[PlanSolid]:
        return [one for one in self.piece.plan_solids if one.feature in features and not one.cut]

    def _claws(self, feature: int) -> tuple[np.ndarray, np.ndarray]:
        """Frames (n, 3, 4) of all claws of a line, and the stone of each (n,)."""
        if feature not in self._known:
            found = [(one.frames, self._homes(one)) for one in self._solids(frozenset((feature,)))]
            frames = np.concatenate([np.zeros((0, 3, 4)), *(frames for frames, _ in found)])
            homes = np.concatenate([np.zeros(0, dtype=int), *(homes for _, homes in found)])
            self._known[feature] = frames, homes
        return self._known[feature]

    def _homes(self, claws: PlanSolid) -> np.ndarray:
        """The stone of each claw: that within whose girdle one comes first, going from the claw the way
        it faces. A claw looks away from its stone along its first axis; those of bare copies have none."""
        if not self.piece.services.bare_copies.isdisjoint(claws.parts):
            return np.full(len(claws.frames), -1)
        stones, lines = self.piece.stones, self.piece.services.lines(claws.feature)
        tall = float(np.ptp(self.piece.points_of(claws)[:, 2]))
        reach = max((reach_of(kind) for kind in stones.kinds), default=0.0) + BESIDE + tall
        stone, claw = near_pairs(stones.frames[:, :, 3], claws.frames[:, :, 3], reach)
        mine = np.isin(stones.line[stone], sorted(lines))
        stone, claw = stone[mine], claw[mine]
        turn = stones.frames[stone, :, :3]
        foot = np.einsum("nij,ni->nj", turn, claws.frames[claw, :, 3] - stones.frames[stone, :, 3])
        out, _, up = (np.einsum("nij,ni->nj", turn, claws.frames[claw, :, k]) for k in range(3))
        girdle = foot - foot[:, 2:] / np.where(np.abs(up[:, 2:]) > 0.5, up[:, 2:], np.inf) * up
        inner = girdle[:, :2] - INWARD * out[:, :2]
        best, homes = np.full(len(claws.frames), -BESIDE), np.full(len(claws.frames), -1)
        for k, one, spot in zip(claw.tolist(), stone.tolist(), inner, strict=True):
            inside = float(inside_by(outline_of(stones.of(one)), spot[None])[0])
            if inside > best[k]:
                best[k], homes[k] = inside, one
        return homes
