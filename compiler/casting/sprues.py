"""Sprues: those of the text, and where on a casting one may stand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from ..bench.feature import Places
from ..bench.laid import CASTING
from ..bench.roles import Role
from ..freezing.grid import Rod
from ..judging.piece import Piece
from ..measures.closest import nearest
from ..measures.kinds import Flags, Floats, dot, frame_of
from ..measures.rays import Spots, spots_on, straight_in
from ..measures.skin import Skin

USUAL_LONG = 8.0  # mm
SUNK = 0.4  # mm that a sprue reaches into the metal
STEM = 2.6  # of its thickness: the ball that stands for the stem on the grid
# Where no sprue may stand: stones lie there, or the work is too fine to be cleaned.
NEVER = (
    Role.SEAT, Role.LIGHT_HOLE, Role.HOLE, Role.ENGRAVING, Role.BEADED_EDGE, Role.GRAINS, Role.PRONG,
    Role.EAR_POST, Role.EAR_WIRE, Role.PIN,
)  # fmt: skip
ONLY_NEVER = Role.SEAT, Role.LIGHT_HOLE, Role.ENGRAVING, Role.GRAINS
RATHER_NOT = Role.SETTING, Role.FINDING, Role.RIM
BACK = -0.3  # how far a face of a wall that is rubbed over looks back that is out of harm's way
# Mm of way that it is worth not to stand on a setting or a finding; thrice that, on such a wall.
UNEASY = 3.0
SHOWN = 1.5  # mm of way that it is worth not to stand on the face but at the side, or behind
INSIDE = 5.0  # mm at most that a sprue runs within the box of the piece, as in a finger hole
THIN = 5.0  # mm of way that each mm is worth by which metal there is thinner than the sprue
NEAR, ALONG = 1.5, 0.94  # mm, and the cosine of the turn, by which a sprue is moved to a place with a name
# Ways a file comes, how far over the metal, mm, and how high: its two faces; how much broader than the
# stub; the share of all ways from which a stub is filed where none goes to and fro.
FILE_WAYS, FILE_LONG, FILE_HIGH, BESIDE, FILED_FROM = 16, 25.0, (0.3, 1.3), 0.3, 0.25
FEW = 4  # places: more of one name are not told one by one
SPACING, MOST_SPOTS, LOOKED_AT = 0.7, 2_500, 60


@dataclass(frozen=True, eq=False)
class Sprue:
    """A sprue: ``at`` (3,) mm on the metal, ``way`` (3,) unit out of it, ``across`` and ``long`` mm.
    ``feature`` is the line of the text it is of, -1 where it is proposed; ``sized`` whether the text
    says how thick; ``place`` how a text says where a proposed one stands, "" where it has no word for it."""

    at: Floats
    way: Floats
    across: float
    long: float
    feature: int = -1
    name: str = ""
    sized: bool = False
    place: str = ""

    @property
    def area(self) -> float:
        """What is to be cleaned where it stood, mm2."""
        return float(np.pi / 4 * self.across**2)

    @property
    def volume(self) -> float:
        """Mm3."""
        return self.area * self.long

    def rod(self) -> Rod:
        """As it is put on the grid: no longer than matters, its end a ball for the stem."""
        long = min(self.long, 1.8 * self.across + 2.0)
        end = self.at + long * self.way
        return Rod(self.at - SUNK * self.way, end, self.across, self.across, STEM * self.across)


def sprues_of(piece: Piece, skins: Sequence[Skin], castings: Sequence[str]) -> list[list[Sprue]]:
    """The sprues of the text, for each skin those that stand on it: of the skins of the casting they are
    written in (``castings`` are their names), the nearest. One that says no thickness has none yet."""
    found: list[list[Sprue]] = [[] for _ in skins]
    for feature, call in piece.with_role(Role.SPRUE):
        across, long = call.figure("wire"), call.figure("long")
        own = [k for k, name in enumerate(castings) if name and call.name.startswith(f"{name}.")]
        for frame in feature.frames:
            at, way = frame[:, 3], frame[:, 2]
            whose = min(own or range(len(skins)), key=lambda k: nearest(skins[k], at)[0])
            name = piece.name_of(feature.index)
            found[whose].append(
                Sprue(at, way, across or 0.0, long or USUAL_LONG, feature.index, name, across is not None)
            )
    return found


class Sites:
    """Where sprues may stand on one skin: spots (n, 3) mm with their way out, the depth of metal under
    them and what it costs to stand there, mm of way."""

    def __init__(self, piece: Piece, skin: Skin) -> None:
        self._piece, self._skin = piece, skin
        self._stones = piece.stones.frames[:, :, 3]
        self._wide = np.array([piece.stones.of(k).width for k in range(len(self._stones))])
        none = np.zeros((0, 3))
        self._at, self._out, self._deep, self._cost = none, none, np.zeros(0), np.zeros(0)
        for never in (NEVER, ONLY_NEVER):  # what is all hoop and hook is poured there
            keep: Flags = ~np.isin(skin.owner, _features(piece, never))
            if keep.any() and not len(self._at):
                self._look(piece, spots_on(skin.in_view(keep), SPACING, MOST_SPOTS))

    def _look(self, piece: Piece, spots: Spots) -> None:
        """Keep the spots with a way out of the piece."""
        skin = self._skin
        out = skin.outward(spots.at, spots.triangle)
        _, met = skin.grid.cast(spots.at + 0.05 * out, out, reach=np.inf)
        owner = skin.owner[spots.triangle]
        free = (met < 0) & (dot(out, -spots.inward) > 0.5) & (_leaves(skin, spots.at, out) < INSIDE)
        deep, _, _ = straight_in(skin, spots)
        self._at, self._out = spots.at[free], out[free]
        self._deep = np.where(np.isfinite(deep), deep, 0.0)[free]
        uneasy = 1.0 * np.isin(owner, _features(piece, RATHER_NOT))
        uneasy += 2.0 * (np.isin(owner, _features(piece, (Role.RIM,))) & (out[:, 2] > BACK))
        self._cost = SHOWN * (1.0 + self._out[:, 2]) + UNEASY * uneasy[free]

    @cached_property
    def places(self) -> list[Sprue]:
        """Sprues of no thickness at places of the text's own lines that look out of the metal."""
        found = []
        blocks = {one.name: len(one.frames) for one in self._piece.features if one.word == CASTING} | {"": 1}
        for feature, call in zip(self._piece.features, self._piece.bench.lines, strict=True):
            block, _, own = call.name.rpartition(".")
            if call.trail or self._piece.is_for(feature.index, *NEVER, *RATHER_NOT):
                continue
            if len(feature.frames) != blocks.get(block):  # out of the reach of a line, or several at once
                continue
            for name, spots in ((name, feature.look(name)) for name in feature.offers):
                each = len(spots) // len(feature.frames) if isinstance(spots, Places) else 0
                for k, frame in enumerate(spots.frames if 0 < each <= FEW else ()):
                    at, way = frame[:, 3], frame[:, 2]
                    said = f"{name} of {own}"
                    said = said if each == 1 else f"pick({said}, {k % each + 1})"
                    if nearest(self._skin, at)[0] < SUNK / 4:
                        found.append(Sprue(at, way, 0.0, 0.0, place=said))
        return found

    def behind(self, across: float, long: float) -> Sprue | None:
        """A sprue behind the shank, where it is filed clean out of sight."""
        shanks = {self._piece.name_of(one) for one in _features(self._piece, (Role.SHANK,))}
        for one in self.places:
            back = one.place.rpartition(" ")[2] in shanks and one.way[2] < -ALONG
            if back and self._free(one.at, one.way, across):
                return replace(one, across=across, long=long)
        return None

    def near(self, spots: Floats, across: float, long: float, apart: Sequence[Sprue]) -> Sprue | None:
        """A sprue as near to one of the ``spots`` (k, 3) as may be, ``apart`` from others; None without a
        place."""
        if not len(self._at):
            return None
        cost = self._cost + np.linalg.norm(self._at[:, None] - spots, axis=2).min(axis=1)
        cost += THIN * np.maximum(across - 1.3 * self._deep, 0.0)
        for other in apart:
            cost[np.linalg.norm(self._at - other.at, axis=1) < 1.5 * (across + other.across)] = np.inf
        for row in np.argsort(cost, kind="stable")[:LOOKED_AT].tolist():
            if np.isfinite(cost[row]) and self._free(self._at[row], self._out[row], across):
                return self._named(Sprue(self._at[row], self._out[row], across, long))
        return None

    def _named(self, sprue: Sprue) -> Sprue:
        """A sprue moved to a place with a name where one is at hand."""
        for one in self.places:
            beside = float(np.linalg.norm(one.at - sprue.at)) < NEAR and one.way @ sprue.way > ALONG
            if beside and self._free(one.at, one.way, sprue.across):
                return replace(sprue, at=one.at, way=one.way, place=one.place)
        return sprue

    def _free(self, at: Floats, out: Floats, across: float) -> bool:
        """Whether a sprue of that thickness meets no other metal on its way out nor the place of a stone,
        and a file reaches its stub: flat over it, to and fro or from several sides, as it does not inside
        a head."""
        away = self._stones - at
        ahead = away @ out
        beside = np.linalg.norm(away - ahead[:, None] * out, axis=1) - across / 2
        if ((ahead > 0) & (beside < self._wide / 2)).any():
            return False
        side, other = frame_of(out)
        turns = (np.arange(6) * np.pi / 3)[:, None]
        start = at + 0.6 * across * out
        ring = start + across / 2 * (np.cos(turns) * side + np.sin(turns) * other)
        rays = np.concatenate((start[None], ring))
        if (self._skin.grid.cast(rays, np.tile(out, (len(rays), 1)), reach=np.inf)[1] >= 0).any():
            return False
        turns = np.arange(FILE_WAYS)[:, None] * 2 * np.pi / FILE_WAYS
        ways = np.cos(turns) * side + np.sin(turns) * other
        aside = np.array([-1.0, 0.0, 1.0])[None, :, None] * np.cross(ways, out)[:, None]
        broad = (across / 2 + BESIDE) * aside
        rays = np.concatenate([at + over * out + broad for over in FILE_HIGH], axis=1).reshape(-1, 3)
        every = np.repeat(ways, 3 * len(FILE_HIGH), axis=0)
        met = self._skin.grid.cast(np.ascontiguousarray(rays), every, reach=FILE_LONG)[1] >= 0
        clear = ~met.reshape(FILE_WAYS, -1).any(axis=1)
        return bool((clear & np.roll(clear, FILE_WAYS // 2)).any() or clear.mean() >= FILED_FROM)


def _leaves(skin: Skin, at: Floats, out: Floats) -> Floats:
    """How far along its way each spot leaves the box of the piece, mm."""
    low, high = skin.box
    wall = np.where(out > 0, high, low)
    with np.errstate(divide="ignore", invalid="ignore"):
        far = np.where(np.abs(out) > 1e-9, (wall - at) / out, np.inf)
    return np.asarray(far.min(axis=1))


def _features(piece: Piece, roles: Sequence[Role]) -> list[int]:
    return [feature.index for feature, _ in piece.with_role(*roles)]
