"""Findings by their measures: a rebate in a locket, a cufflink bar that swivels, a strap bail that hangs."""

from __future__ import annotations

import math

import numpy as np
import pytest

from posy.compiler.judging.hanging import _circle
from posy.compiler.making.pipeline import build
from posy.compiler.making.result import Built
from posy.lang.faults import Level
from posy.lang.loader import Texts


def built(text: str) -> Built:
    return build("piece.posy", files=Texts({"piece.posy": text}))


def volume(text: str) -> float:
    return float(sum(part.volume for part in built(text).parts))


def test_a_rebate_takes_a_ring_of_metal_from_the_wall() -> None:
    """A ring of metal pi (R^2 - r^2) h: elementary geometry."""
    disc = "disc shell: across 20 mm, thick 4 mm\nhollow room: in shell, wall 2 mm, roof 1 mm"
    taken = volume(disc) - volume(disc + ", rebate 0.8 x 1.2 mm")
    assert taken == pytest.approx(math.pi * (8.8**2 - 8.0**2) * 1.2, rel=1e-3)
    ledge = "\npath line: beside ledge of room\nexpect abs(length of line - 55.29 mm) < 0.05 mm, else \"no\""
    assert not [f for f in built(f"{disc}, rebate 0.8 x 1.2 mm{ledge}").faults if f.level is Level.FAULT]
    (told,) = [f for f in built(f"{disc}, rebate 1.9 x 1.2 mm").faults if f.level is Level.FAULT]
    assert told.code == "wall-too-thick"


def test_a_cufflink_bar_turns_into_line_between_its_arms() -> None:
    """Turned by a quarter about its pin the bar meets neither arms nor foot."""
    made = built("disc front: across 17 mm, thick 2 mm\ncufflink-back back: at back of front, swivel")
    assert not [f for f in made.faults if f.level is not Level.HINT]
    link = next(part for part in made.parts if not part.bought)
    bar = max((part for part in made.parts if part.bought), key=lambda part: np.ptp(part.points[:, 0]))
    middle = bar.points[:, 2].mean()
    turned = bar.points - (0.0, 0.0, middle)
    turned = turned[:, [2, 1, 0]] * (1, 1, -1) + (0.0, 0.0, middle)
    beside = np.abs(turned[:, 1]).max()
    arms = link.points[link.points[:, 2] < middle + 1.0]
    assert np.abs(arms[:, 1]).min() > beside + 0.05
    floor = link.points[np.abs(link.points[:, 1]) < beside][:, 2].min()
    assert turned[:, 2].max() < floor


def test_a_circle_is_found_of_spots_along_an_arc() -> None:
    turn = np.linspace(0.2, 2.8, 40)
    middle, axis, radius = _circle(np.stack((3 * np.cos(turn) + 1, np.full(40, 2.0), 3 * np.sin(turn)), axis=1))
    assert middle == pytest.approx([1, 2, 0], abs=1e-9) and radius == pytest.approx(3)
    assert abs(axis[1]) == pytest.approx(1)
    assert _circle(np.stack((turn, turn**3, 0 * turn), axis=1))[2] == 0


def test_a_piece_hangs_by_its_strap() -> None:
    text = "disc medal: across 14 mm, thick 1.6 mm\ntapered-bail loop: at top of medal"
    off = text.replace("at top of medal", "at (3, 6.3, 0.8 mm), turn 90 deg")
    assert "leans" in [fault.code for fault in built(off).faults]
    assert "leans" not in [fault.code for fault in built(text).faults]
