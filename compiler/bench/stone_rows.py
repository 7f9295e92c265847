"""Rows of stones: several as one, one once more elsewhere, and what may be asked of a whole row."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NoReturn

import numpy as np

from ...lang.bench import Call
from ..geometry import frames as fr
from .feature import Feature, Places, number
from .feature import length as mm
from .neighbours import claw_gaps, gaps, path, sides
from .stone_kind import StoneKind, stone_offers

GROUP = "group"  # the word of parts put together with +


@dataclass
class StoneSet:
    """Stones of one line: their feature, what they are, where each stands (n, 3, 4); ``line`` is
    the feature that first laid them, where this one repeats it; ``along`` those that no line of the text
    lays there: they went along with what holds them."""

    feature: int
    setting: StoneKind
    frames: np.ndarray
    line: int
    along: bool = False


def by_copy(stones: StoneSet, features: list[Feature], frames: np.ndarray) -> list[StoneSet]:
    """The stones of a part at each of the ``frames`` (n, 3, 4) it is soldered in, of several gems one gem to
    each copy in turn."""
    feature = next((one for one in features if one.by_copy and one.index == stones.feature), None)
    kinds = (stones.setting,) if feature is None else feature.stones
    return [
        replace(stones, setting=kind, frames=fr.rounded(fr.compose(frames[k :: len(kinds)], stones.frames)))
        for k, kind in enumerate(kinds)
    ]


def told_each_copy(call: Call, stones: Feature, copies: int) -> None:
    """Refuse a part of fewer copies than its one stone has gems in turn."""
    if stones.by_copy and copies < len(stones.stones):
        few_places(call, [kind.gem for kind in stones.stones], copies, None)


def few_places(call: Call, gems: list[str], places: int, key: str | None) -> NoReturn:
    """Refuse more ``gems`` than there are places for them to take turns."""
    call.refuse(
        "several-stones",
        f"{len(gems)} gems are named for {'one stone' if places == 1 else f'a row of {places}'}: "
        f"no place for {gems[places]}",
        key, seen=f"{len(gems)} gems", limit=str(places),
        remedy=f"lay so many, as in: row {len(gems)}, gap 0.25 mm; or name fewer gems",
    )  # fmt: skip


def again(stones: Feature, frames: np.ndarray) -> Feature:
    """The same stones once more at each of the ``frames``."""
    whole = Feature(
        stones.name, "stone", stones.index, stones.frames, stones.offers, stones=stones.stones,
        which=stones.which, chains=stones.chains, stone_offers=stones.stone_offers, rows=stones.rows,
        passing=stones.passing,
    )
    whole.moved(frames)
    return whole


def merged(feature: Feature, rows: list[Feature]) -> Feature:
    """The stones of several lines as one, their rows kept apart."""
    if len(rows) == 1:
        return rows[0]
    if feature.word == GROUP:
        rows = _flanked(rows)
    kinds: list[StoneKind] = []
    which, chains, first = [], [], 0
    for row in rows:
        which.append((0 if row.which is None else row.which) + len(kinds) + np.zeros(len(row.frames), int))
        chains += [(a + first, b + first, closed) for a, b, closed in row.chains]
        kinds += row.stones
        first += len(row.frames)
    if feature.word == GROUP and first == len(rows):
        chains = [(0, first, False)]  # single stones put together stand in a row
    offers = dict(max(rows, key=lambda row: max(kind.width for kind in row.stones)).offers)
    offers["least"] = lambda: mm(min(kind.width for kind in kinds))
    offers["count"] = lambda: number(first)
    return Feature(
        feature.name, "stone", feature.index, np.concatenate([row.frames for row in rows]), offers,
        stones=tuple(kinds), which=np.concatenate(which), chains=tuple(chains), stone_offers=stone_offers,
        rows=np.concatenate([row.stone_rows() for row in rows]),
        passing=max((row.passing for row in rows), key=lambda one: one[1]),
    )


def _flanked(rows: list[Feature]) -> list[Feature]:
    """The rows with each stone that two others were laid beside put between them, left to right."""
    for pair in [row for row in rows if row.beside is not None and len(row.frames) == 2]:
        home = next((row for row in rows if pair.beside is not None and row.index == pair.beside.index), None)
        if home is not None and len(home.frames) == 1:
            at = rows.index(home)
            rows = [*rows[:at], pair.single(1), home, pair.single(0), *rows[at + 1 :]]
            rows.remove(pair)
    return rows


def _nooks(feature: Feature) -> Places | str:
    from .nooks import nooks

    return nooks(feature)


STONE_ASKS = {"gaps": gaps, "claw-gaps": claw_gaps, "nooks": _nooks, "path": path, "sides": sides}
