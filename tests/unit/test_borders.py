"""Borders engraved along a path: they close on a whole number of repeats, and plaits pass over and under."""

from __future__ import annotations

import math
from functools import partial

import numpy as np
import pytest
from texts import checked, laid, made, volume

from posy.compiler.geometry.tightness import tightest
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


@pytest.mark.parametrize("said", ["", ", wide 2.4 mm", ", wide 2.5 mm, stretch 12 % to 88 %"])
def test_a_wave_has_room_for_its_curls_however_wide(said: str) -> None:
    text = "path rear: inside 58 x 48 mm, outset 1.3 mm, arc 90 deg to 270 deg\nwire bow: along rear, half-round 6 x 3 mm\n"
    text += f"engrave b: border wave, stroke 0.4 mm, deep 0.25 mm, along outer of bow, in bow{said}"
    assert not [one for one in made(text).faults if one.level is not Level.HINT]


@pytest.mark.parametrize("said, cure", [
    ("plait, wide 2.6 mm, fit 1 mm", "leave 'fit' out"), ("zigzag, wide 4 mm, number 36", "leave 'number' out"),
    ("plait, strands 3, wide 1.3 mm", "write wide 1.65 mm"),
])  # fmt: skip
def test_strands_that_bend_too_tight_are_told_what_opens_them(said: str, cure: str) -> None:
    bar = "plate b: rectangle 40 x 8 mm, thick 2 mm\npath mid: through (-18, 0) to (18, 0 mm), at face of b\n"
    text = bar + f"engrave z: border {said}, stroke 0.4 mm, deep 0.2 mm, along mid, in b"
    (told,) = [one for one in checked(text).faults if one.level is Level.FAULT]
    assert told.code == "bend-too-tight" and told.remedy.startswith(cure)
    after = text.replace(", fit 1 mm", "").replace(", number 36", "").replace("wide 1.3 mm", "wide 1.65 mm")
    assert not [one for one in checked(after).faults if one.level is Level.FAULT]


@pytest.mark.parametrize("wide", [1.2, 1.6, 2.0, 2.4])
def test_a_zigzag_takes_away_its_section_along_all_its_runs(wide: float) -> None:
    """Mitred runs of a section that is alike to both sides hold its area times their length (Pappus)."""
    bar = "plate b: rectangle 40 x 6 mm, thick 2 mm\npath mid: through (-18, 0) to (18, 0 mm), at face of b\n"
    text = bar + f"engrave z: border zigzag, stroke 0.3 mm, deep 0.2 mm, wide {wide} mm, number 28, along mid, in b"
    long = 56 * math.hypot(36 / 56, wide - 0.3)
    assert 40 * 6 * 2 - volume(text, check_metal=False) == pytest.approx(0.3 * 0.2 / 2 * long, rel=5e-3)


@pytest.mark.parametrize("wide", [1.4, 1.6, 2, 2.5, 3.2])
def test_curls_leave_a_sound_face_beside_them(wide: float) -> None:
    """No triangle of the plate's face is turned over, as where a tool crosses itself beside its line."""
    bar = "plate b: rectangle 40 x 8 mm, thick 2 mm\npath mid: through (-18, 0) to (18, 0 mm), at face of b\n"
    text = bar + f"engrave z: border wave, stroke 0.4 mm, deep 0.2 mm, wide {wide} mm, along mid, in b"
    (part,) = made(text, check_metal=False).parts
    corner = part.points[part.triangles]
    up = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])[:, 2]
    assert not (up[(np.abs(corner[:, :, 2] - 2) < 1e-6).all(axis=1)] < 0).any()


@pytest.mark.parametrize("wide", [1.4, 1.6, 2, 2.5, 3.2])
def test_waves_curl_no_tighter_than_their_stroke_and_end_with_their_path(wide: float) -> None:
    bar = "plate b: rectangle 40 x 8 mm, thick 2 mm\npath mid: through (-18, 0) to (18, 0 mm), at face of b\n"
    made_of = laid(bar + f"engrave z: border wave, stroke 0.4 mm, deep 0.2 mm, wide {wide} mm, along mid, in b", "z")
    lines = made_of.look("path").lines
    for line in lines:
        bend = tightest(line, 0.2 * np.array([(1.0, 0.0), (-1.0, 0.0)]))
        assert bend.seen >= bend.need
        assert np.linalg.norm(line.chords(), axis=1).max() < 0.3  # none leaps to where it comes back
    assert np.abs(np.concatenate([line.points[:, 0] for line in lines])).max() <= 18.001
