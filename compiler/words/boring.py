"""Clearing the finger hole of a ring."""

from __future__ import annotations

from ...lang.bench import Call
from ...lang.words import Kind, Take, Word
from ..bench.feature import Feature
from ..bench.piece_bench import PieceBench
from ..bench.plan import Shape
from ..bench.roles import Role
from ..geometry import frames as fr
from .common import length, target
from .cutting import PAST, target_of
from .rings import ALONG_FINGER, bored


def _clear(bench: PieceBench, call: Call) -> Feature:
    """Whatever stands into the finger hole of a band is bored away."""
    around: Feature = call.get("of")
    if "inside-around" not in around.offers:
        call.refuse(
            "no-finger-hole", f"{around.name} has no finger hole", "of",
            remedy="name a band, a signet or a split shank",
        )
    _, into = target_of(bench, call)
    radius = around.offers["inside"]().value / 2 + PAST / 2
    stands = bench.from_here(around, around.frames)
    made = bench.new_feature(call, stands)
    bench.cut(made, bored(radius), fr.compose(stands, ALONG_FINGER), into)
    if call.given("sunk"):
        filed = Shape("round-shank", (around.shank.figures, call.get("sunk")))
        bench.cut(made, filed, stands, into)
    return made


WORDS = (
    Word(
        "bore",
        "Clears the finger hole of a band: whatever stands into it is bored away. It bores 0.025 mm wider "
        "all round, so that no skin is left.", "work",
        (
            Take("of", Kind.PART, "the band whose finger hole is cleared", needed=True),
            length(
                "sunk",
                "fits its foot to the band too: of what stands on it, only what lies straight over its "
                "outside is left, and so much below", goes_with=("in",),
            ),
            target("the metal cleared away, a head for example; left out, all metal made so far"),
        ),
        places=False, example="bore clear: of shank, in head", roles=frozenset({Role.CUT}), made_by=_clear,
    ),
)
