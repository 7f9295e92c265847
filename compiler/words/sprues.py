"""Sprues: where metal is poured in. They make no metal of the piece."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.bench import Call
from ...lang.words import Word
from ..bench.feature import Feature
from ..bench.feature import length as mm
from ..bench.placement import placed
from ..bench.roles import Role
from .common import length

if TYPE_CHECKING:
    from ..bench.piece_bench import PieceBench

WIDEST = 20.0  # mm


def _sprue(bench: PieceBench, call: Call) -> Feature:
    made = bench.new_feature(call, placed(call))
    made.offers = {"long": lambda: mm(call.get("long"))}
    return made


WORDS = (
    Word(
        "sprue",
        "Where metal is poured in: posy cast reckons with it, and it is no part of the finished piece, its "
        "weight or its files. It stands straight out of the place it is put at.",
        "work",
        (
            length("across", "its thickness; left out, posy cast finds one", most=WIDEST),
            length("long", "from the metal to the stem of the tree", default="8 mm"),
        ),
        example="sprue feed: at back of medal, across 2.5 mm",
        offers={"long": "from the metal to the stem"},
        roles=frozenset({Role.SPRUE}),
        made_by=_sprue,
    ),
)
