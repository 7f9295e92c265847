"""Drawings of shapes whose lines are known: which edges show, how round, how large.

Outside references: a box seen from a corner shows 9 of its 12 edges and hides 3 (ISO 128-3,
views without hidden lines; from memory); a sphere and a disc seen along their axes are circles
(Euclid); widths of lines from the series of ISO 128-2 (from memory)."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from posy.compiler.drawing.fit import Fit, fitted
from posy.compiler.drawing.outline import edges_of
from posy.compiler.drawing.picture import MARGIN, Picture, picture
from posy.compiler.drawing.scene import Body, Scene, scene_of
from posy.compiler.drawing.svg import path_data
from posy.compiler.drawing.views import VIEWS
from posy.compiler.drawing.visible import EDGE, FACETS, OUTLINE
from posy.compiler.making.pipeline import build
from posy.lang.loader import Texts

PIXEL = 0.02  # mm
BAR = "bar frame: size 12 x 5 x 2 mm\n"
DISC = "disc medal: across 10 mm, thick 1.2 mm\n"
ROW = """stone row: round 2.5 mm, gem garnet, row 3, every 2.8 mm
bar frame: size 10 x 4.4 x 2.2 mm, corner 0.5 mm, under row
seat: for row, in frame
prong claws: for row, shared, wire 0.8 mm
"""


def scene(text: str) -> Scene:
    built = build("scene.posy", files=Texts({"scene.posy": text}), check_metal=False)
    found = scene_of(built)
    assert found is not None, built.faults
    return found


def look(text: str, view: str, pixel: float = PIXEL) -> Picture:
    made = scene(text)
    return picture(made, edges_of(made), VIEWS[view], pixel)


def spots(shot: Picture, kind: int | None = None) -> np.ndarray:
    """The ends of all strokes, in mm, x right and y up from the middle of the picture."""
    found = [
        end
        for ink in shot.inks
        if kind is None or ink.kind == kind
        for run in ink.runs
        for end in (run.start, *(stroke.end for stroke in run.strokes))
    ]
    flat = (np.array(found) - MARGIN) * shot.pixel
    middle = np.array([shot.box.wide, shot.box.tall]) / 2
    return (flat - middle) * (1, -1)


def straight(shot: Picture) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Straight strokes as pairs of ends, pixels."""
    found = []
    for ink in shot.inks:
        for run in ink.runs:
            here = run.start
            for stroke in run.strokes:
                if not stroke.radius:
                    found.append((here, stroke.end))
                here = stroke.end
    return found


# -- a box ------------------------------------------------------------------------------------


def box_edges(view: str, shown: set[str]) -> list[tuple[np.ndarray, np.ndarray]]:
    """The edges of BAR between its named corners, projected by hand, in pixels."""
    axes = VIEWS[view].axes()
    corners = np.array([(x, y, z) for x in (-6, 6) for y in (-2.5, 2.5) for z in (0, 2)]) @ axes.T
    low, high = corners[:, 0].min(), corners[:, 1].max()
    flat = np.column_stack([corners[:, 0] - low, high - corners[:, 1]]) / PIXEL + MARGIN
    pairs = [(a, b) for a in range(8) for b in range(a) if bin(a ^ b).count("1") == 1]
    nearest = int(corners[:, 2].argmax())
    hidden = 7 - nearest  # the corner opposite the nearest: its three edges are not seen
    kept = {"seen": lambda a, b: hidden not in (a, b), "hidden": lambda a, b: hidden in (a, b)}
    return [(flat[a], flat[b]) for a, b in pairs for which in shown if kept[which](a, b)]


def covered(strokes: list, edge: tuple[np.ndarray, np.ndarray]) -> float:
    """How much of ``edge`` is drawn, as a share: its points that lie on a stroke along it."""
    a, b = edge
    way = (b - a) / np.linalg.norm(b - a)
    hits = []
    for t in np.linspace(0.02, 0.98, 49):
        spot = a + (b - a) * t
        hits.append(any(_on(spot, way, *stroke) for stroke in strokes))
    return sum(hits) / len(hits)


def _on(spot: np.ndarray, way: np.ndarray, start: tuple, end: tuple) -> bool:
    u = np.array(end) - start
    length = float(np.hypot(*u))
    if length < 1 or abs(float(u @ way)) / length < 0.999:
        return False
    rest = spot - start
    along = float(rest @ u) / length
    off = abs(rest[0] * u[1] - rest[1] * u[0]) / length
    return -1 <= along <= length + 1 and off < 1.0


@pytest.mark.parametrize("view", ["corner", "back-corner"])
def test_a_bar_from_a_corner_shows_nine_edges_and_hides_three(view: str) -> None:
    strokes = straight(look(BAR, view))
    seen, hidden = box_edges(view, {"seen"}), box_edges(view, {"hidden"})
    assert (len(seen), len(hidden)) == (9, 3)
    assert [covered(strokes, edge) for edge in seen] == pytest.approx([1.0] * 9, abs=0.05)
    assert max(covered(strokes, edge) for edge in hidden) < 0.05


def test_the_nine_edges_are_six_of_outline_and_three_within() -> None:
    shot = look(BAR, "corner")
    length = dict.fromkeys((OUTLINE, EDGE, FACETS), 0.0)
    for ink in shot.inks:
        length[ink.kind] += sum(run.length() for run in ink.runs) * shot.pixel
    axes = VIEWS["corner"].axes()
    three = sum(size * math.hypot(*axes[:2, axis]) for axis, size in enumerate((12.0, 5.0, 2.0)))
    assert length[OUTLINE] == pytest.approx(2 * three, rel=0.01)  # a hexagon
    assert length[EDGE] == pytest.approx(three, rel=0.01)  # a star of three
    assert length[FACETS] == 0.0


@pytest.mark.parametrize(("view", "wide", "tall"), [("face", 12, 5), ("side", 12, 2), ("end", 5, 2)])
def test_a_bar_seen_straight_on_is_a_rectangle(view: str, wide: float, tall: float) -> None:
    shot = look(BAR, view)
    assert (shot.box.wide, shot.box.tall) == (pytest.approx(wide), pytest.approx(tall))
    total = sum(run.length() for ink in shot.inks for run in ink.runs) * shot.pixel
    assert total == pytest.approx(2 * (wide + tall), rel=0.01)  # each side once


def test_what_stands_behind_is_hidden() -> None:
    behind = "ball far: across 3 mm, inward 4 mm\n"
    alone, together = look(BAR, "face"), look(BAR + behind, "face")
    assert [ink.runs for ink in alone.inks] == [ink.runs for ink in together.inks]


def test_what_stands_in_front_hides() -> None:
    shot = look(BAR + "ball near: across 3 mm, out 3 mm\n", "face")
    ring = [r for r in np.hypot(*spots(shot).T) if r < 2.4]
    assert ring and ring == pytest.approx([1.5] * len(ring), abs=0.03)


# -- round things -----------------------------------------------------------------------------


def test_a_disc_from_the_face_is_a_circle() -> None:
    shot = look(DISC, "face")
    radii = np.hypot(*spots(shot).T)
    assert radii == pytest.approx([5.0] * len(radii), abs=2 * PIXEL)
    assert not straight(shot), "arcs, not chords"
    arcs = [s.radius * PIXEL for ink in shot.inks for run in ink.runs for s in run.strokes]
    assert arcs == pytest.approx([5.0] * len(arcs), rel=0.02)


def test_a_ball_is_a_circle_from_anywhere() -> None:
    for view in VIEWS:
        radii = np.hypot(*spots(look("ball drop: across 6 mm\n", view)).T)
        assert radii == pytest.approx([3.0] * len(radii), abs=3 * PIXEL), view


def test_facets_of_a_curve_are_not_edges() -> None:
    """A round rod from the side: two straight sides, two ends, nothing between."""
    shot = look("rod post: wire 3 mm, long 10 mm\n", "side")
    total = sum(run.length() for ink in shot.inks for run in ink.runs) * shot.pixel
    assert total == pytest.approx(2 * (3 + 10), rel=0.01)


def test_beads_keep_round_where_the_tolerance_leaves_few_facets() -> None:
    text = "disc medal: across 6 mm, thick 1 mm\nball grain: out 1 mm, across 0.5 mm\n"
    shot = look(text, "face", 0.01)
    inner = [r for r in np.hypot(*spots(shot).T) if r < 2]
    assert inner == pytest.approx([0.25] * len(inner), abs=0.015)


def test_a_small_circle_is_round_in_whole_figures_wherever_it_lies() -> None:
    """Its arcs as SVG draws them (W3C, SVG 2, 8.3.8) enclose its area, to a rounded figure."""
    angles = np.linspace(0.0, 2 * math.pi, 25)
    for at, across in ((at, across) for at in np.linspace(0.0, 1.0, 23) for across in (13.7, 20.0, 41.3)):
        ring = np.column_stack([np.cos(angles + at), np.sin(angles + at)]) * across / 2 + at
        ring[-1] = ring[0]
        data = path_data([fitted(ring, Fit(0.1, chord=1.0))], 0.0, 0.0, 1.0)
        steps = np.array(re.findall(r"-?\d+", data.split("a", 1)[1]), float).reshape(-1, 7)
        ends = np.cumsum(steps[:, 5:], axis=0)
        half = np.arcsin(np.hypot(*steps[:, 5:].T) / 2 / steps[:, 0])
        area = (steps[:, 0] ** 2 * (half - np.sin(half) * np.cos(half))).sum()
        area += abs((ends[:-1, 0] * ends[1:, 1] - ends[1:, 0] * ends[:-1, 1]).sum()) / 2
        assert math.sqrt(area / math.pi) == pytest.approx(across / 2, abs=0.8)


def test_a_sliver_along_an_arc_is_no_circle() -> None:
    way = np.linspace(0.0, 0.4, 12)
    out = np.column_stack([np.cos(way), np.sin(way)]) * 50.0
    run = fitted(np.concatenate([out, out[::-1] * 1.001]).round(3)[[*range(24), 0]], Fit(0.1, chord=1.0))
    assert np.ptp([stroke.end for stroke in run.strokes], axis=0).max() < 25.0


# -- stones, tints, figures -------------------------------------------------------------------


def test_a_brilliant_shows_its_crown() -> None:
    """Outside reference: Euler on the 33 facets of a brilliant's crown, a table of 8 sides, 8
    stars of 3, 8 bezels of 4, 16 halves of 3, less their 16 sides at the girdle: 48 edges."""
    assert (8 + 8 * 3 + 8 * 4 + 16 * 3 - 16) / 2 == 48
    made = scene("stone one: round 6 mm, gem ruby\nball far: across 1 mm, inward 9 mm\n")
    edges = edges_of(made)
    ends = made.points[edges.ends]
    girdle = (np.hypot(ends[:, :, 0], ends[:, :, 1]) > 2.95).all(axis=1)
    crown = edges.sharp & edges.stone & (ends[:, :, 2].min(axis=1) > 0) & ~girdle
    assert int(crown.sum()) == 48
    shot = picture(made, edges, VIEWS["face"], PIXEL)
    facets = [ink for ink in shot.inks if ink.kind == FACETS]
    assert facets and all(ink.stone for ink in facets)


def test_numbers_stand_on_their_stones() -> None:
    shot = look(ROW, "face")
    placed = {tag.number: (tag.x - MARGIN) * PIXEL + shot.box.left for tag in shot.tags}
    assert placed == {1: pytest.approx(-2.8), 2: pytest.approx(0.0), 3: pytest.approx(2.8)}
    assert not look(ROW, "back").tags, "no number on a stone seen through its light hole"


def test_colours_are_those_of_the_tables() -> None:
    from posy.compiler.drawing.tints import deep, pale
    from posy.stdlib.gems import GEMS

    shot = look(ROW, "face")
    colours = {area.colour for area in shot.areas}
    assert pale(GEMS["garnet"].colour, 0.82) in colours
    assert {ink.colour for ink in shot.inks if ink.stone} == {GEMS["garnet"].colour}
    seen = {gem: _lightest(gem) for gem in ("opal", "pearl", "onyx", "turquoise")}
    assert seen["opal"] > 0.92 and seen["pearl"] > 0.92, "white stones are white"
    assert seen["onyx"] < 0.55 < seen["turquoise"] < 0.75, "and black ones dark"
    assert pale("#000000", 1.0) == "#ffffff" and deep("#808080", 0.5) == "#404040"


def _lightest(gem: str) -> float:
    """The brightness of the lightest tone of a ball of that stone, seen from the front."""
    shot = look(f"bar: size 2 x 2 x 1 mm, inward 6 mm\nstone s: pearl 6 mm, gem {gem}\n", "face")
    colours = (area.colour for area in shot.areas[1:])  # the first is the metal's, under all
    return max(sum(int(one[k : k + 2], 16) * share for k, share in ((1, 0.299), (3, 0.587), (5, 0.114))) for one in colours) / 255


def test_a_stone_in_a_mirror_is_not_inside_out() -> None:
    made = scene(
        "workpiece half\n  bar ground: size 4 x 4 x 2 mm, right 4 mm\n"
        "  stone one: heart 3 x 3 mm, gem ruby, right 4 mm, out 3 mm\nmirror other: of half\n"
    )
    for index, body in enumerate(made.bodies):
        a, b, c = (made.points[made.triangles[made.body == index][:, k]] for k in range(3))
        assert np.einsum("ij,ij->i", a, np.cross(b, c)).sum() > 0, (index, body)


# -- sheets -----------------------------------------------------------------------------------


# -- odd scenes -------------------------------------------------------------------------------


def flat_scene(points: list, triangles: list) -> Scene:
    count = len(triangles)
    return Scene(
        np.array(points, float), np.array(triangles), np.zeros(count, np.int32),
        np.zeros(count, np.int32), (Body("#d9d7d0"),), 0.005,
    )  # fmt: skip


def test_slivers_and_points_do_no_harm() -> None:
    made = flat_scene(
        [(0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1), (0.5, 1e-9, 0)],
        [(0, 2, 4), (4, 2, 1), (0, 4, 3), (4, 1, 3), (1, 2, 3), (2, 0, 3), (0, 4, 4)],
    )
    for view in VIEWS.values():
        shot = picture(made, edges_of(made), view, 0.01)
        assert all(math.isfinite(v) for ink in shot.inks for run in ink.runs for v in run.start)


@pytest.mark.parametrize("shape", ["marquise 24 x 12 mm", "rectangle 20 x 6 mm, corner 1 mm"])
def test_a_flat_face_is_shaded_flat_up_to_its_rounded_edge(shape: str) -> None:
    """Shade goes by the normals at corners: on the flat face each is that of the face."""
    made = scene(f"plate leaf: {shape}, thick 1.6 mm, soften 0.5 mm\n")
    edges = edges_of(made)
    flat = edges.normals[:, 2] > 0.999999
    lean = np.degrees(np.arccos(np.clip(edges.bends[flat][:, :, 2], -1, 1)))
    assert flat.sum() > 10
    assert lean.max() < 3


SPLIT = "split-shank shank: finger us 6, wide 3.2 mm, thick 1.8 mm, gap 2.75 mm, from 80 deg"


def sharp_round_there() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Of a split shank's sharp edges from where its strands part to half way to the back, on its right: their
    ends (e, 2) as points, and of each middle how far from the finger's and along it."""
    drawn = scene(SPLIT)
    edges = edges_of(drawn)
    ends = edges.ends[edges.sharp]
    middle = drawn.points[ends].mean(axis=1)
    angle = np.degrees(np.arctan2(middle[:, 0], middle[:, 2]))
    there = (angle > 81) & (angle < 130)
    return ends[there], np.hypot(middle[there, 0], middle[there, 2]), middle[there, 1]


def test_strands_leave_no_ledge_on_the_finger_where_they_run_out() -> None:
    _, far, along = sharp_round_there()
    assert (np.abs(along[far < far.min() + 0.1]) > 1.55).all()  # the rims of the shank alone


def test_a_crease_that_runs_out_is_a_line_and_no_dashes() -> None:
    """Where the strands lie lowest it fades once."""
    ends, far, along = sharp_round_there()
    crease = ends[(far > 9.5) & (along > 0.01) & (along < 1.2)]
    groups = {int(point): {int(point)} for point in np.unique(crease)}
    for a, b in crease.tolist():
        joined = groups[a] | groups[b]
        groups |= dict.fromkeys(joined, joined)
    assert len(crease) > 20
    assert len({id(group) for group in groups.values()}) <= 2
