"""Rows along a curved edge: held to the circle itself, and to straight edges with corners."""

import numpy as np
import pytest
from texts import laid

from posy.compiler.bench.edge_rows import along_edge
from posy.compiler.making.pipeline import build


def _prism(outline: np.ndarray) -> np.ndarray:
    """The sides of an upright prism, (n, 3, 3), outward."""
    after = np.roll(outline, -1, axis=0)
    at = lambda flat, z: np.column_stack((flat, np.full(len(flat), z)))  # noqa: E731
    low, high, next_low, next_high = at(outline, -1.0), at(outline, 1.0), at(after, -1.0), at(after, 1.0)
    return np.concatenate((np.stack((low, next_low, next_high), 1), np.stack((low, next_high, high), 1)))


def _place(x: float, y: float, out: float) -> np.ndarray:
    turn = np.radians(out)
    return np.array([[np.cos(turn), -np.sin(turn), 0, x], [np.sin(turn), np.cos(turn), 0, y], [0, 0, 1, 0]])


def test_a_row_lies_on_a_circle_and_looks_out_of_it() -> None:
    """Arc over radius is the angle: x = r sin (s/r), elementary geometry."""
    turn = np.radians(np.arange(0, 360, 2.0))
    round_metal = _prism(10 * np.column_stack((np.cos(turn), np.sin(turn))))
    place = _place(0.0, -10.0, -90.0)
    far = np.array([-4.5, 0.0, 4.5])
    frames = along_edge([(np.eye(3, 4), round_metal)], place, far)
    spots = frames[:, :, 3] @ place[:, :3].T + place[:, 3]
    assert np.linalg.norm(spots[:, :2], axis=1) == pytest.approx(10, abs=2e-3)
    assert spots[:, 0] == pytest.approx(10 * np.sin(far / 10), abs=2e-3)
    outs = frames[:, :, 0] @ place[:, :3].T
    assert (outs * spots / 10).sum(axis=1) == pytest.approx(1, abs=1e-3)
    assert np.linalg.det(frames[:, :, :3]) == pytest.approx(1)


def test_past_a_corner_a_row_goes_straight_on() -> None:
    bar = _prism(np.array([[-5.0, -1.0], [5.0, -1.0], [5.0, 1.0], [-5.0, 1.0]]))
    far = np.array([-8.0, -4.0, 4.0, 8.0])
    frames = along_edge([(np.eye(3, 4), bar)], _place(0.0, -1.0, -90.0), far)
    assert frames[:, 1, 3] == pytest.approx(far, abs=1e-6) and frames[:, 0, 3] == pytest.approx(0, abs=1e-6)
    assert frames[:, :, :3] == pytest.approx(np.tile(np.eye(3), (4, 1, 1)), abs=1e-6)


def test_loops_at_a_round_edge_stand_in_its_metal_and_each_carries_a_drop(tmp_path) -> None:
    text = tmp_path / "p.posy"
    text.write_text(
        'piece "Fan"\n  metal silver-925\ncasting frame\n  disc body: across 20 mm, thick 1.6 mm\n'
        "  bail top: at top of body\n  bail feet: at bottom of body, row 3, every 4.5 mm, wire 0.8 mm, inside 1.6 mm\n"
        "casting drop: hangs-in feet of frame\n  disc leaf: across 3 mm, thick 1 mm\n"
        "  bail eye: at top of leaf, wire 0.8 mm, inside 1.6 mm, stand\n"
    )
    made = build(str(text))
    assert not {"loose-piece", "empty-loop"} & {fault.code for fault in made.faults}
    assert len(made.parts) == 4  # the frame, and a drop in each of three loops


@pytest.mark.parametrize("strands", [2, 3])
def test_a_row_beside_a_rope_follows_its_course_not_a_strand(strands: int) -> None:
    """A pear is alike to both sides: so are the two loops, and both stand as far off its middle line."""
    text = "path edge: pear 16 x 22 mm, upright, inset 0.8 mm\n"
    text += f"twist rope: along edge, wire 0.9 mm, strands {strands}\n"
    course = laid(text, "rope").look("path").lines[0].fine(0.02).points
    feet = laid(text + "bail feet: at bottom of rope, row 2, every 11 mm, wire 0.9 mm, inside 2 mm", "feet.loop").frames
    one, two = feet[:, :, 3]
    assert one * (-1, 1, 1) == pytest.approx(two, abs=0.03)
    off = [np.linalg.norm(course - spot, axis=1).min() for spot in (one, two)]
    assert off == pytest.approx([off[0]] * 2, abs=0.02) and min(off) > 1.0


def test_face_and_back_of_a_bent_wire_lie_on_it() -> None:
    """Beside the middle of the box of a bow 3 mm high there is no metal: its places are on its crown."""
    text = "path bow: through (-10, 0) over (0, 3) to (10, 0 mm)\nwire stem: along bow, round 1.2 mm\n"
    text += "ball one: at face of stem, across 1 mm\nball two: at back of stem, across 1 mm"
    spots = [laid(text, name).frames[0, :, 3] for name in ("one", "two")]
    assert spots[0] == pytest.approx((0, 3, 0.6), abs=0.06) and spots[1] == pytest.approx((0, 3, -0.6), abs=0.06)


@pytest.mark.parametrize("shape", ["pear 18 x 26 mm", "oval 18 x 26 mm", "marquise 14 x 26 mm", "heart 20 x 20 mm"])
def test_a_rim_begins_where_its_outline_does(shape: str) -> None:
    """A softened rim lies as much farther in (parallel curves): what is laid along it stays at its stretch."""
    line = "plate frame: {}, thick 1.9 mm{}\npath low: beside rim of frame, inset {} mm, stretch 0 % to 20 %\n"
    spots = [
        laid(line.format(shape, soften, inset) + "ball one: at pick(ends of low, 1), across 1 mm", "one").frames[0, :, 3]
        for soften, inset in (("", 1.4), (", soften 0.3 mm", 1.1))
    ]  # fmt: skip
    assert spots[1] == pytest.approx(spots[0], abs=0.01)


def test_the_outer_side_of_tapered_wire_rises_with_it() -> None:
    """Half its height there: 1 mm at its ends, as wide grows from 2.4 to 2.8 mm in the middle 1.167 mm."""
    text = "path line: through (-9, 0) to (9, 0 mm)\n"
    text += "wire rail: along line, flat 2.4 x 2 mm, taper 2.4 mm to 2.8 mm to 2.4 mm\n"
    text += "ball one: along outer of rail, number 3, across 1 mm"
    spots = laid(text, "one").frames[:, 2, 3]
    assert spots == pytest.approx((1.0, 2 / 2.4 * 2.8 / 2, 1.0), abs=0.03)
