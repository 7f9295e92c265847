"""The casting plan of a piece: each casting of each alloy, its sprues, how it freezes, its flask."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from ...stdlib.alloys import ALLOYS, Alloy
from ...stdlib.cautions import Caution, cautions_for
from ..bench.laid import CASTING
from ..files.digits import rounded
from ..freezing.modulus import Modulus, modulus
from ..freezing.pools import Pool
from ..judging.piece import Piece
from ..judging.pours import Pour
from ..making.result import Built
from ..measures.alike import groups
from ..measures.kinds import Floats
from ..measures.skin import Skin
from ..metal.part import Part, spoken
from .caster import Caster
from .joins import Join, joins
from .pouring import FINE, Limits, Pouring, metal_at, own_last, places_of
from .proposal import Proposal, proposed, settled, standing_best
from .sprues import Sprue, sprues_of
from .tree import Flask, Tree, Weights, weights

STEPS = "invest", "burn-out", "pour", "break-out"
LEFT_OUT = (
    "how metal flows and fills the mould, gas, the push of air or spin, the parting of the elements, the "
    "contraction of the mould and a gap that opens between it and the metal, heat lost by radiation, "
    "neighbours in the flask"
)

Tell = Callable[[str, float], None]


@dataclass(frozen=True, eq=False)
class Cast:
    """One casting of one alloy: its metal, the sprues (``proposal``, with how it freezes without any and
    with them on a coarse grid), how it freezes on the fine one, its flask, how its sprues ``joins``
    together, and what the rules see.

    ``castings`` are the names of all of its form, itself the first; ``block`` the name and the frame (3, 4)
    of the block it is written in; ``owner_of`` tells the feature whose metal is at a place (3,) mm."""

    part: Part
    castings: tuple[str, ...]
    block: tuple[str, Floats] | None
    owner_of: Callable[[Floats], int]
    alloy: Alloy
    caster: Caster
    proposal: Proposal
    pouring: Pouring
    modulus: Modulus
    flask: Flask
    tree: Tree
    joins: tuple[Join, ...]
    weights: Weights
    pour: Pour

    @property
    def sprues(self) -> tuple[Sprue, ...]:
        """Where metal comes in."""
        return self.proposal.sprues

    @property
    def called(self) -> str:
        """What tells it from the other castings: the names of all alike, or its metal."""
        return spoken(self.castings) or self.alloy.name

    def hole(self, pool: Pool) -> float:
        """What may be missing where a pool froze, at most, mm3: what all of it loses as it freezes."""
        return pool.volume * self.caster.row.shrink

    @property
    def grams(self) -> float:
        """One as cast, sprues cut off."""
        return self.part.volume * self.alloy.density / 1000


@dataclass(frozen=True, eq=False)
class Plan:
    """The castings of one piece; ``cautions`` for those who cast it."""

    built: Built
    casts: tuple[Cast, ...]
    cautions: tuple[Caution, ...]


def plan_of(
    built: Built, piece: Piece, *, cells: int = FINE, count: int | None = None, tell: Tell | None = None,
    pitch: float | None = None,
) -> Plan:  # fmt: skip
    """The casting plan of a piece that was made; castings alike are planned once.

    ``cells`` bounds the grid (``pitch`` mm sets it instead); ``count`` pieces are cast in a flask (as many as
    go in, without it)."""
    say = tell or (lambda what, share: None)
    parts = [part for part in built.parts if not part.bought]
    skins = [Skin(part.points, part.triangles, part.owner) for part in parts]
    given = sprues_of(piece, skins, [part.casting for part in parts])
    kinds = [
        (part.metal, bool(part.casting), *((one.feature, one.across) for one in sprues))
        for part, sprues in zip(parts, given, strict=True)
    ]
    alike = groups(skins, kinds)
    casts = []
    for k, (first, *others) in enumerate(alike):
        castings = tuple(parts[one].casting for one in (first, *others) if parts[one].casting)

        def told(what: str, share: float, k: int = k, called: str = spoken(castings)) -> None:
            say(f"{called or parts[alike[k][0]].metal}, {what}", (k + share) / len(alike))

        casts.append(
            _cast(piece, parts[first], castings, skins[first], given[first], cells, count, told, pitch)
        )
    named = {one.key: one for cast in casts for one in cautions_for(cast.alloy, STEPS)}
    return Plan(built, tuple(casts), tuple(named.values()))


def _cast(
    piece: Piece, part: Part, castings: tuple[str, ...], skin: Skin, given: Sequence[Sprue], cells: int,
    count: int | None,
    tell: Tell, pitch: float | None,
) -> Cast:  # fmt: skip
    alloy = ALLOYS[part.metal]
    caster = Caster(alloy, piece.house)
    first = int(part.owner[part.owner >= 0][0]) if (part.owner >= 0).any() else 0
    limits = Limits(
        piece.bound("hot-spot", "late", first), piece.bound("hot-spot", "least", first),
        piece.bound("misrun", "most", first),
    )  # fmt: skip
    proposal = proposed(piece, skin, caster, limits, given, lambda what, share: tell(what, share / 2))
    proposal, pouring = settled(
        proposal, skin, caster, limits, cells, lambda share: tell("freezing", (1 + share) / 2), pitch
    )
    flask = flask_of(caster)
    proposal, stands = standing_best(proposal, skin, flask)
    number = max(1, stands.room if count is None else min(count, max(stands.room, 1)))
    joined = joins(skin, proposal.sprues)
    taken = weights(
        number, part.volume, proposal.sprues, stands, flask, alloy.density, caster.figure("pour", "wax"),
        sum(join.volume for join in joined),
    )  # fmt: skip
    owner_of = metal_at(skin, piece)
    seen = Pour(part.casting or "the piece", first, room=stands.room, **places_of(pouring, owner_of))
    return Cast(
        part, castings, _block(piece, part.casting), owner_of, alloy, caster, proposal, pouring,
        modulus(skin), flask, stands, joined, taken, seen,
    )  # fmt: skip


def _block(piece: Piece, casting: str) -> tuple[str, Floats] | None:
    """The name and the frame (3, 4) of the block a casting is written in."""
    for feature in piece.features:
        for k, frame in enumerate(feature.frames if feature.word == CASTING else ()):
            if casting in (feature.name, f"{feature.name} {k + 1}"):
                return feature.name, frame
    return None


def flask_of(caster: Caster) -> Flask:
    """The house's flask."""
    names = "inside", "tall", "wall", "top", "gap", "stem", "button", "button-tall", "angle"
    return Flask(*(caster.figure("flask", name) for name in names))


def record(plan: Plan) -> list[dict[str, Any]]:
    """The plan as plain data: lengths mm, times s, weights g, temperatures deg C."""
    return [_record(cast) for cast in plan.casts]


def _record(cast: Cast) -> dict[str, Any]:
    frozen, grid = cast.pouring.frozen, cast.pouring.frozen.grid
    last, at = own_last(cast.pouring)
    return {
        "casting": cast.part.casting or None,
        "alike": list(cast.castings),
        "metal": cast.alloy.name,
        "grams": round(cast.grams, 4),
        "worked_out_with": [
            {
                "name": one.name, "value": one.value, "unit": one.unit, "usual": [one.low, one.high],
                "source": one.source,
            }
            for one in cast.caster.settings
        ],
        "grid": {"pitch": grid.pitch, "cells": grid.cells, "steps": frozen.steps},
        "freezing": {
            "last": round(last, 3), "at": rounded(at), "heat_balance": round(frozen.balance, 9),
            "modulus": round(cast.modulus.whole, 4), "heaviest_modulus": round(cast.modulus.most, 4),
        },
        "sprues": [_sprue(one, why) for one, why in zip(cast.sprues, cast.proposal.why, strict=True)],
        "spots": {"without_sprues": _pools(cast.proposal.before), "with_sprues": _pools(cast.pouring)},
        **_flask(cast),
        "left_out": LEFT_OUT,
    }  # fmt: skip


def _sprue(one: Sprue, why: str) -> dict[str, Any]:
    return {
        "name": one.name or None, "proposed": one.feature < 0, "at": rounded(one.at),
        "way": rounded(one.way, 4), "across": one.across, "long": one.long,
        "cleaned_area": round(one.area, 3), "why": why,
    }  # fmt: skip


def _flask(cast: Cast) -> dict[str, Any]:
    taken, stands = cast.weights, cast.tree
    return {
        "flask": {
            "inside": cast.flask.inside, "tall": cast.flask.tall, "around": stands.around,
            "tiers": stands.tiers, "pitch": round(stands.pitch, 2), "angle": stands.angle,
            "stem": round(stands.stem, 2), "upright": stands.alone, "room": stands.room,
        },
        "to_weigh_out": {
            "pieces": taken.count, "metal_of_pieces": round(taken.pieces, 3),
            "sprues": round(taken.sprues, 3), "stem": round(taken.stem, 3), "button": round(taken.button, 3),
            "metal": round(taken.metal, 3), "wax": round(taken.wax, 3),
            "metal_over_wax": round(taken.times, 4), "investment_cm3": round(taken.slurry / 1000, 1),
        },
    }  # fmt: skip


def _pools(pouring: Pouring) -> list[dict[str, Any]]:
    return [
        {
            "at": rounded(pool.at), "froze": round(pool.last, 3), "cut_off": round(pool.cut, 3),
            "volume": round(pool.volume, 3),
        }
        for pool in pouring.pools
    ]  # fmt: skip
