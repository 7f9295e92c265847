"""Which stone of a row is which: cuts by turns, sizes graded along it, gems by turns."""

from __future__ import annotations

import itertools

import numpy as np

from ...lang.bench import Call
from ...stdlib.cuts.tablet import base_of
from ..bench.feature import Feature
from ..bench.piece_bench import PieceBench
from ..bench.stone_kind import StoneKind
from ..bench.stone_rows import few_places
from .stone_kinds import gem_of


def by_turns(feature: Feature, call: Call, kinds: list[StoneKind]) -> None:
    """Give the stones of each row the cuts of the line, one after the other and over again."""
    name, total, each = base_of(kinds[1].cut), len(feature.frames), len(kinds)
    which = np.zeros(total, dtype=int)
    for first, last, closed in feature.chains or ((0, total, False),):
        if last - first < each:
            call.refuse(
                "several-stones", f"{each} cuts are named for {_counted(last - first)}", name,
                seen=f"{each} cuts", limit=str(last - first),
                remedy=f"lay so many, as in: row {each}, gap 0.25 mm",
            )  # fmt: skip
        if closed and (last - first) % each:
            more = last - first + each - (last - first) % each
            call.refuse(
                "clauses-disagree", "two stones of one cut meet where this row closes", name,
                seen=f"{last - first} stones", limit=f"a multiple of {each}",
                remedy=f"say how many, as in: {'circle' if call.given('circle') else 'number'} {more}",
            )  # fmt: skip
        which[first:last] = np.arange(last - first) % each
    feature.stones, feature.which = tuple(kinds), which


def fill(feature: Feature, kinds: list[StoneKind]) -> None:
    """Give each stone its kind: graded along its own row."""
    total = len(feature.frames)
    if len(kinds) == 1:
        feature.stones = (kinds[0],)
        return
    from ..geometry.spacing import shares

    found: dict[tuple[float, ...], int] = {}
    stones: list[StoneKind] = []
    which = np.zeros(total, dtype=int)
    for first, last, closed in feature.chains or ((0, total, False),):
        for place, share in enumerate(shares(last - first, closed)):
            kind = between(kinds, share)
            if kind.size not in found:
                found[kind.size] = len(stones)
                stones.append(kind)
            which[first + place] = found[kind.size]
    feature.stones, feature.which = tuple(stones), which


def in_turn(bench: PieceBench, feature: Feature, call: Call) -> None:
    """Give the stones of each row the gems of the line, one after the other and over again; a single stone
    of a part built by itself one to each copy of that."""
    gems = call.get("gem")
    if len(gems) < 2:
        return
    total = len(feature.frames)
    rows = [(first, last) for first, last, _ in feature.chains if last - first > 1] or [(0, total)]
    longest = max(last - first for first, last in rows)
    if bench.in_group and total == 1 and len(feature.stones) == 1:
        feature.stones = tuple(feature.stones[0].of_gem(gem_of(gem).name) for gem in gems)
        feature.which, feature.by_copy = np.zeros(1, dtype=int), True
        return
    if longest < len(gems):
        few_places(call, list(gems), longest, "gem")
    found: dict[tuple[int, str], int] = {}
    which = np.zeros(total, dtype=int)
    for first, last in rows:
        for place in range(first, last):
            of = 0 if feature.which is None else int(feature.which[place])
            which[place] = found.setdefault((of, gem_of(gems[(place - first) % len(gems)]).name), len(found))
    feature.stones = tuple(feature.stones[of].of_gem(name) for of, name in found)
    feature.which = which


def _counted(stones: int) -> str:
    return "one stone" if stones == 1 else f"a row of {stones}"


def between(kinds: list[StoneKind], share: float) -> StoneKind:
    """The kind at a share of the way through a graded run."""
    if len(kinds) == 1:
        return kinds[0]
    spot = min(max(share, 0.0), 1.0) * (len(kinds) - 1)
    index = min(int(spot), len(kinds) - 2)
    rest = spot - index
    pair = zip(kinds[index].size, kinds[index + 1].size, strict=True)
    size = tuple(round(a + rest * (b - a), 6) for a, b in pair)
    return StoneKind(kinds[0].cut, size, kinds[0].gem, kinds[0].form, drilled=kinds[0].drilled)


def runs(feature: Feature) -> list[tuple[StoneKind, int, int]]:
    """Stretches of stones of one kind, in order."""
    if feature.which is None:
        return [(feature.stones[0], 0, len(feature.frames))]
    stops = [0, *(1 + np.flatnonzero(np.diff(feature.which))), len(feature.which)]
    pairs = itertools.pairwise(stops)
    return [(feature.kind(int(first)), int(first), int(last)) for first, last in pairs]
