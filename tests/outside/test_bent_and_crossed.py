"""Wire that crosses itself, strip told by its runs and bends, outlines as lines, smooth lines that leave a
given way: against closed forms (Bronshtein and Semendyayev, Handbook of Mathematics, from memory: arc,
parallelogram, regular polygon; Pappus' rule for the volume of a bent section)."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from texts import built, codes, laid, made, volume

BOW = "path bow: closed, through (-6, -4) to (6, 4) to (6, -4) to (-6, 4 mm)\n"
CLIP = "path side: runs 50 mm to 45 mm, bends 180 deg, mandrel 3 mm, thick 1.2 mm, edgewise, tilt -90 deg\n"


def points(text: str) -> np.ndarray:
    """The points of the one part of a piece."""
    (part,) = built(text).parts
    return np.array(part.points)


def test_wire_that_crosses_itself_is_one_wire_there() -> None:
    """Its length times its section, but for the parallelogram where it runs twice."""
    cross = 1.0 / math.sin(2 * math.atan2(4, 6))
    wanted = 1.5 * (2 * math.hypot(12, 8) + 16 - cross)
    assert volume(BOW + "wire w: along bow, flat 1 x 1.5 mm") == pytest.approx(wanted, rel=1e-5)


def test_wire_that_passes_over_itself_stays_round() -> None:
    """Two wires one upon the other, a hundredth into each other: nothing is lost but what they share."""
    over = "path bow: closed, through (-6, -4) to (0, 0, 0.495) to (6, 4) to (6, -4) to (0, 0, -0.495) to (-6, 4 mm)\n"
    length = 4 * math.hypot(6, 4, 0.495) + 16
    assert volume(over + "wire w: along bow, flat 1 x 1 mm") == pytest.approx(length, rel=2e-3)


@pytest.mark.parametrize(("degrees", "seen"), [(24.0, []), (16.0, ["path-meets-itself"])])
def test_a_crossing_is_clean_from_20_degrees(degrees: float, seen: list[str]) -> None:
    rise = 8 * math.tan(math.radians(degrees / 2))
    text = (
        f"path s: through (-8, {-rise:.4f}) to (8, {rise:.4f}) over ({8 + rise:.4f}, 0) to (8, {-rise:.4f}) "
        f"to (-8, {rise:.4f} mm)\nwire w: along s, round 0.8 mm"
    )
    assert codes(made(text)) == seen


def test_a_stroke_may_cross_itself() -> None:
    """Cut flat into a bar: the wire's volume is missing from it."""
    text = "bar b: size 16 x 12 x 2 mm\npath lifted: beside bow, rise 2 mm\n"
    engraved = volume(BOW + text + "engrave e: stroke 1 mm, along lifted, cut flat, deep 0.4 mm, in b")
    cross = 1.0 / math.sin(2 * math.atan2(4, 6))
    assert 16 * 12 * 2 - engraved == pytest.approx(0.4 * (2 * math.hypot(12, 8) + 16 - cross), rel=1e-4)


def test_strip_bent_by_its_runs() -> None:
    """Pappus: the section carried along the middle of the strip; the jaws stand as far apart as the mandrel."""
    text = CLIP + "wire clip: along side, flat 20 x 1.2 mm"
    assert volume(text) == pytest.approx(20 * 1.2 * (95 + math.pi * 2.1), rel=5e-5)
    assert np.ptp(points(text), axis=0) == pytest.approx((50 + 2.1 + 0.6, 20, 3 + 2 * 1.2), abs=5e-3)


def test_the_runs_of_a_strip_are_found_on_its_face() -> None:
    """Two legs, the first in front: the middle of 50 mm, half its thickness out, looking to the onlooker."""
    text = CLIP + "wire clip: along side, flat 20 x 1.2 mm\nspots legs: at runs of clip"
    front, back = laid(text, "legs").frames
    assert front[:, 3] == pytest.approx((25, 0, 0.6), abs=5e-3) and front[:, 2] == pytest.approx((0, 0, 1), abs=8e-3)
    assert back[:, 3] == pytest.approx((27.5, 0, -4.8), abs=5e-3) and back[:, 2] == pytest.approx((0, 0, -1), abs=8e-3)


@pytest.mark.parametrize(("path", "count"), [
    ("rectangle 20 x 12 mm, corner 2 mm", 4), ("polygon 5, across 12 mm", 5), ("round 12 mm", 0),
    ("through (0, 0) to (9, 0) over (12, 3) to (9, 6) to (0, 6 mm)", 2),
])  # fmt: skip
def test_straight_runs_are_counted(path: str, count: int) -> None:
    line = laid(f"path p: {path}", "p")
    assert len(line.offers["runs"]().frames) == count


def test_bends_either_way_round_mandrels_of_their_own() -> None:
    line = laid("path s: runs 10 mm to 5 mm to 7 mm, bends 90 deg to -90 deg, mandrel 4 mm to 2 mm, thick 1 mm", "s")
    path = line.offers["path"]().lines[0]
    assert path.length() == pytest.approx(22 + math.pi / 2 * (2.5 + 1.5), abs=2e-3)
    assert path.points[-1] == pytest.approx((10 + 2.5 + 1.5 + 7, 2.5 + 5 + 1.5, 0), abs=1e-9)


@pytest.mark.parametrize("slip", ["bends 90 deg to 90 deg", "bends 3 mm", "bends 90 deg, mandrel 2 mm to 3 mm"])
def test_bends_that_do_not_fit_their_runs_are_told(slip: str) -> None:
    (code,) = codes(made(f"path s: runs 9 mm to 5 mm, {slip}\nwire w: along s, round 1 mm"))
    assert code in ("size-members", "wrong-kind")


def test_a_triangle_of_wire_is_as_large_as_it_is_said() -> None:
    """18 mm round its points, half of the wire moved in: mitred, so its middle line's length counts."""
    text = "path tri: polygon 3, across 18 mm, inset 0.9 mm\nwire w: along tri, square 1.8 mm"
    side = math.sqrt(3) * 9 - 2 * math.sqrt(3) * 0.9
    assert volume(text) == pytest.approx(3 * side * 1.8**2, rel=1e-5)
    assert points(text)[:, :2].max(axis=0) == pytest.approx((math.sqrt(3) * 4.5, 9), abs=1e-5)


def test_a_cross_is_its_two_bars() -> None:
    text = "plate body: cross 15 x 25 mm, arms 3 mm, thick 1.6 mm"
    assert volume(text) == pytest.approx(1.6 * (15 * 3 + 25 * 3 - 9), rel=1e-9)
    low, high = points(text).min(axis=0), points(text).max(axis=0)
    assert (*low, *high) == pytest.approx((-7.5, -17.5, 0, 7.5, 7.5, 1.6))


def test_a_smooth_line_leaves_as_it_is_told() -> None:
    """Straight up and on to the right it is half a circle, as near as one cubic comes (2 % of its radius); between
    ends alike it is an S."""
    text = "path s: smooth, through (0, 0) to (10 mm, 0), leaves 90 deg"
    path = laid(text, "s").offers["path"]().lines[0]
    assert path.length() == pytest.approx(5 * math.pi, rel=0.012)
    assert path.points[:, 1].max() == pytest.approx(5, rel=1e-6)
    swung = laid(text + ", arrives 90 deg", "s").offers["path"]().lines[0]
    assert swung.ways()[[0, -1]] == pytest.approx(np.array([[0, 1, 0]] * 2), abs=0.04)
    assert swung.points[:, 1].sum() == pytest.approx(0, abs=1e-6)


def test_a_path_in_waves_is_a_sine() -> None:
    """Its length by the integral of sqrt(1 + y'^2), Simpson's rule; on a band it closes, and stays on the face."""
    flat = laid("path way: through (0, 0) to (24 mm, 0), waves 3, sway 1.5 mm", "way").offers["path"]().lines[0]
    x = np.linspace(0, 24, 4001)
    slope = np.sqrt(1 + (1.5 * 2 * np.pi * 3 / 24 * np.cos(2 * np.pi * 3 * x / 24)) ** 2)
    wanted = (slope[0] + slope[-1] + 4 * slope[1:-1:2].sum() + 2 * slope[2:-1:2].sum()) * (x[1] - x[0]) / 3
    assert flat.length() == pytest.approx(wanted, rel=1e-3)
    band = 'band shank: finger "us 8", wide 7 mm, thick 2 mm\n'
    told = laid(band + "path way: beside around of shank, waves 8, sway 1.2 mm", "way").offers["path"]().lines[0]
    assert told.closed and np.abs(told.points[:, 1]).max() == pytest.approx(1.2, rel=1e-4)
    radius = np.hypot(told.points[:, 0], told.points[:, 2])
    assert float(np.ptp(radius)) < 1e-6
    too_far = made(band + "path way: beside around of shank, waves 8, sway 3.6 mm")
    assert codes(too_far) == ["off-the-face"]


def test_a_path_laid_whole_round_a_band_closes() -> None:
    """Its ends lie one on the other: pi times the outside of the band apart, laid flat."""
    told = laid(
        'band shank: finger "us 8", wide 7 mm, thick 2 mm\nmeasure half = 3.14159265 * outside of shank / 2\n'
        "path way: on shank, through (0 - half, 0) to (0, 1 mm) to (half, 0)", "way",
    ).offers["path"]().lines[0]
    assert told.closed and told.length() > math.pi * 22


def test_tube_bent_round_is_its_ring_carried_along() -> None:
    text = "path way: round 20 mm\npath open: beside way, stretch 0 % to 80 %\n"
    tube = volume(text + "wire a: along open, round 2.5 mm, wall 0.4 mm")
    assert tube == pytest.approx(math.pi * (1.25**2 - 0.85**2) * 0.8 * math.pi * 20, rel=2e-4)


def test_the_wall_of_tapering_tube_stays() -> None:
    """The ring's area is linear in its radius, so its mean along a straight cone is that of the mean radius."""
    text = "path way: through (0, 0) to (12 mm, 0)\nwire a: along way, round 3 mm, taper 2 mm, wall 0.5 mm"
    assert volume(text) == pytest.approx(12 * math.pi * 0.5 * (2 * 1.25 - 0.5), rel=2e-4)


@pytest.mark.parametrize(("wall", "seen"), [(1.0, []), (1.2, ["no-wall"])])
def test_a_tube_has_a_hollow(wall: float, seen: list[str]) -> None:
    text = f"path way: through (0, 0) to (12 mm, 0)\nwire a: along way, flat 4 x 2.4 mm, wall {wall} mm"
    assert codes(made(text)) == seen


def test_a_hoop_of_tube_is_lighter_by_its_hollow() -> None:
    """Pappus: the hollow between its plugs of 4.2 mm, and the two vents through the wall."""
    hoop = "hoop a: outside 24 mm, round 4 mm"
    solid, light = (max(built(text).parts, key=lambda part: part.volume) for text in (hoop, f"{hoop}, wall 0.8 mm"))
    open_way = 20 * (math.pi - math.asin(0.6 * 16 / 20))
    hollow = math.pi * 1.2**2 * (open_way - 2 * 4.2) + 2 * math.pi * 0.5**2 * 0.8
    assert solid.volume - light.volume == pytest.approx(hollow, rel=0.01)
    assert np.ptp(np.array(light.points)[:, 0]) == pytest.approx(24, abs=0.01)


@pytest.mark.parametrize("name", ["Lili", "Jörg", "Zoë", "Ångström", "jij"])
def test_letters_joined_are_one_piece(name: str) -> None:
    """Counted on the mesh: dots and accents stand on their letters, whose feet stand on the bar."""
    text = f'plate n: letters "{name}", tall 8 mm, style block, joined 1 mm, underline 1.6 mm, thick 1.2 mm'
    (part,) = built(text).parts
    assert trimesh.Trimesh(np.array(part.points), part.triangles).body_count == 1
    assert "loose-piece" in codes(made(text.replace(" joined 1 mm,", "")))


def test_a_stay_is_as_wide_as_it_says_and_stands_upright() -> None:
    """The block i is a stem 1.29 mm and a dot 1.63 mm wide: between them is nothing but the stay."""
    text = 'plate n: letters "i", tall 8 mm, style block, joined 0.9 mm, thick 1 mm'
    mesh = trimesh.Trimesh(points(text), built(text).parts[0].triangles)
    flat = mesh.section(plane_origin=(0, 0, 0.5), plane_normal=(0, 0, 1)).vertices[:, :2]
    stem = flat[flat[:, 1] < 0]
    assert np.ptp(stem[:, 0]) > 0.9
    waist = mesh.section(plane_origin=(0, _gap(text), 0), plane_normal=(0, 1, 0)).vertices
    assert np.ptp(waist[:, 0]) == pytest.approx(0.9, abs=1e-3)


@pytest.mark.parametrize("more", ["style block, spacing -0.6 mm", "spacing -0.4 mm", "style italic"])
def test_letters_are_joined_level_and_between_their_feet_and_heads(more: str) -> None:
    """Cut half way through a gap the bar is as high as it says; no bar goes under the feet or over the heads of
    the bare letters."""
    text = f'plate n: letters "Amelia", tall 8 mm, {more}, joined 1 mm, thick 1.3 mm'
    bare = np.array(made(text.replace("joined 1 mm, ", "")).parts[0].points)[:, 1]
    joined = points(text)[:, 1]
    assert (joined.min(), joined.max()) == pytest.approx((bare.min(), bare.max()), abs=1e-6)
    wide = text.replace("Amelia", "HH").replace(more, "style block, spacing 1 mm")
    mesh = trimesh.Trimesh(points(wide), built(wide).parts[0].triangles)
    bar = mesh.section(plane_origin=(0, 0, 0), plane_normal=(1, 0, 0)).vertices
    assert (bar[:, 1].min(), np.ptp(bar[:, 1])) == pytest.approx((-4, 1), abs=1e-3)


def _gap(text: str) -> float:
    """Half way between the stem and the dot of the letter as the font draws it."""
    bare = np.array(made(text.replace(" joined 0.9 mm,", "")).parts[0].points)[:, 1]
    rows = np.sort(np.unique(bare.round(6)))
    k = int(np.argmax(np.diff(rows[rows > 0])))
    return float(rows[rows > 0][k : k + 2].mean())


ROW = "stone gems: round 3 mm to 5 mm, gem diamond, row 3, gap 0.25 mm, turn -90 deg\n"


@pytest.mark.parametrize(("text", "count"), [
    ("stone gem: round 5 mm, gem diamond\nbasket head: for gem", 1),
    (ROW + "basket head: for gems, shared", 1),  # one head on rails that run along the row
    (ROW.replace(", turn -90 deg", "") + "basket head: for gems", 3),  # a head to each stone
])  # fmt: skip
def test_an_eye_at_the_top_of_a_head_stands_on_its_metal(text: str, count: int) -> None:
    """Its place lies on the mesh, not in the air between its rails."""
    places = laid(f"{text}\nspots eye: at top of head", "eye").frames
    (part,) = made(text).parts
    facets = np.array(part.points)[part.triangles]
    assert len(places) == count
    for spot in places[:, :, 3]:
        near = trimesh.triangles.closest_point(facets, np.tile(spot, (len(facets), 1)))
        assert np.linalg.norm(near - spot, axis=1).min() < 0.03
    assert places[:, 1, 0] == pytest.approx(1)  # x points away, upward


@pytest.mark.parametrize(("shape", "tip"), [("heart 12 x 13 mm", "low"), ("trillion 9 x 9 mm", "high"),
                                            ("pear 14 x 9 mm", "high"), ("pear 9 x 14 mm", "high")])  # fmt: skip
def test_upright_sets_a_point_above_and_a_heart_on_it(shape: str, tip: str) -> None:
    spots = points(f"plate a: {shape}, upright, thick 1 mm")
    end = spots[:, 1].max() if tip == "high" else spots[:, 1].min()
    assert np.ptp(spots[np.abs(spots[:, 1] - end) < 1e-3][:, 0]) < 0.05  # one spot, no flat
    assert abs(spots[np.argmax(spots[:, 1] == end), 0]) < 1e-6
    frame = laid(f"stone a: {shape}, upright, gem garnet\nspots t: at top of cup\n".replace(
        "spots", "bezel cup: for a\nspots"), "t").frames[0]
    assert frame[:, 0] == pytest.approx((0, 1, 0), abs=1e-9)


def test_the_places_of_runs_lie_along_them_beside_a_bend_too() -> None:
    """Half way along each leg of a clip, x along the leg: straight, though a bend begins at one end of it."""
    for frame in laid(f"{CLIP}spots mid: at runs of side", "mid").frames:
        assert np.abs(frame[:, 0]).max() == pytest.approx(1.0, abs=1e-12)
        assert np.abs(frame[:, 2]).max() == pytest.approx(1.0, abs=1e-12)
