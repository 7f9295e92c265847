"""Borders engraved along a path: they close on a whole number of repeats, and plaits pass over and under."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest
from texts import made

from posy.compiler.words.borders import CELLS, _drawn, _plait
from posy.lang.faults import Level

RING = 'band ring: finger "uk P", wide 7 mm, thick 2 mm\n'


built = partial(made, check_metal=False)


@pytest.mark.parametrize("strands", [2, 3, 4, 5])
def test_the_strands_of_a_plait_keep_clear_of_those_they_pass_below(strands: int) -> None:
    """Of each crossing one strand goes on, the other ends beside it: no two stretches touch. Each stretch
    passes over just one other, as in an alternating plait, so there is one for every crossing: strands - 1 a
    repeat (elementary topology)."""
    stroke, half, number = 0.3, 2.0, 6
    pitch = 1.4 / (strands - 1) * 2 * half
    cells = _plait(strands, pitch, half, stroke)
    assert len(cells) == strands - 1
    lines = [spots for spots, _ in _drawn(cells, number, pitch, half, True)]
    whole = number * pitch
    for k, one in enumerate(lines):
        for two in lines[k + 1 :]:
            go = one[:, None] - two[None]
            go[..., 0] = (go[..., 0] + whole / 2) % whole - whole / 2
            assert np.linalg.norm(go, axis=2).min() > 0.6 * stroke


@pytest.mark.parametrize("border", ["plait", "plait, strands 3", *CELLS])
def test_a_border_repeats_a_whole_number_of_times_round(border: str) -> None:
    """Turned on by one repeat of eight, the band is the same: its metal weighs the same in every eighth."""
    text = RING + f"engrave b: stroke 0.4 mm, border {border}, wide 4 mm, number 8, deep 0.3 mm, along around of ring, in ring"
    one = built(text)
    assert not [fault for fault in one.faults if fault.level is Level.FAULT]
    (part,) = one.parts
    corner = part.points[part.triangles]
    mass = np.linalg.det(corner) / 6
    middle = corner.mean(axis=1)
    eighth = np.floor(np.degrees(np.arctan2(middle[:, 0], middle[:, 2])) / 45 + 1e-9).astype(int) % 8
    shares = np.bincount(eighth, weights=mass, minlength=8) / mass.sum()
    assert shares == pytest.approx(np.full(8, 1 / 8), abs=0.004)
    assert mass.sum() < 0.999 * sum(np.linalg.det(p.points[p.triangles]).sum() / 6 for p in built(RING).parts)


def test_raised_a_border_stands_on_the_band() -> None:
    text = RING + "engrave b: raised, stroke 0.6 mm, border plait, wide 4 mm, deep 0.4 mm, along around of ring, in ring"
    (plain,), (worked,) = built(RING).parts, built(text).parts
    far = [float(np.hypot(part.points[:, 0], part.points[:, 2]).max()) for part in (plain, worked)]
    assert far[1] - far[0] == pytest.approx(0.4, abs=0.02)


def test_a_border_without_room_is_told() -> None:
    narrow = built(RING + "engrave b: stroke 0.6 mm, border key, wide 1 mm, along around of ring, in ring")
    broad = built(RING + "engrave b: stroke 0.6 mm, border key, wide 9 mm, along around of ring, in ring")
    told = [[f.code for f in one.faults if f.level is Level.FAULT] for one in (narrow, broad)]
    assert told == [["out-of-range"], ["off-the-face"]]


def test_a_bangle_of_wire_is_engraved_on_its_outer_side() -> None:
    """Along its own path a border lies shut in the metal, and is told; along its outer side it comes out."""
    text = "path oval: inside 58 x 50 mm, outset 1 mm\nwire bangle: along oval, flat 8 x 2 mm\n"
    text += "engrave b: stroke 0.7 mm, border zigzag, wide 5 mm, deep 0.3 mm, along {} of bangle, in bangle"
    shut, open_ = (made(text.format(one)).faults for one in ("path", "outer"))
    assert [(f.code, "along outer of bangle" in f.remedy) for f in shut if f.level is Level.FAULT] == [("trapped-void", True)]
    assert not [f for f in open_ if f.level is not Level.HINT]


def test_a_wave_as_wide_as_usual_has_room_for_its_curls() -> None:
    """One too narrow is told how wide they want it."""
    text = "path rear: inside 58 x 48 mm, outset 1.3 mm, arc 90 deg to 270 deg\nwire bow: along rear, half-round 6 x 3 mm\n"
    text += "engrave b: border wave{}, stroke 0.4 mm, deep 0.25 mm, along outer of bow, in bow"
    usual, narrow = (made(text.format(wide)).faults for wide in ("", ", wide 2.4 mm"))
    assert not [one for one in usual if one.level is not Level.HINT]
    (told,) = [one for one in narrow if one.level is Level.FAULT]
    assert told.code == "bend-too-tight" and told.remedy.startswith("write wide 3.1 mm")
    assert not [one for one in made(text.format(", wide 3.1 mm")).faults if one.level is Level.FAULT]
