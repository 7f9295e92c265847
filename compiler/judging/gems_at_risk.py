"""The stones of a piece that some treatment harms, all in one verdict: it is one step of the work."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from ...stdlib.gems import GEMS, SAFETY, Gem
from .figure_rule import Reading
from .piece import Piece

RISKY, NEVER = SAFETY[2:]
Gems = list[Gem]


def gems_at_risk(
    piece: Piece, treatment: Callable[[Gem], str], told: Callable[[Gems, Gems], tuple[str, str]], **words: str
) -> Iterator[Reading]:
    """One reading at the first line of a stone that the ``treatment`` (a word of SAFETY by gem)
    harms, or else is risky for. ``told`` is given those it is risky for and those it must never
    reach, and says the message and what is seen."""
    lines: dict[str, int] = {}
    for group in piece.stone_sets:
        if treatment(GEMS[group.setting.gem]) in (RISKY, NEVER):
            lines.setdefault(group.setting.gem, group.feature)
    if not lines:
        return
    kinds = {worst: [GEMS[one] for one in lines if treatment(GEMS[one]) == worst] for worst in (RISKY, NEVER)}
    words["gems"], words["seen"] = told(kinds[RISKY], kinds[NEVER])
    gravest = sorted(lines, key=lambda one: treatment(GEMS[one]) != NEVER)
    first, *others = dict.fromkeys(lines[one] for one in gravest)
    worst = float(3 if kinds[NEVER] else 2)
    yield Reading(first, worst, bound=1.0, words=words, others=tuple(others))


def listed(gems: Gems) -> str:
    """What one calls them: "diamond, blue sapphire and peridot"."""
    *names, last = [gem.spoken for gem in gems]
    return f"{', '.join(names)} and {last}" if names else last
