"""Metal in the room of stones: where it stands on the axis of a stone, and the volume both share.

Lengths mm, volumes mm3.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Feature, Places
from ..bench.opening import is_open, opened
from ..bench.plan import Shape
from ..bench.roles import Role
from ..measures.kinds import Floats, Ints, dot, least_that, unit
from ..measures.skin import Skin
from ..measures.stone import Stone
from ..metal.kernel import join, plain
from .clearing import STEPS, laid_wider, off_its_ends
from .digits import mm, place, rounded_up
from .forms import COUNT, STEP, Spot
from .moves import clauses_said, move, of_one_line

if TYPE_CHECKING:
    from manifold3d import Manifold

    from .forms import Form
    from .piece import Piece

ASIDE = 1e-3  # of the height of a stone: its axis itself often runs through corners of the mesh
FARTHEST = 6.0  # mm, a stone is raised by no more, and a hole behind one goes so deep
FINE = 0.005  # mm, to which that is found
AIR, JOINED = 0.02, 0.02  # mm between the two then, and mm3 of other metal that a part stands in
PAST_ENDS = (0.0, 0.3, 0.6, 0.9, 1.2, 1.5)  # mm, how far a stone past an end of metal may be raised from it
TURNED, SIDE = 0.3, 0.5  # sine, of what stands behind or before a stone; cosine, of a way to a side
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
    boxes = np.array([_lower_half(forms[k], stones[k]) for k in cut])
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


def _lower_half(form: Form, stone: Stone) -> tuple[Floats, Floats]:
    """The box round what of a stone lies below the upper edge of its girdle."""
    reach = float(form.rim.max())
    span = ((-reach, reach), (-reach, reach), (form.tip, form.high))
    corners = stone.world(np.stack(np.meshgrid(*span), axis=-1).reshape(-1, 3))
    return corners.min(axis=0), corners.max(axis=0)


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


def clear_of(piece: Piece, stone: int, metal: int) -> float | None:
    """How far a stone has to be raised to lie in no metal of a line, mm; None where that is farther than
    ``FARTHEST``."""
    room, up = piece.stone_solids[stone][2], piece.stones.frames[stone, :, 2]
    solids = piece.laid({metal})

    def free(far: float) -> bool:
        return all((room.translate(far * up) ^ one).volume() < TOUCH for one in solids)

    return least_that(free, 0.0, FARTHEST, FINE) if free(FARTHEST) else None


def off_the_end(piece: Piece, stone: int, metal: int) -> str:
    """How the line of a stone that stands at an end of metal is moved past that, so that the metal ends
    in its setting; "" where it stands at none, or its setting would hang on nothing there."""
    line = int(piece.stones.line[stone])
    at, frame = piece.call(line).get("at"), piece.stones.frames[stone]
    if not isinstance(at, Places) or not (at.ends or at.of_line):
        return ""
    room = piece.stone_solids[stone][2]
    setting = {one.index for one in piece.features if line in piece.services.lines(one.index)}
    other, own = join(piece.laid({metal})), join(piece.laid(setting))
    deepest, said = JOINED * 10, ""
    for up in PAST_ENDS:
        low, high = 0.0, float(piece.stones.of(stone).length)
        while high - low > FINE:
            past = (low + high) / 2
            clear = (room.translate(past * frame[:, 0] + up * frame[:, 2]) ^ other).volume() < TOUCH
            low, high = (low, past) if clear else (past, high)
        moved = move(piece, line, (high + AIR) * frame[:, 0] + up * frame[:, 2])
        if moved is not None and (room.translate(moved.by) ^ other).volume() < TOUCH:
            held = (own.translate(moved.by) ^ other).volume()
            if held > deepest:
                deepest, said = held, f"move {piece.name_of(line)} {moved.in_piece}, past the end"
    return said


def off_the_stone(piece: Piece, stone: int, metal: int) -> str:
    """The least move of the line that made a part, as its clauses say it, that clears a stone and leaves it
    joined to other metal, what hangs something never aside where another does; else the clause by which a
    pattern lays its copies clear of all stones; and where none of those tried does, which clauses are to be
    changed."""
    name, line = piece.name_of(metal), of_one_line(piece, metal)
    own = join(piece.laid(line))
    room = piece.stone_solids[stone][2]
    shared = [solid for one, solid in meeting(piece, own, cut=False) if one not in line]
    rest = piece.metal - own + (join(shared) ^ piece.metal)

    def clears(by: Floats) -> bool:
        there = own.translate(by)
        return bool((there ^ room).volume() < TOUCH and (there ^ rest).volume() > JOINED)

    for ways in _ways_off(piece, stone, metal):
        best, said = FARTHEST, ""
        for way in ways:
            far = _first(clears, way, best)
            if far is None:
                continue
            moved = move(piece, metal, (far + AIR) * way, int(piece.stones.line[stone]))
            if moved is not None and clears(moved.by):
                best, said = far, f"move {name} {moved.in_piece}"
        if said:
            return said
    return _farther_out(piece, stone, metal, own ^ room) or _laid_off(piece, metal, rest)


def _ways_off(piece: Piece, stone: int, metal: int) -> tuple[list[Floats], ...]:
    """The ways of the piece, those first that take what a loop or another finding hangs not to its side."""
    ways = [sign * axis for sign in (1.0, -1.0) for axis in np.eye(3)]
    spots, frame = piece.features[metal].frames[:, :, 3], piece.stones.frames[stone]
    go = (spots - frame[:, 3])[np.linalg.norm(spots - frame[:, 3], axis=1).argmin()]
    aside = np.cross(go, frame[:, 2])
    size = float(np.linalg.norm(aside))
    hangs = piece.features[metal].opening is not None or piece.is_for(metal, Role.FINDING)
    if not hangs or size < TURNED * float(np.linalg.norm(go)):
        return (ways,)
    off = [abs(float(way @ aside)) / size for way in ways]
    return tuple(
        [way for way, one in zip(ways, off, strict=True) if (one < SIDE) is first] for first in (True, False)
    )


def _first(clears: Callable[[Floats], bool], way: Floats, most: float) -> float | None:
    """How far along a way (3,), ``most`` at the farthest, the first spot lies that ``clears``; None without
    one."""
    low = 0.0
    for high in (*(one for one in STEPS if one < most), most):
        if clears(high * way):
            break
        low = high
    else:
        return None
    return least_that(lambda far: clears(far * way), low, high, FINE)


def _farther_out(piece: Piece, stone: int, metal: int, common: Manifold) -> str:
    """What lays a rope or beads along a path clear of a stone within it, of ``common`` metal: farther out."""
    use = next((one for one in piece.call(metal).within if one.word.take("outset") is not None), None)
    if use is None or common.is_empty():
        return ""
    form = piece.stone_measures.stones[stone]
    start = form.outline
    side = np.roll(start, -1, axis=0) - start
    out = np.stack((side[:, 1], -side[:, 0]), axis=1) / np.linalg.norm(side, axis=1)[:, None]
    spots = form.own(np.asarray(common.to_mesh64().vert_properties)[:, :3])[:, :2]
    deep = float(((out * start).sum(axis=1)[None] - spots @ out.T).min(axis=1).max())
    told = {key: float(use.arguments[key].value) for key in ("outset", "inset") if key in use.arguments}
    to = told.get("outset", -told.get("inset", 0.0)) + deep + AIR
    key, other = ("outset", "inset") if to >= 0 else ("inset", "outset")
    instead = f" in place of {other}" if other in use.arguments and use.arguments[other].given else ""
    far = rounded_up(to) if to >= 0 else mm(-to)
    return f"write {key} {far}{instead} in the line of {piece.name_of(metal)}"


def _laid_off(piece: Piece, metal: int, rest: Manifold) -> str:
    stones = [solid for _, _, solid in piece.stone_solids]

    def clears(copies: Sequence[Manifold]) -> bool:
        return all((one ^ rest).volume() > JOINED for one in copies) and all(
            (one ^ other).volume() < TOUCH for one in copies for other in stones
        )

    name, wider = piece.name_of(metal), laid_wider(piece, metal, clears)
    if away := off_its_ends(piece, metal, clears):
        return f"move {name} {away}"
    if wider:
        return f"write {wider} on the line of {name}"
    return f"move {name} off the stone: change {clauses_said(piece, metal)} on its line"


def _is_round_axis(points: Floats) -> bool:
    """Whether corners lie to all sides of the axis, half a turn apart at most."""
    turn = np.sort(np.arctan2(points[:, 1], points[:, 0]))
    gaps = np.diff(np.append(turn, turn[0] + 2 * np.pi))
    return bool(gaps.max() <= np.pi)


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
