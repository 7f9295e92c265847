"""What is laid on a part lies where the face is, after a field was sunk in it or a hollow cut along it.

The floors of the cuts are closed forms: a field is as deep as said; a stroke cut round is half an ellipse
as wide and deep as said (section of the word's own page)."""

import math
from functools import lru_cache, partial

import numpy as np
import pytest
from texts import Texts, laid, made

from posy.compiler.making.pipeline import build, check

FIELD = "disc m: across 20 mm, thick 2.4 mm\nengrave cut: round 15 mm, deep 0.6 mm, at face of m, in m\n"
HOLLOW = """bar m: size 24 x 14 x 2.4 mm
path mid: through (-20, 0, 2.4) to (20, 0, 2.4 mm)
engrave cut: stroke 12 mm, cut round, deep 0.6 mm, along mid, in m
"""
BAND = """band m: inside 20 mm, wide 9 mm, thick 2.6 mm
engrave cut: stroke 7.4 mm, cut round, deep 0.6 mm, along around of m, in m
"""
LETTERS = 'engrave t: letters "AB", tall 3 mm, deep 0.3 mm, on m, in m\n'
THINGS = {
    "letters": (LETTERS, -0.3),
    "raised": (LETTERS.replace(", in m", ", raised"), 0.3),
    "stroke": ("path p: through (-3, 0) to (3, 0 mm), on m\n"
               "engrave t: stroke 0.6 mm, cut flat, deep 0.25 mm, along p, in m\n", -0.25),
    "milgrain": ("path p: round 5 mm, on m\nbead-line t: along p, bead 0.6 mm\n", 0.3),
    "hammered": ("hammered t: upon m, every 2 mm, inset 3 mm, uneven 0 %\n", -0.1333),
    "brushed": ("brushed t: upon m, inset 3 mm, deep 0.1 mm\n", -0.1),
}  # fmt: skip


_built = lru_cache(partial(made, check_metal=False))


def _new_points(text, base):
    """Corners of the metal that the last lines made, and that stand not on a face of the part as it was."""
    (part,) = _built(text).parts
    (was,) = _built(base).parts
    old = {tuple(one) for one in np.round(was.points, 3)}
    return np.array([one for one in part.points if tuple(np.round(one, 3)) not in old])


def _over(base, points):
    """How high points stand over the real face of the cut part, mm."""
    if base is FIELD:
        away = np.hypot(points[:, 0], points[:, 1])
        return np.where(np.abs(away - 7.5) < 0.01, 0.0, points[:, 2] - np.where(away < 7.5, 1.8, 2.4))
    wide = 12.0 if base is HOLLOW else 7.4
    floor = -0.6 * np.sqrt(np.clip(1 - (2 * points[:, 1] / wide) ** 2, 0, 1))
    high = points[:, 2] if base is HOLLOW else np.hypot(points[:, 0], points[:, 2])
    return high - (2.4 if base is HOLLOW else 12.6) - floor


@pytest.mark.parametrize("base", [FIELD, HOLLOW, BAND], ids=["field", "hollow", "band"])
@pytest.mark.parametrize("thing", list(THINGS))
def test_it_lies_on_the_real_face(base, thing):
    line, reach = THINGS[thing]
    over = _over(base, _new_points(base + line, base))
    end = over.min() if reach < 0 else over.max()
    assert end == pytest.approx(reach, abs=0.02)
    assert np.abs(over).max() < abs(reach) + 0.25  # the root of a raised letter is 0.2 mm


@pytest.mark.parametrize("base", [FIELD, HOLLOW, BAND], ids=["field", "hollow", "band"])
def test_a_stone_sits_in_it(base):
    text = f"{base}stone s: round 2 mm, gem garnet, inward 0.3 mm, on m\nflush t: for s, in m\n"
    made = build("p.posy", files=Texts({"p.posy": text}), check_metal=False)
    assert not [one for one in made.faults if one.level.value != "hint"]
    over = _over(base, made.stones[0].frame[None, :, 3])
    assert over[0] == pytest.approx(-0.3, abs=0.005)


def test_seats_and_letters_are_no_faces():
    """What is laid on a part after a hole, a seat or a letter was cut lies on the face beside them."""
    text = """disc m: across 20 mm, thick 2.4 mm
drill eye: across 3 mm, deep 1 mm, at face of m, in m
engrave name: letters "O", tall 12 mm, style heavy, at face of m, in m
stone s: round 2 mm, gem garnet, on m
"""
    made = build("p.posy", files=Texts({"p.posy": text}))
    assert made.stones[0].frame[2, 3] == 2.4


def test_no_blow_breaks_the_wall_of_a_field():
    base, line = FIELD, "hammered t: upon m, every 2 mm, inset 1 mm\n"
    (part,) = _built(base + line).parts
    wall = part.points[np.abs(np.hypot(part.points[:, 0], part.points[:, 1]) - 7.5) < 0.01, 2]
    assert not ((wall > 1.81) & (wall < 2.1)).any()  # its upper edge may be eased by 0.2 mm, and unevenly


def test_a_ball_larger_than_its_hollow_is_told():
    text = BAND.replace("7.4 mm", "2 mm") + "hammered t: upon m, every 2 mm, inset 4 mm\n"
    (fault,) = check("p.posy", files=Texts({"p.posy": text})).faults
    assert fault.code == "no-places" and "smaller ball" in fault.remedy


@pytest.mark.parametrize("line", ["inset 1 mm, turn 90 deg", "inset 3 mm", "every 1 mm"])
def test_strokes_lie_upon_a_band_as_far_as_its_inset(line):
    text = f"band m: inside 20 mm, wide 9 mm, thick 2.6 mm\nbrushed t: upon m, deep 0.1 mm, {line}\n"
    (part,) = _built(text).parts
    out = np.hypot(part.points[:, 0], part.points[:, 2])
    cut = (out > 12.45) & (out < 12.59) & (np.abs(part.points[:, 1]) < 4.49)
    inset = float(line.split()[1]) if "inset" in line else 0.0
    assert out[cut].min() == pytest.approx(12.5, abs=0.01)
    assert np.abs(part.points[cut, 1]).max() == pytest.approx(4.5 - inset, abs=0.65)
    assert part.points[cut, 2].min() < -12  # all the way round


def test_strokes_follow_both_edges_of_a_band_that_tapers():
    """Its border is as broad at the back, where the band is 5 mm wide, as at its head, where it is 8."""
    text = "band m: inside 20 mm, wide 8 mm, thick 2 mm, taper 5 x 2 mm\nbrushed t: upon m, deep 0.1 mm, inset 0.6 mm\n"
    (part,) = _built(text).parts
    out, up = np.hypot(part.points[:, 0], part.points[:, 2]), np.abs(part.points[:, 1])
    borders = []
    for side, half in ((1, 4.0), (-1, 2.5)):
        cut = (out > 11.5) & (out < 11.99) & (side * part.points[:, 2] > 11)
        borders.append(half - up[cut].max())
    assert borders == pytest.approx([0.6, 0.6], abs=0.3)
    assert borders[0] == pytest.approx(borders[1], abs=0.1)


def test_brushed_asks_what_is_brushed():
    (fault,) = check("p.posy", files=Texts({"p.posy": "disc m: across 20 mm, thick 2 mm\nbrushed t\n"})).faults
    assert "'upon' a part" in fault.remedy


LINKED = """path big: round 16 mm
wire m: along big, flat 2.6 x 1.3 mm
"""


def test_milgrain_runs_along_both_edges_of_flat_wire():
    """Each bead its inset within an edge: 6.7 and 9.3 mm from the middle, inset 0.3 mm."""
    (part,) = _built(f"{LINKED}bead-line t: along edges of m, bead 0.5 mm\n").parts
    tops = part.points[part.points[:, 2] > 0.65 + 0.24]
    away = np.hypot(tops[:, 0], tops[:, 1])
    assert np.abs(away - np.where(away > 8, 9.0, 7.0)).max() < 0.1


def test_a_word_and_a_workpiece_lend_the_face_of_their_largest_part():
    text = """workpiece tag
  bar strip: size 30 x 10 x 1.5 mm
  ball knob: at face of strip, right 12 mm, across 2 mm
stone s: round 2 mm, gem garnet, on tag
hoop ear: outside 30 mm, wide 3 mm, thick 1.8 mm, up 40 mm
stone z: round 1 mm, gem garnet, on ear
"""
    made = build("p.posy", files=Texts({"p.posy": text}), check_metal=False)
    assert made.stones[0].frame[2, 3] == pytest.approx(1.5)
    assert made.stones[1].frame[2, 3] == pytest.approx(15.0, abs=1e-3)


def test_letters_on_a_tube_are_sent_round_its_side():
    text = 'tube m: outside 10 mm, inside 8 mm, long 8 mm\nengrave t: letters "ELLA", tall 3 mm, on m, in m\n'
    (fault,) = check("p.posy", files=Texts({"p.posy": text})).faults
    assert fault.code == "off-the-face" and "along waist of m" in fault.remedy


def test_letters_run_along_the_rim_of_a_sunk_field():
    line = 'engrave t: letters "SWIM", tall 2 mm, deep 0.3 mm, raised, along floor-rim of cut, inset 2 mm\n'
    over = _over(FIELD, _new_points(FIELD + line, FIELD))
    assert over.max() == pytest.approx(0.3, abs=1e-6)
    assert over.min() == pytest.approx(-0.2, abs=1e-6) or over.min() == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("mark", ["stroke 0.5 mm", 'letters "AB", tall 2 mm'])
def test_a_cut_along_a_path_on_the_ground_begins_at_the_face(mark):
    """Lifted to the face by hand, it takes the same metal."""
    text = f"""path edge: through (-8, 9 mm) to (8, 9 mm) to (8, 0 mm) over (5, -6 mm) to (0, -9 mm) over (-5, -6 mm) to (-8, 0 mm), closed
plate m: outline edge, thick 1.8 mm
engrave t: {mark}, along edge, inset 2 mm, in m"""
    own, lifted = (made(f"{text}{out}\n") for out in ("", ", out 1.8 mm"))
    assert not [one for one in own.faults if one.code == "off-the-face"]
    (a,), (b,) = own.parts, lifted.parts
    assert np.array_equal(a.points, b.points) and a.points[:, 2].min() == 0
    assert a.volume < made(text.partition("engrave")[0]).parts[0].volume - 0.1


OPEN_AT_ITS_HEAD = """path way: finger iso 52, outset 1.1 mm, arc 12 deg to 348 deg
wire hoop: along way, round 2.2 mm
stone one: round 3 mm, gem garnet, on hoop, around {turn} deg
"""


@pytest.mark.parametrize("turn", [-24, 336, 40, -150, 180])
def test_an_angle_round_an_open_ring_is_the_same_a_turn_on(turn: int):
    x, _, z = laid(OPEN_AT_ITS_HEAD.format(turn=turn), "one").frames[0, :, 3]
    assert math.cos(math.atan2(x, z) - math.radians(turn)) == pytest.approx(1.0, abs=1e-6)


def test_no_place_is_in_the_opening_of_a_ring():
    (told,) = made(OPEN_AT_ITS_HEAD.format(turn=0)).faults
    assert told.code == "off-the-face" and "13 deg" in told.remedy and "-12 deg" in told.remedy


def test_the_rim_of_an_inlay_lies_round_its_stone():
    text = (
        "plate face: rectangle 16 x 13 mm, thick 2 mm\n"
        "stone lapis: rectangle 6 x 5 mm, deep 1 mm, gem lapis-lazuli, at face of face, right 4 mm, level table\n"
        "inlay pocket: for lapis, in face\npath way: beside rim of pocket\n"
    )
    spots = laid(text, "way").look("path").lines[0].points
    assert (spots.min(axis=0) + spots.max(axis=0)) / 2 == pytest.approx((4.0, 0.0, 2.0), abs=0.01)


def test_a_part_of_another_casting_is_told_by_its_whole_name():
    """Also where the name is a choice of some clause."""
    text = "casting half\n  ball key: across 2 mm\nball b: across 1 mm, at top of key\n"
    (told,) = made(text).faults
    assert told.code == "unknown-name" and told.remedy == "write key of half"
