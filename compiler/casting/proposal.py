"""Sprues where the text has none: at what freezes last, thick enough to freeze after it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from copy import copy
from dataclasses import dataclass, replace

import numpy as np

from ..freezing.pools import Pool
from ..judging.piece import Piece
from ..measures.closest import nearest
from ..measures.kinds import Floats
from ..measures.skin import Skin
from .caster import Caster
from .pouring import FIRST, TRIAL, Limits, Pouring, Watch, whole_modulus
from .sprues import Sites, Sprue
from .tree import Flask, Tree, tree, wax_of

MOST_ROUNDS = 7
MOST_EACH = 5  # sprues on one body
MOST_BODIES = 6  # bodies that are given a sprue of their own
AGAIN = 2  # times the fine grid is gone over for thicker sprues
DEEP = 0.5  # mm into the metal: how thick it is where a sprue of the text stands
SAME = 2.0  # mm: pools nearer than this are the same place
BETTER = 0.95  # of what was lost: a change that does not bring it below this is taken back
WORTH = 0.005  # of what is lost with none: less is not worth one more sprue, with its stub and its rod
BEHIND = "behind the shank, where it is filed clean out of sight"
WIDER = 1.6  # of its first thickness: it is made no thicker

Tell = Callable[[str, float], None]


@dataclass(frozen=True, eq=False)
class Proposal:
    """``sprues`` and ``why`` each; the castings with none and with them, on the coarse grid."""

    sprues: tuple[Sprue, ...]
    before: Pouring
    after: Pouring
    why: tuple[str, ...]


def proposed(
    piece: Piece, skin: Skin, caster: Caster, limits: Limits, given: Sequence[Sprue], say: Tell
) -> Proposal:
    """Sprues for one casting, besides those ``given`` by the text (then none is added)."""
    before = Pouring(skin, (), caster, limits, TRIAL)
    work = _Search(piece, skin, caster, limits)
    if given:
        sprues = tuple(
            one if one.sized else replace(one, across=work.across(one.at - DEEP * one.way)) for one in given
        )
        after = Pouring(skin, sprues, caster, limits, TRIAL)
        return Proposal(sprues, before, after, tuple("as the text says" for _ in given))
    for pool in sorted(before.unfed, key=lambda pool: -pool.volume)[:MOST_BODIES]:
        work.stand(pool, "at the metal that freezes last")
    if not work.sprues:
        return Proposal((), before, before, ())
    starts = [one for one in (work.behind(), work) if one is not None]
    return min([_improved(one, before, say) for one in starts], key=_cost)


def _cost(found: Proposal) -> tuple[float, int]:
    """What tells proposals apart: what is lost in spite of so many sprues, then how many there are."""
    count = len(found.sprues)
    return round(found.after.lost + WORTH * found.before.lost * count, 1), count


def _improved(work: _Search, before: Pouring, say: Tell) -> Proposal:
    """The sprues of a search with changes for one place after another."""
    after = work.tried()
    for k in range(MOST_ROUNDS):
        say("sprues", (k + 1) / (MOST_ROUNDS + 1))
        worst = next((pool for pool in after.pools if not work.gave_up(pool)), None)
        if worst is None:
            break
        kept = work.sprues, work.why
        work.improve(after, worst)
        trial = work.tried() if work.sprues is not kept[0] else after
        added = len(work.sprues) > len(kept[0])
        if trial.lost > min(BETTER * after.lost, after.lost - WORTH * before.lost * added):
            (work.sprues, work.why), trial = kept, after
            work.beyond.append(worst.at)
        after = trial
    return Proposal(tuple(work.sprues), before, after, tuple(work.why))


def standing_best(proposal: Proposal, skin: Skin, flask: Flask) -> tuple[Proposal, Tree]:
    """That sprue first by which most waxes stand in a flask, those of the text in its order; the tree."""
    sprues, why = proposal.sprues, proposal.why
    turns = 1 if any(one.feature >= 0 for one in sprues) else max(1, len(sprues))
    orders = [(*sprues[k : k + 1], *sprues[:k], *sprues[k + 1 :]) for k in range(turns)]
    trees = [tree(wax_of(skin, order), flask) for order in orders]
    k = max(range(turns), key=lambda k: trees[k].room * (not trees[k].alone))
    return replace(proposal, sprues=orders[k], why=(*why[k : k + 1], *why[:k], *why[k + 1 :])), trees[k]


def settled(
    proposal: Proposal, skin: Skin, caster: Caster, limits: Limits, cells: int, watch: Watch,
    pitch: float | None = None,
) -> tuple[Proposal, Pouring]:  # fmt: skip
    """The proposal on the fine grid, where sprues of posy's own that still froze first are made thicker."""
    for _ in range(AGAIN):
        pouring = Pouring(skin, proposal.sprues, caster, limits, cells, watch, pitch)
        most = caster.figure("flask", "sprue-most")
        wider = {
            id(sprue): min(max(pouring.thicker(pool, sprue), sprue.across + 0.2), most)
            for pool, sprue in pouring.choked
            if not sprue.sized and sprue.across < most
        }
        if not wider:
            break
        sprues = tuple(
            replace(sprue, across=round(wider.get(id(sprue), sprue.across), 1)) for sprue in proposal.sprues
        )
        proposal = replace(proposal, sprues=sprues)
    else:
        pouring = Pouring(skin, proposal.sprues, caster, limits, cells, watch, pitch)
    return proposal, pouring


class _Search:
    """Sprues as they are found for one skin."""

    def __init__(self, piece: Piece, skin: Skin, caster: Caster, limits: Limits) -> None:
        self._skin, self._caster, self._limits = skin, caster, limits
        self._sites = Sites(piece, skin)
        self._long = caster.figure("flask", "sprue-long")
        self._range = caster.figure("flask", "sprue-least"), caster.figure("flask", "sprue-most")
        self.beyond: list[Floats] = []  # pools that no change helped
        self.sprues: list[Sprue] = []
        self.why: list[str] = []

    def tried(self) -> Pouring:
        """The casting with the sprues found so far."""
        return Pouring(self._skin, self.sprues, self._caster, self._limits, TRIAL)

    def across(self, at: Floats, times: float = 1.0) -> float:
        """The thickness of a sprue for a place in the metal, mm: that of the metal there, and enough
        for the modulus of all; so many ``times`` that, within what the house proposes."""
        ball = 1.1 * 2 * nearest(self._skin, at)[0]
        wide = times * max(ball, FIRST * whole_modulus(self._skin))
        return float(np.clip(np.ceil(10 * wide) / 10, *self._range))

    def stand(self, pool: Pool, why: str) -> None:
        """One more sprue, for that pool."""
        across = self.across(pool.at)
        found = self._sites.near(pool.late_at, across, self._long, self.sprues)
        if found is not None:
            self.sprues = [*self.sprues, found]
            self.why = [*self.why, why]

    def behind(self) -> _Search | None:
        """The same with its first sprue behind the shank in place of where it stands; None without one."""
        first, *rest = self.sprues
        found = self._sites.behind(self.across(first.at - DEEP * first.way), self._long)
        if found is None or rest:
            return None
        other = copy(self)
        other.sprues, other.why, other.beyond = [found], [BEHIND], []
        return other

    def gave_up(self, pool: Pool) -> bool:
        """Whether a change for about that place did not help."""
        return any(float(np.linalg.norm(pool.at - at)) < SAME for at in self.beyond)

    def improve(self, pouring: Pouring, worst: Pool) -> None:
        """One change for a pool: a thicker sprue where the sprue froze first, or one more."""
        thin = next((sprue for pool, sprue in pouring.choked if pool is worst), None)
        most = self.across(worst.at, WIDER)
        if thin is not None and thin.across < most - 0.05:
            wide = min(max(pouring.thicker(worst, thin), thin.across + 0.3), most)
            self.sprues = [replace(one, across=round(wide, 1)) if one is thin else one for one in self.sprues]
        elif len(self.sprues) < MOST_EACH + len(pouring.unfed):
            self.stand(worst, "at metal that the others cannot feed")
