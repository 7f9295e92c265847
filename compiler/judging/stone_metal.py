"""Metal in the room of stones: where it stands on the axis of a stone, and the volume both share.

Lengths mm, volumes mm3."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Feature
from ..bench.opening import is_open, opened
from ..bench.plan import Shape
from ..measures.kinds import Floats, Ints, dot, unit
from ..measures.skin import Skin
from ..measures.stone import Stone
from ..metal.kernel import plain
from .digits import place
from .forms import COUNT, STEP, Spot

if TYPE_CHECKING:
    from manifold3d import Manifold

    from .forms import Form
    from .piece import Piece

ASIDE = 1e-3  # of the height of a stone: its axis itself often runs through corners of the mesh
FARTHEST = 6.0  # mm, a stone is raised by no more, and a hole behind one goes so deep
AIR = 0.02  # mm between the two then; corners of metal no deeper lie in no stone
GRAIN = 0.3  # of a pavilion, farther below its girdle no grain that holds a stone reaches
TOUCH = 1e-6  # mm3, what faces that only touch share by rounding


@dataclass(frozen=True, eq=False)
class Shared:
    """What a stone and the metal share, of the ``whole`` volume of the stone: each separate part
    by its volume and its corners (n, 3) in the stone's own axes."""

    whole: float
    parts: tuple[tuple[float, Floats], ...]

    @property
    def volume(self) -> float:
        """All that is shared, mm3."""
        return sum(volume for volume, _ in self.parts)

    def near(self, spot: Floats) -> float:
        """The volume of the separate part that comes nearest to a spot (3,) in the stone's own axes, mm3."""
        return min(self.parts, key=lambda part: float(np.linalg.norm(part[1] - spot, axis=1).min()))[0]

    @property
    def axial(self) -> Floats:
        """The corners (n, 3) of the tallest part that stands on the stone's axis, in its own axes; of all
        parts where none does."""
        found = [points for _, points in self.parts if _is_round_axis(points)]
        if not found:
            return np.concatenate([points for _, points in self.parts])
        return max(found, key=lambda points: float(np.ptp(points[:, 2])))

    @property
    def on_axis(self) -> tuple[float, float, float]:
        """The tallest part that stands on the stone's axis: from where to where, mm from the girdle,
        and its volume, mm3; zeros where none does."""
        spans = [(float(p[:, 2].min()), float(p[:, 2].max()), v) for v, p in self.parts if _is_round_axis(p)]
        return max(spans, key=lambda span: span[1] - span[0], default=(0.0, 0.0, 0.0))


def metal_on_axes(forms: Sequence[Form], stones: Sequence[Stone], skin: Skin) -> Ints:
    """The feature whose metal stands on the axis of each stone or a hair beside it, -1 for none, (n,)."""
    found = np.full(len(stones), -1, dtype=np.int64)
    if not len(stones) or not len(skin.triangles):
        return found
    tall = np.array([form.top - form.tip for form in forms])
    top = np.array([form.top for form in forms])
    axis = np.array([stone.turn[2] for stone in stones])
    side = np.array([stone.turn[0] + 0.7 * stone.turn[1] for stone in stones])
    middle = np.array([stone.origin for stone in stones]) + (top - ASIDE * tall)[:, None] * axis
    for way in (1.0, -1.0):  # on the axis itself wire may end
        start = middle + way * (ASIDE * tall)[:, None] * side
        # One way down as far as the stone goes: it goes into metal there, or out of what it began in.
        far, met = skin.grid.cast(start, -axis, leaving=False)
        inside = (met >= 0) & (found < 0)
        inside[inside] = (dot(-axis[inside], skin.normals[met[inside]]) > 0) | (
            far[inside] < (1 - 3 * ASIDE) * tall[inside]
        )
        found[inside] = skin.owner[met[inside]]
    return found


def below_girdles(piece: Piece) -> list[tuple[Spot, ...]]:
    """Of each stone the deepest that corners of metal lie in it where nothing holds one, by line: below its
    girdle, or far inside that; of its own holders none, and of a pearl. Depth from its nearest facet, mm."""
    measures, skin = piece.stone_measures, piece.skin_measures.skin
    stones, forms = measures.stones, [measures.form(k) for k in range(len(measures.stones))]
    found: list[tuple[Spot, ...]] = [()] * len(stones)
    cut = [k for k in range(len(stones)) if piece.stones.of(k).cut != "pearl"]
    if not cut:
        return found
    beads = set(piece.sets.beads)
    holds, grains = (np.isin(skin.owner, [*some]) for some in ({-1, *piece.sets.holders} - beads, beads))
    boxes = np.array([stones[k].box(float(forms[k].rim.max()), forms[k].tip, forms[k].high) for k in cut])
    row, face = skin.grid.near(boxes[:, 0], boxes[:, 1], ~holds)
    for one in np.unique(row).tolist():
        k, faces = cut[one], face[row == one]
        form, spots = forms[k], skin.corners[faces].reshape(-1, 3)
        own = stones[k].own(spots)
        turn = np.degrees(np.arctan2(own[:, 1], own[:, 0])) % 360.0
        inside = np.interp(turn, np.arange(COUNT) * STEP, form.rim, period=360.0) - np.hypot(*own[:, :2].T)
        lower = form.low - GRAIN * (form.low - form.tip) * np.repeat(grains[faces], 3)
        held = piece.bound("stone-in-metal", "holder") * piece.stones.of(k).width
        free = (own[:, 2] < lower) | ((own[:, 2] < form.high) & (inside > held))
        mesh = piece.stone_solids[k][2].to_mesh64()
        a, b, c = (np.asarray(mesh.vert_properties)[np.asarray(mesh.tri_verts)[:, n], :3] for n in range(3))
        ways = unit(np.cross(b - a, c - a))
        deep = np.where(free, (dot(ways, a)[None] - spots @ ways.T).min(axis=1), 0.0)
        owner = np.repeat(skin.owner[faces], 3)
        deepest = {int(owner[n]): n for n in np.argsort(deep, kind="stable") if deep[n] > AIR}
        found[k] = tuple(Spot(float(deep[n]), place(spots[n]), line) for line, n in deepest.items())
    return found


def shared_by(piece: Piece, chosen: Sequence[int]) -> dict[int, Shared]:
    """What each of the ``chosen`` stones and the metal share, by the kernel; those that share
    nothing are left out."""
    from manifold3d import Manifold, OpType

    solids = {k: piece.stone_solids[k][2] for k in chosen}
    if not solids:
        return {}
    both = Manifold.batch_boolean(list(solids.values()), OpType.Add) ^ piece.metal
    parts: dict[int, list[tuple[float, Floats]]] = {}
    for part in both.decompose():
        points = np.array(part.to_mesh64().vert_properties, dtype=float)[:, :3]
        owner = _nearest(piece, chosen, points.mean(axis=0))
        stone = piece.stone_measures.stones[owner]
        parts.setdefault(owner, []).append((part.volume(), stone.own(points)))
    found = ((k, Shared(float(solids[k].volume()), tuple(parts[k]))) for k in sorted(parts))
    return {k: shared for k, shared in found if shared.volume > TOUCH}


def part_round(piece: Piece, stone: int, shared: Shared) -> int | None:
    """The line whose own metal fills most of what stands on a stone's axis; None where that of none does.
    What was cut out of one body alone is not in the way in that body."""
    from manifold3d import Manifold

    corners = piece.stone_measures.stones[stone].world(shared.axial)
    room, filled = Manifold.hull_points(corners), dict[int, float]()
    for one, solid in meeting(piece, room, cut=False):
        body = piece.features[one].body
        for cut, tool in meeting(piece, solid, cut=True):
            into = piece.call(cut).get("in")
            if cut > one and isinstance(into, Feature) and body in into.bodies():
                solid -= tool
        filled[one] = filled.get(one, 0.0) + float(solid.volume())
    most = max(filled, key=lambda one: filled[one], default=None)
    return most if most is not None and filled[most] > TOUCH else None


def meeting(piece: Piece, room: Manifold, *, cut: bool) -> Iterator[tuple[int, Manifold]]:
    """What metal as laid out, or what tools as laid out take, shares with a ``room``, and its line."""
    low, high = np.array(room.bounding_box()).reshape(2, 3)
    for one in piece.plan_solids:
        if one.cut is not cut:
            continue
        shape = Shape(one.kind, one.figures)
        mesh = piece.mesh_of(opened(shape, FARTHEST, FARTHEST) if is_open(shape) else shape, piece.tolerance)
        for frame in one.frames:
            stands = mesh.points @ frame[:, :3].T + frame[:, 3]
            if (stands.min(axis=0) < high).all() and (stands.max(axis=0) > low).all():
                shared = plain(mesh.points, mesh.triangles).transform(frame) ^ room
                if not shared.is_empty():  # it has no box
                    yield one.feature, shared


def _is_round_axis(points: Floats) -> bool:
    """Whether corners lie to all sides of the axis, half a turn apart at most."""
    turn = np.sort(np.arctan2(points[:, 1], points[:, 0]))
    return bool(np.diff(np.append(turn, turn[0] + 2 * np.pi)).max() <= np.pi)


def _nearest(piece: Piece, chosen: Sequence[int], spot: Floats) -> int:
    """The stone a spot lies in, or nearest to, measured in its own half widths."""
    stones = piece.stone_measures.stones

    def off(k: int) -> float:
        across, along, up = stones[k].own(spot)
        form = piece.stone_measures.form(k)
        high = form.top if up > 0 else -form.tip
        rim = float(form.rim.max())
        return float(np.hypot(across, along) / rim + abs(up) / max(high, 1e-9))

    return min(chosen, key=off)
