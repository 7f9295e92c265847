"""Parts, stones and places put together with +: one line works on all of them."""

from __future__ import annotations

import numpy as np
import pytest
from texts import made as built

from posy.compiler.making.result import Built
from posy.lang.faults import Level

CROSS = "bar tall: size 4 x 26 x 2 mm\nbar arms: size 18 x 4 x 2 mm, up 4 mm\n"
WING = "stone two: round 2 mm, gem diamond, at face of arms, right 5 mm\n"
ROWS = "stone one: round 2 mm, gem diamond, at face of tall, down 3 mm\n" + WING


def _faults(made: Built) -> list[str]:
    return [fault.message for fault in made.faults if fault.level is Level.FAULT]


def volume(text: str) -> float:
    return sum(part.volume for part in built(text).parts)


def test_stones_and_metal_together_are_set_as_one_by_one() -> None:
    both = volume(CROSS + ROWS + "seat: for one + two, in tall + arms")
    each = volume(CROSS + ROWS + "seat: for one, in tall\nseat: for two, in arms")
    assert both == pytest.approx(each, rel=1e-9)


def test_a_setting_is_mirrored_with_its_stones_and_its_seats() -> None:
    made = built(CROSS + WING + "bead-set beads: for two, in arms\nmirror far: of two + beads")
    assert not _faults(made)
    assert sorted(round(float(one.frame[0, 3]), 6) for one in made.stones) == [-5.0, 5.0]
    (metal,) = made.parts
    ends = metal.points[np.abs(metal.points[:, 0]) > 3]
    right, left = (ends[sign * ends[:, 0] > 0] * (sign, 1, 1) for sign in (1, -1))
    assert len(right) == len(left)
    assert np.allclose(np.sort(right, axis=0), np.sort(left, axis=0), atol=1e-6)


def test_crossing_bars_have_one_rim() -> None:
    """4 x 26 and 18 x 4 mm that cross: the union's round is 2 x (26 + 14) + 2 x 4 mm, elementary geometry."""
    edge = "path edge: beside tall + arms\nexpect abs(length of edge - 88 mm) < 0.01 mm"
    made = built(f'{CROSS}{edge}, else "no"')
    assert not _faults(made)


def test_places_together_are_all_of_them() -> None:
    made = built(CROSS + 'expect count(ends of tall + ends of arms) is 4, else "no"')
    assert not _faults(made)


def test_what_does_not_go_together_is_told() -> None:
    (told,) = _faults(built(CROSS + ROWS + "seat: for one + face of tall, in tall"))
    assert "do not go together" in told
