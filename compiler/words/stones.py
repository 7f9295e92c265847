"""Stones: true cuts, laid out, each with its girdle plane at its own place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from ...lang.bench import Argument, Call
from ...lang.words import Kind, Take, Word
from ...stdlib.cuts import CUTS
from ...stdlib.cuts.tablet import OWN
from ...stdlib.gems import GEMS, gem_called, gem_hint
from ...stdlib.own import Names
from ..bench.along import goes_back, ways
from ..bench.feature import Feature, number
from ..bench.feature import length as mm
from ..bench.piece_bench import PieceBench
from ..bench.placement import placed
from ..bench.stone_kind import StoneKind, stone_offers
from ..geometry import frames as fr
from ..geometry.outlines import trace
from .common import length
from .stone_kinds import CUT_NAMES, asked_turns
from .stone_turns import between, by_turns, fill, in_turn, runs

LAPPED = 0.25  # mm of metal above the girdle, of which a setter rubs an edge over; common practice, no source
SPOTS = 24  # round a girdle, where the metal's height is looked at


# What part of a stone stands at its place.
LEVELS = ("girdle", "table", "back")


def _stone(bench: PieceBench, call: Call) -> Feature:
    call, kinds, turns = asked_turns(call)
    if call.given("over-finger"):
        call = _over_finger(bench, call)
    frames, chains = _laid_out(bench, call, kinds, turns)
    feature = bench.new_feature(call, frames)
    feature.chains, feature.beside = chains, call.get("next-to")
    if call.get("prong", 0.0) > 0:
        feature.passing = call.get("prongs-at").frames, call.get("prong")
    if turns:
        by_turns(feature, call, kinds)
    else:
        fill(feature, kinds)
    in_turn(bench, feature, call)
    feature.stone_offers = stone_offers
    feature.offers = stone_offers(max(feature.stones, key=lambda kind: kind.width))
    feature.offers["least"] = lambda: mm(min(kind.width for kind in feature.stones))
    feature.offers["count"] = lambda: number(len(feature.frames))
    if call.given("over-finger") and call.get("level") == "girdle":  # of a shank that tapers too
        feature.frames = feature.frames.copy()
        short = _short(bench, call, feature.frames[:, :, 3])
        feature.frames[:, :, 3] += short[:, None] * feature.frames[:, :, 2]
    if call.get("level") != "girdle":
        kinds = [feature.kind(index) for index in range(len(feature.frames))]
        high = _heights(bench, call.get("level"), feature.frames, kinds)
        feature.frames = feature.frames.copy()
        feature.frames[:, :, 3] += high[:, None] * feature.frames[:, :, 2]
        feature.frames = fr.rounded(feature.frames)
    for kind, first, last in runs(feature):
        bench.set_stones(feature, kind, feature.frames[first:last])
    return feature


def _laid_out(
    bench: PieceBench, call: Call, kinds: list[StoneKind], turns: bool
) -> tuple[np.ndarray, tuple[tuple[int, int, bool], ...]]:
    """Where the stones stand (n, 3, 4), and which of them are neighbours in a row."""
    graded = len(kinds) > 1 and call.given("along") and not call.given("fit")
    if call.given("next-to"):
        from .flanking import flanking

        return flanking(bench, call, kinds[0]), ()
    if call.given("gap") or graded:
        from .row_layout import laid

        def kind_at(share: float, place: int) -> StoneKind:
            return kinds[place % len(kinds)] if turns else between(kinds, share)

        return laid(call, kind_at, partial(_heights, bench, call.get("level")))
    frames = placed(call)
    if call.given("upon"):
        from .field_room import with_room

        apart = max(call.get("every")[0] - kinds[0].width, 0.0)
        frames = with_room(bench, frames, kinds[0], apart)
    return frames, _chains(call, len(frames))


def _heights(bench: PieceBench, level: str, frames: np.ndarray, kinds: Sequence[StoneKind]) -> np.ndarray:
    """How far over their places (n, 3, 4) girdles stand so that the table, or the back, stands there, mm
    (n,); the table lower where metal would not reach up past the girdle all round."""
    if level != "table":
        return np.array([kind.pavilion() if level == "back" else 0.0 for kind in kinds])
    rounds = [_round(kind) for kind in kinds]
    reach = max((kind.crown() + kind.pavilion() for kind in kinds), default=0.0)
    crown = np.array([kind.crown() for kind in kinds])
    lapped = np.maximum(crown / 2, np.minimum(crown, LAPPED))
    return np.minimum(-crown, -lapped - bench.falls(frames, rounds, reach))


def _over_finger(bench: PieceBench, call: Call) -> Call:
    """The line with what `out` has to be, at the first of its places, for what over-finger says."""
    if call.given("out") or call.given("inward"):
        call.refuse(
            "clauses-disagree", "over-finger says how far out it stands already", "over-finger",
            remedy="leave 'out' and 'inward' out",
        )
    spots = ways(call)[0].points if call.given("along") else placed(call, inner=fr.identity())[:, :, 3]
    out = Argument(float(_short(bench, call, spots[:1])[0]), call.span, given=False)
    return replace(call, arguments={**call.arguments, "out": out})


def _short(bench: PieceBench, call: Call, spots: np.ndarray) -> np.ndarray:
    """How much farther spots (n, 3) have to be from the finger than they are, mm (n,)."""
    finger = bench.finger(call.get("on"))
    if finger is None:
        call.refuse(
            "clauses-disagree", "no ring is made above, nor a path about a finger", "over-finger",
            remedy="say 'out'",
        )
    own = fr.apply(fr.inverse(finger[0]), spots)
    return np.asarray(call.get("over-finger") + finger[1] - np.hypot(own[:, 0], own[:, 2]))


def _round(kind: StoneKind) -> np.ndarray:
    girdle = trace(kind.outline, 0.02)
    return np.asarray(girdle[:: max(1, len(girdle) // SPOTS)])


def _chains(call: Call, count: int) -> tuple[tuple[int, int, bool], ...]:
    """Which stones are neighbours in a row: by the layout clause, or the order of the places."""
    if call.given("grid") or call.given("upon"):
        return ()
    per = call.get("row") or call.get("circle") or 0
    if call.get("both-sides") and not per:
        per = count // 2 if goes_back(call) else 1
    if per:
        closed = call.given("circle") and per > 2
        return tuple((first, first + per, closed) for first in range(0, count, per))
    closed = (
        call.given("along")
        and not call.given("stretch")
        and count > 2
        and call.get("along").lines[0].closed
    )
    return ((0, count, closed),)


def _take(name: str) -> Take:
    if name == OWN:
        what = "a girdle of your own, a flat closed path: a kite, a shield, a free form; "
        return Take(name, Kind.PATH, f"{what}its middle stands at its place")
    cut = CUTS[name]
    parts = {1: (1,), 2: (1, 2) if cut.square else (2,), 3: (2, 3)}[cut.sizes]
    what = {1: "across", 2: "length x width", 3: "length x wide end x narrow end"}[cut.sizes]
    if cut.sizes == 2 and cut.ratios[0] >= 1:
        what += ", or upright as width x height"
    return Take(name, Kind.STONE_SIZE, f"{cut.help}; {what}", parts=parts)


WORDS = (
    Word(
        "stone",
        "Stones of one cut and gem. Each stands with the middle of its girdle at its place, a cabochon, a "
        "rose cut or a flat stone with its back. Sizes joined by 'to' grade the row: round 2 mm to 3 mm to "
        "2 mm. Several cuts take turns along a row: oval 3 x 4 mm, round 2.5 mm, row 7.", "stones",
        (
            *(_take(name) for name in CUT_NAMES),
            Take("gem", Kind.CHOICES, "what it is; several take turns along the row: garnet and emerald",
                 needed=True, choices=Names(GEMS), like="garnet", hint=gem_hint, called=gem_called),
            Take(
                "flat", Kind.FLAG,
                "a flat stone (a tablet, a slab) of that outline: flat top and back, 'deep' thick",
            ),
            Take(
                "domed", Kind.FLAG, "a cabochon of that outline: a dome over a flat back", not_with=("flat",),
            ),
            Take(
                "size", Kind.STONE_SIZE, "length x width an outline of your own is drawn out to", parts=(2,),
                goes_with=(OWN,),
            ),
            Take(
                "upright", Kind.FLAG, "its point, or one of its ends, above; a heart stands on its point",
                goes_with=tuple(name for name in CUT_NAMES if name == OWN or CUTS[name].sizes > 1),
            ),
            length("corner", "rounds the corners of a rectangle", zero=True, goes_with=("rectangle",)),
            length(
                "bevel", "takes the top edge of a flat stone off, so far each way",
                goes_with=("flat", "rectangle"),
            ),
            length("deep", "as measured, from table to culet; the thickness of a flat stone"),
            length(
                "drilled",
                "of a pearl or bead: how wide the hole right through it is, for the wire it is strung on",
                goes_with=("pearl",),
            ),
            Take("weighs", Kind.MASS, "what each stone weighs by the scales, as in 0.51 ct"),
            Take("lot", Kind.TEXT, "what the packet or the certificate of stones you have is called"),
            length(
                "gap",
                "metal or air between neighbours, girdle to girdle; with 'along' as many stones as leave "
                "it, or 'number' of them in a run, about the start of a path that closes; with 'circle' the "
                "radius is found", zero=True, most=50, goes_with=("row", "circle", "along", "next-to"),
                not_with=("every", "radius", "fit"),
            ),
            Take(
                "next-to", Kind.STONES,
                "two of them, right and left of this one stone however it is turned, the left one the mirror "
                "image, 'gap' from it, girdle to girdle",
                not_with=("row", "circle", "grid", "along", "upon", "under"),
            ),
            Take(
                "prongs-at", Kind.PLACES,
                "where claws of another stone pass a row that closes on itself: each stands in a nook "
                "between two stones, which make room for it", goes_with=("along",),
            ),
            length(
                "prong", "thickness of those claws; 0 mm where there are none", zero=True,
                goes_with=("prongs-at",),
            ),
            Take(
                "level", Kind.CHOICE,
                "what part of the stone stands at its place; 'table' lies deeper on a face that falls away, "
                "so that metal stands over half the crown, 0.25 mm at least, all round; 'back' is its "
                "lowest point, as the culet", default="girdle", choices=LEVELS,
            ),
            length(
                "over-finger",
                "how far that stands over the finger of the ring it is 'on', else of the last made, in place "
                "of 'out'; with 'on' it may stand beside that too, as the stones of a toi et moi",
                goes_with=("on", "at", "along"),
            ),
        ),
        one_of=(CUT_NAMES,), by_turns=("row", "circle", "along"),
        example="stone garnets: round 2.5 mm, gem garnet, row 7, every 2.75 mm",
        offers={
            "centres": "the middle of each stone",
            "girdle": "the path round each stone",
            "outline": "the girdle of one stone drawn on the ground, for a plate that "
            "follows it and lies as it does; say 'under' it, or as far right and up, where it does not stand "
            "in the middle",
            "outline-corners": "its corners on that drawing",
            "gaps": "the places between neighbours of a row; each has 'apart', "
            "'before', 'after', 'bow-before', 'bow-after', 'flat', 'wide', 'crown', 'lean', 'lean-before', "
            "'lean-after' and 'veer'",
            "claw-gaps": "the same, and one beyond each end of an open row, as shared claws stand",
            "nooks": "where beads go: between neighbours of a field, and round its "
            "outside; each has "
            "its 'room', from there to the girdles",
            "path": "the path through the middles of a row",
            "sides": "the two paths along a row at the widest of its girdles, inward being toward its middle",
            "corners": "where prongs belong round each stone, facing away from it; "
            "each has "
            "its 'opening', the angle of the girdle there",
            "points": "the corners that are sharp",
            "bends": "the corners that are rounded",
            "across": "width of a stone; of the widest, when they are graded",
            "least": "width of the narrowest",
            "narrow": "width of the narrow end of a tapered stone; of any other its width",
            "length": "length of a stone",
            "width": "width of a stone",
            "crown": "from the middle of the girdle up to the table",
            "pavilion": "from the middle of the girdle down to the culet",
            "pavilion-before": "that of the stone before one of a row; its own where there is none",
            "pavilion-after": "that of the stone after it",
            "width-before": "width of the stone before one of a row; its own where there is none",
            "width-after": "width of the stone after it",
            "girdle-height": "thickness of the girdle",
            "open-back": "1 where its setting is open behind it; 0 of an opaque stone with a flat back",
            "claws": "where the claws stand that are by its girdle by now, facing away from it; "
            "each has 'wide', and how far 'past' the girdle it reaches",
            "vees": "how far claws reach out from its girdle by now, with vees or pairs among them; "
            "0 mm without",
            "wall": "how far a wall that stands round the stone by now reaches out from its girdle; "
            "0 mm without one",
            "count": "how many",
        },
        made_by=_stone,
    ),
)
