"""Stones that go along when the metal or the seats that hold them are repeated or bent."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from ...lang.bench import Argument, Call, Use
from ...lang.words import Kind, Word
from ..geometry import frames as fr
from ..geometry.bend import Bend
from .feature import Feature
from .plan import ROD, SEAT, Step
from .roles import Role
from .scope import Scope
from .stone_rows import StoneSet
from .things import indices

HOLDING = frozenset({Role.SEAT, Role.PRONG, Role.RIM, Role.GRAINS, Role.INLAY, Role.CHANNEL})
TAKEN = 1e-3  # mm; stones this near to one another stand at one place
LOT = 256  # spots looked at together


def given(word: Word, arguments: Mapping[str, Argument]) -> Iterator[Feature]:
    """The rows of stones that a line was given."""
    for take in word.takes:
        value = arguments.get(take.name)
        if take.kind is Kind.STONES and value is not None and isinstance(value.value, Feature):
            yield value.value


def given_to(use: Use) -> frozenset[int]:
    """The lines of the stones a word was given."""
    rows = given(use.word, use.arguments)
    return frozenset(line for row in rows for line in row.stone_rows().tolist())


def carried(
    scope: Scope, lines: Sequence[Call], made: Feature, source: Feature, steps: Sequence[Step],
    frames: np.ndarray,
) -> list[StoneSet]:  # fmt: skip
    """The stones of ``scope`` that ``source`` does not have of its own but holds, by its whole setting or by
    seats in its metal, as stones of ``made``: each as it stands again at ``frames`` (n, 3, 4) where no other
    stone stands yet. ``steps`` are what is repeated, ``lines`` all lines by the number of their feature."""
    found: list[StoneSet] = []
    for stones, there in held(scope, lines, source, steps):
        stand = np.concatenate([one.frames[:, :, 3] for one in scope.stones])
        here = stones.frames[there]
        again = fr.rounded(fr.compose(frames, here))
        again = again[_free(again[:, :, 3], stand)]
        if len(again):
            found.append(StoneSet(made.index, stones.setting, again, stones.line, True))
    return found


def held(
    scope: Scope, lines: Sequence[Call], source: Feature, steps: Sequence[Step]
) -> Iterator[tuple[StoneSet, np.ndarray]]:
    """The stones of ``scope`` that ``source``, whose ``steps`` those are, holds and does not have of its own,
    and which of each set, (n,) flags."""
    own = indices(source)
    spots = list(_spots(scope, lines, source, steps))
    if not spots:
        return
    for stones in scope.stones:
        there = ~_free(stones.frames[:, :, 3], np.concatenate(spots))
        if stones.feature not in own and there.any():
            yield stones, there


def yielding(stones: StoneSet, spots: np.ndarray) -> StoneSet:
    """``stones`` without those that only went along to one of the ``spots`` (n, 3), where a line of the text
    now lays its own."""
    if not stones.along:
        return stones
    return replace(stones, frames=stones.frames[_free(stones.frames[:, :, 3], spots)])


def _free(spots: np.ndarray, others: np.ndarray) -> np.ndarray:
    """Which of the ``spots`` (n, 3) have none of the ``others`` (m, 3) at them, (n,)."""
    found = np.ones(len(spots), dtype=bool)
    for k in range(0, len(spots), LOT):
        some = spots[k : k + LOT, None] - others[None]
        found[k : k + LOT] = (np.abs(some) > TAKEN).any(axis=2).all(axis=1)
    return found


def _spots(
    scope: Scope, lines: Sequence[Call], source: Feature, steps: Sequence[Step]
) -> Iterator[np.ndarray]:
    """Where the stones are, (n, 3) each, of settings that are there with all their metal, and of seats that
    no setting cut."""
    bodies, settings = set(source.bodies()), dict[Use, bool]()

    def holds(index: int) -> bool:
        call, found = lines[index], False
        for use in call.within:
            if Role.SETTING in use.word.roles:
                if use not in settings:
                    settings[use] = _whole(scope, lines, use, bodies) and _holds(scope, lines, use)
                found = found or settings[use]
        return found or (Role.SEAT in call.word.roles and not call.within)

    for index in (one for one in indices(source) if one >= 0 and holds(one)):
        held = [use for use in lines[index].within if settings.get(use)]
        said = [(one.word, one.arguments) for one in held]
        for word, arguments in ((lines[index].word, lines[index].arguments), *said):
            yield from (row.frames[:, :, 3] for row in given(word, arguments))
    for index, kind, frames in _solids(steps):
        if kind == SEAT and index >= 0 and holds(index):
            yield frames[:, :, 3]


def _solids(steps: Iterable[Step]) -> Iterator[tuple[int, str, np.ndarray]]:
    """The line of every solid of these steps, its kind and where it stands, (n, 3, 4)."""
    for step in steps:
        yield step.feature, step.shape.kind, step.frames
        bend = Bend(*step.shape.figures) if step.shape.kind == "bent" else None
        for index, kind, frames in _solids(step.shape.steps):
            yield index, kind, fr.compose(step.frames, frames if bend is None else bend.frames(frames))


def _whole(scope: Scope, lines: Sequence[Call], use: Use, bodies: set[int]) -> bool:
    """Whether all metal that a setting made stands in these bodies."""
    return all(f.body in bodies for f in scope.features if f.body is not None and _in(lines, f.index, use))


def _holds(scope: Scope, lines: Sequence[Call], use: Use) -> bool:
    """Whether a setting holds the stones it was given, by seats, claws, a wall or a peg; one that lays stones
    of its own holds those."""
    if any(_in(lines, stones.line, use) for stones in scope.stones):
        return False
    mine = {index for index, call in enumerate(lines) if use in call.within}
    if any(HOLDING & lines[index].roles for index in mine):
        return True
    return any(kind == ROD and index in mine for index, kind, _ in _solids(scope.steps))


def _in(lines: Sequence[Call], index: int, use: Use) -> bool:
    return index >= 0 and use in lines[index].within
