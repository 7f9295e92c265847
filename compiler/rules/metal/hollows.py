"""Hollows, cuts and slits: shut, slow to let resin and investment out, closing up, or filled later."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.feature import Feature
from ...bench.roles import Role
from ...judging.castings import is_hung
from ...judging.digits import mm
from ...judging.figure_rule import Reading
from ...judging.moves import move, of_one_line
from ...judging.shown import slits
from ...judging.tolerances import SMALL_GAP
from ...measures.closest import on_triangle
from ...measures.kinds import length

if TYPE_CHECKING:
    from ....lang.bench import Call
    from ...judging.piece import Piece
    from ...measures.kinds import Floats
    from ...measures.places import Place


def undrained_hollow(piece: Piece) -> Iterator[Reading]:
    """A hollow whose only way out is too narrow."""
    large = piece.bound("undrained-hollow", "large-hollow")
    for chamber in piece.skin_measures.chambers:
        if chamber.neck <= 0:
            continue  # shut: see trapped-void
        what = "hole-large" if chamber.volume > large else "hole"
        owner = piece.skin_measures.owner_near(chamber.at)
        said = {"what": what, "width": mm(chamber.width)}
        yield Reading(owner, chamber.neck, chamber.at, words=said)


def trapped_void(piece: Piece) -> Iterator[Reading]:
    """A hollow with no way out."""
    for void in piece.skin_measures.voids:
        owner = next((one for one in void.owners if one >= 0), 0)
        yield Reading(owner, void.volume, void.centre, cure=_shut_remedy(piece, owner, void.owners))


def _shut_remedy(piece: Piece, owner: int, round_it: tuple[int, ...]) -> str:
    """What opens a hollow: a groove lies too deep, or a later line covers it."""
    if not piece.is_for(owner, Role.ENGRAVING):
        return "open it at the back, or drill it twice so that it drains"
    over = [one for one in round_it if one > owner and piece.features[one].body is not None]
    if over:
        lid = piece.name_of(over[0])
        return f"{lid} shuts it: let {lid} fill it to its floor, or leave a way in"
    wire = piece.call(owner).get("in")
    if isinstance(wire, Feature) and piece.is_for(wire.index, Role.WIRE) and "outer" in wire.offers:
        return f"its path lies within the wire: say 'along outer of {wire.name.rpartition('.')[2]}'"
    return "its path lies below the face: lay it on the face, or raise it until it comes out"


OVERLAP = 0.15  # mm, in which parts are joined
CREVICE = 0.03  # mm; a slit that runs out to less beside a joint ends in that, which fills and is no harm
BESIDE = 1.0  # mm, how far off that is at most


def closing_gap(piece: Piece) -> Iterator[Reading]:
    """Slits that fill up in printing or casting."""
    apart = piece.casting_measures.loose
    for gap in piece.skin_measures.gaps.places:
        first, second = gap.pair
        if (
            first < 0
            or gap.area < SMALL_GAP
            or (gap.figure < CREVICE and _ends_in_joint(piece, gap.pair, np.array(gap.at)))
            or {first, second} <= piece.sets.small
            or all(piece.is_for(one, Role.ENGRAVING) for one in gap.pair)
            or len(apart & {first, second}) == 1
        ):
            continue  # see no-tool-room, letters-too-fine, and of what is not joined loose-piece
        yield _slit(piece, gap, lambda gap: _wider_gap(piece, *gap.pair, gap.figure, np.array(gap.at)))
    for gap in piece.skin_measures.grooves:
        if all(piece.is_for(one, Role.FINDING) for one in gap.pair):
            continue  # a pin beside its tongue is as near as it has to be
        yield _slit(piece, gap, lambda gap: _shut_or_open(piece, gap))
    yield from slits(piece)


def _slit(piece: Piece, gap: Place, cure: Callable[[Place], str]) -> Reading:
    names = list(dict.fromkeys(map(piece.name_of, gap.pair)))
    return Reading(
        gap.pair[1], gap.figure, gap.at, play=piece.tolerance, others=gap.pair,  # measured between chords
        words={"where": f"{'between' if len(names) > 1 else 'in'} {' and '.join(names)}"},
        cure=lambda _: cure(gap),
    )  # fmt: skip


def _ends_in_joint(piece: Piece, pair: tuple[int, int], at: Floats) -> bool:
    """Whether two parts meet beside a spot of the slit between them; so it is taken of what different lines
    made, which hold to one another."""
    if pair[0] not in of_one_line(piece, pair[1]):
        return True
    skin = piece.skin_measures.skin
    folds = skin.folds
    owners = np.sort(skin.owner[np.stack((folds.one, folds.two), axis=1)], axis=1)
    joint = (folds.angle > 180.0) & (owners == np.sort(pair)).all(axis=1)
    return bool((length(skin.points[folds.ends[joint]].mean(axis=1) - at) < BESIDE).any())


def _wider_gap(piece: Piece, first: int, second: int, wide: float, at: Floats) -> str:
    """What closes a slit: the later of two parts, where it stands but once, moved over to the other; a link
    that hangs in the other is made by itself."""
    if is_hung(piece, max(first, second)):
        link = piece.name_of(max(first, second))
        return f"say 'bought' on {link}: a link is wire closed at the bench; or make it a casting of its own"
    skin, mover = piece.skin_measures.skin, max(first, second)
    faces = np.unique(skin.grid.near(at[None] - wide, at[None] + wide, skin.owner == mover)[1])
    moved = None
    if first != second and len(faces) and len(piece.features[mover].frames) == 1:
        off = length(on_triangle(np.tile(at, (len(faces), 1)), skin.corners[faces]) - at)
        way = skin.normals[faces[int(off.argmin())]]
        if not _gap_round(piece, mover, min(first, second), way, wide + OVERLAP):
            moved = move(piece, mover, (wide + OVERLAP) * way)
    if moved is None:
        return "widen the gap, or let the two overlap"
    return f"move {piece.name_of(mover)} {moved.in_piece}, so that the two overlap, or farther off"


def _shut_or_open(piece: Piece, gap: Place) -> str:
    """What closes a wedge of air between two parts that meet at its ground, or opens it all the way down."""
    (_, second), wide = gap.pair, float(piece.bound("closing-gap", "least", gap.pair[1]))
    skin = piece.skin_measures.skin
    way = skin.normals[gap.triangle if gap.owner == second else gap.other_triangle]
    ways = [
        f"move {piece.name_of(second)} {moved.in_piece}{then}"
        for far, then in ((wide + OVERLAP, ", so that the two overlap"), (-wide, ""))
        if len(piece.features[second].frames) == 1 and (moved := move(piece, second, far * way)) is not None
    ]
    return "; or ".join(ways) or "widen the gap, or let the two overlap"


def _gap_round(piece: Piece, mover: int, other: int, way: Floats, far: float) -> bool:
    """Whether the line of a part faces that of another so near on a side that looks against a ``way`` (3,)
    too, as a ring does one about the same axis: moved that way, it opens the slit there."""
    skin = piece.skin_measures.skin
    mine, its = (np.isin(skin.owner, of_one_line(piece, one)) for one in (mover, other))
    faces = np.flatnonzero(mine & (skin.normals @ way < 0))
    if not len(faces):
        return False
    off, met = skin.grid.cast(skin.corners[faces].mean(axis=1), skin.normals[faces], leaving=False)
    return bool(((met >= 0) & (off < far) & its[met]).any())


def filled_cut(piece: Piece) -> Iterator[Reading]:
    """Letters that metal they were not cut into fills again."""
    from ...judging.stone_metal import meeting
    from ...metal.kernel import join

    for feature, call in piece.with_role(Role.ENGRAVING):
        deep = float(call.get("deep") or 0.0)
        if not call.given("letters") or deep <= 0:
            continue
        tools = (one for one in piece.plan_solids if one.feature == feature.index and one.cut)
        filled, shares = join(piece.standing(tools)) ^ piece.metal, dict[int, float]()
        for one, solid in meeting(piece, filled, cut=False) if not filled.is_empty() else ():
            if _over(piece, call, feature, one):
                shares[one] = shares.get(one, 0.0) + float(solid.volume())
        if shares:
            metal = max(shares, key=lambda one: shares[one])
            low, high = np.array(filled.bounding_box()).reshape(2, 3)
            yield Reading(
                feature.index, sum(shares.values()) / deep, (low + high) / 2, others=(metal,),
                cure=_cut_it_too(piece, call, feature, metal),
            )  # fmt: skip


def _over(piece: Piece, call: Call, letters: Feature, metal: int) -> bool:
    """Whether letters were not cut into some metal: it was laid below their line, or is of another body. For
    marks that run into one another see letters-off-face."""
    if piece.is_for(metal, Role.ENGRAVING):
        return False
    return metal > letters.index or _apart(piece, call, metal)


def _apart(piece: Piece, call: Call, metal: int) -> bool:
    into = call.get("in")
    return isinstance(into, Feature) and piece.features[metal].body not in into.bodies()


def _cut_it_too(piece: Piece, call: Call, letters: Feature, metal: int) -> str:
    """What has the letters cut that metal too."""
    name, into = piece.name_of(metal), call.get("in")
    whole = f"leave out 'in {piece.name_of(into.index)}'" if _apart(piece, call, metal) else ""
    above_it = f"put the line of {name} above that of {piece.name_of(letters.index)}"
    ways = [one for one in (whole, above_it if metal > letters.index else "") if one]
    return f"{' and '.join(ways)}: then they are cut into it too; or move {name} off them"
