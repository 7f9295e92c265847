"""Measuring a large piece before its figures are asked for, on two threads."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .piece import Piece

WORTH_TWO = 60_000  # triangles from which a second thread is worth its while
BY_STONE = ("surrounds", "floors", "roots")
BY_FACE = ("thin", "gaps", "edges")


def measure_ahead(piece: Piece, go_on: Callable[[], bool]) -> None:
    """Take the figures of a large piece, those that go by stones in a second thread.

    Whatever fails is measured again, and told, when a rule asks for it.
    """
    if sum(len(part.triangles) for part in piece.parts) < WORTH_TWO:
        return
    from concurrent.futures import ThreadPoolExecutor

    skin, stones, sets = piece.skin_measures, piece.stone_measures, piece.sets
    _ = skin.skin.grid, stones.stones, sets.seats, sets.holders, sets.beads
    with ThreadPoolExecutor(1) as second:
        second.submit(_touch, stones, BY_STONE, go_on)
        _touch(skin, BY_FACE, go_on)
        _touch(piece.casting_measures, ("bodies",), go_on)
        _touch(piece.wear_measures, ("centre",), go_on)


def _touch(measures: object, names: Sequence[str], go_on: Callable[[], bool]) -> None:
    for name in names:
        if go_on():
            with suppress(Exception):
                getattr(measures, name)
