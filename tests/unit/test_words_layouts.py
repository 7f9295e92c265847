"""Rows by the gap, graded sizes, lines made from lines, fields upon faces: figures reckoned by hand."""

from __future__ import annotations

import math
from functools import partial

import numpy as np
import pytest
import texts
from texts import built, laid

from posy.compiler.bench.feature import Feature
from posy.compiler.bench.nooks import nooks
from posy.compiler.bench.stone_kind import StoneKind
from posy.compiler.geometry.surfaces import Flat, Surface, ball_face, cap
from posy.compiler.shapes.sections import Profile
from posy.compiler.shapes.shank import Shank
from posy.compiler.shapes.shank_face import Round

made = partial(built, check_metal=False)


def codes(text: str) -> list[str]:
    return texts.codes(texts.made(text, check_metal=False))


BAR = "bar frame: size 60 x 60 x 2 mm, down 90 mm\n"


def stones(text: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Middles (n, 3), outs (n, 3) and widths (n,) of the stones of a text."""
    all_stones = made(BAR + text).stones
    frames = np.array([s.frame for s in all_stones])
    widths = np.array([s.size[1] if len(s.size) > 1 else s.size[0] for s in all_stones])
    return frames[:, :, 3], frames[:, :, 2], widths


def gaps_of(middles: np.ndarray, widths: np.ndarray, closed: bool = False) -> np.ndarray:
    apart = np.linalg.norm(np.roll(middles, -1, axis=0) - middles, axis=1)
    free = apart - (widths + np.roll(widths, -1)) / 2
    return free if closed else free[:-1]


def test_graded_row_leaves_the_same_gap_between_unlike_stones() -> None:
    middles, _, widths = stones("stone row: round 2 mm to 3 mm to 2 mm, gem garnet, row 5, gap 0.25 mm")
    assert widths == pytest.approx([2.0, 2.5, 3.0, 2.5, 2.0])
    assert gaps_of(middles, widths) == pytest.approx(0.25)
    assert middles[2] == pytest.approx([0, 0, 0])


def test_graded_one_way() -> None:
    middles, _, widths = stones("stone row: oval 4 x 2 mm to 6 x 4 mm, gem garnet, row 3, gap 0.2 mm")
    assert widths == pytest.approx([2.0, 3.0, 4.0])
    assert np.diff(middles[:, 0]) == pytest.approx([4.7, 5.7])


def test_circle_by_gap_finds_its_radius() -> None:
    """A regular polygon of chord 2.2 mm: radius 1.1 / sin(pi / 12)."""
    middles, _, widths = stones("stone ring: round 2 mm, gem garnet, circle 12, gap 0.2 mm")
    assert np.linalg.norm(middles, axis=1) == pytest.approx(1.1 / math.sin(math.pi / 12), rel=1e-9)
    assert gaps_of(middles, widths, True) == pytest.approx(0.2)


def test_graded_circle_closes() -> None:
    middles, _, widths = stones("stone ring: round 3 mm to 2 mm to 3 mm, gem garnet, circle 10, gap 0.2 mm")
    assert gaps_of(middles, widths, True) == pytest.approx(0.2, abs=1e-6)


@pytest.mark.parametrize("cut", ["round 6 mm", "oval 8 x 6 mm", "pear 9 x 6 mm",
                                 "marquise 10 x 5 mm", "princess 5 mm", "heart 7 x 7 mm",
                                 "trillion 6 x 6 mm",
                                 "cushion 7 x 6 mm", "emerald 8 x 6 mm"])  # fmt: skip
def test_halo_stones_stand_evenly_round_any_girdle(cut: str) -> None:
    middles, _, widths = stones(
        f"stone centre: {cut}, gem garnet\n"
        "path way: beside girdle of centre, outset 1.2 mm\n"
        "stone halo: round 1.4 mm, gem diamond, along way, gap 0.15 mm"
    )
    free = gaps_of(middles[1:], widths[1:], True)
    assert np.ptp(free) < 1e-5
    assert 0.15 - 1e-6 <= free[0] < 0.15 + 4 * 1.7 / len(free)
    apart = np.linalg.norm(middles[1:, None] - middles[None, 1:], axis=2)
    np.fill_diagonal(apart, 9)
    assert apart.min() > 1.4, "halo stones touch"


def test_half_eternity_is_centred_on_the_head() -> None:
    middles, outs, widths = stones(
        'band shank: finger "us 7", wide 3 mm, thick 2 mm\n'
        "path top: beside around of shank, stretch -25 % to 25 %\n"
        "stone row: round 2 mm, gem diamond, along top, gap 0.2 mm, inward 0.1 mm"
    )
    assert gaps_of(middles, widths) == pytest.approx(0.2, abs=2e-3)
    assert middles[:, 0].mean() == pytest.approx(0, abs=2e-3)
    assert (middles[:, 2] > -0.01).all()
    radius = 17.3232 / 2 + 2 - 0.1
    assert np.linalg.norm(middles, axis=1) == pytest.approx(radius, abs=2e-3)
    assert (outs * middles).sum(axis=1) == pytest.approx(np.linalg.norm(middles, axis=1), abs=1e-3)


def test_row_too_long_says_so() -> None:
    assert codes(
        BAR + "path way: through (0, 0) to (9, 0 mm)\n"
        "stone row: round 2.5 mm, gem garnet, along way, number 4, gap 0.2 mm"
    ) == ["row-too-long"]


def test_gap_and_pitch_disagree() -> None:
    assert codes(
        BAR + "stone row: round 2 mm, gem garnet, row 4, gap 0.2 mm, every 2.4 mm"
    ) == ["clauses-disagree"]


def test_staggered_grid() -> None:
    middles, _, _ = stones("stone field: round 1 mm, gem garnet, grid 4 x 3, every 1.2 mm, staggered")
    assert len(middles) == 4 + 3 + 4
    apart = np.linalg.norm(middles[:, None] - middles[None], axis=2)
    np.fill_diagonal(apart, 9)
    assert apart.min(axis=1) == pytest.approx(1.2)


def test_field_upon_a_dome_faces_as_the_dome_does() -> None:
    """The cap of a ball: radius (a2 + h2) / 2h; every axis points from the ball's middle."""
    middles, outs, _ = stones(
        "dome shell: across 14 mm, height 4 mm\n"
        "stone field: round 1.4 mm, gem ruby, upon shell, every 1.7 mm, inset 1 mm"
    )
    radius = (49 + 16) / 8
    away = middles - (0, 0, 4 - radius)
    assert np.linalg.norm(away, axis=1) == pytest.approx(radius)
    assert outs == pytest.approx(away / radius, abs=1e-8)
    apart = np.linalg.norm(middles[:, None] - middles[None], axis=2)
    np.fill_diagonal(apart, 99)
    assert len(middles) > 30 and apart.min() > 1.7 - 1e-6


def test_field_upon_a_flat_face_keeps_off_its_edge() -> None:
    middles, outs, _ = stones(
        "disc medal: across 12 mm, thick 2 mm\n"
        "stone field: round 1 mm, gem ruby, upon medal, every 1.2 mm, inset 0.9 mm"
    )
    assert (np.linalg.norm(middles[:, :2], axis=1) <= 6 - 0.9 + 1e-6).all()
    assert middles[:, 2] == pytest.approx(2.0) and outs[:, 2] == pytest.approx(1.0)
    assert len(middles) > 50


def test_field_round_a_band() -> None:
    middles, _outs, _ = stones(
        "band shank: inside 17 mm, wide 6 mm, thick 2 mm\n"
        "stone field: round 1.3 mm, gem ruby, upon shank, every 1.5 mm, inset 1 mm"
    )
    assert np.hypot(middles[:, 0], middles[:, 2]) == pytest.approx(10.5)
    assert np.abs(middles[:, 1]).max() <= 2 + 1e-9
    apart = np.linalg.norm(middles[:, None] - middles[None], axis=2)
    np.fill_diagonal(apart, 99)
    assert apart.min() > 1.45


def test_a_field_asked_too_fine_is_a_fault_and_cheap() -> None:
    assert codes(BAR + "spots field: upon frame, every 0.01 mm") == ["too-many-copies"]
    assert codes("rod stem: wire 2 mm, long 8 mm\nspots field: upon stem, every 1 mm") == ["no-surface"]


def test_part_of_a_line_has_its_share_of_the_length() -> None:
    text = (
        "disc medal: across 20 mm, thick 2 mm\n"
        "path arc: beside rim of medal, stretch -12.5 % to 12.5 %\n"
        "path inner: beside rim of medal, inset 2 mm\n"
        'expect abs(length of arc - 5 * 3.14159265 * 1 mm) < 0.01 mm, else "arc"\n'
        'expect abs(length of inner - 16 * 3.14159265 * 1 mm) < 0.01 mm, else "inner"\n'
    )
    made(text)


def test_edgewise_line_looks_outward_and_counts_work() -> None:
    built = made(
        "disc medal: across 20 mm, thick 2 mm\nspots dots: grid 3 x 2, every 2 mm\n"
        "path way: beside rim of medal, inset 1 mm, edgewise\n"
        "ball grain: along way, number 8, across 1 mm, inward 0.5 mm\n"
        'expect count of dots is 6, else "dots"\n'
    )
    assert built.parts[0].points[:, 2].max() == pytest.approx(2.5, abs=1e-3)


@pytest.mark.parametrize("part", ["75 % to 25 %", "20 %", "0 % to 300 %", "1 mm to 2 mm"])
def test_odd_parts_are_faults(part: str) -> None:
    text = f"disc medal: across 20 mm, thick 2 mm\npath arc: beside rim of medal, part {part}\n"
    assert len(codes(text)) == 1


def test_each_stone_of_a_row_answers_for_itself() -> None:
    made(
        BAR + "stone row: round 2 mm to 4 mm, gem garnet, row 3, gap 0.3 mm\n"
        "measure middle = pick(row, 2)\n"
        'expect abs(across of pick(row, 2) - 3 mm) < 0.0001 mm, else "middle"\n'
        'expect least of row is 2 mm and across of row is 4 mm, else "ends"\n'
        "each one in row\n"
        "  ball grain: at corners of one, across across of one / 5\n"
    )


def test_stones_of_a_mirrored_group_get_their_seats_where_they_are() -> None:
    """Seats for a mirrored row cut as much as seats for the row itself."""
    group = (
        "workpiece half: right 6 mm\n"
        "  stone row: pear 4 x 3 mm, gem garnet, out 2 mm, lean 20 deg\n"
    )
    plate = "bar frame: size 30 x 8 x 2 mm\n"
    one = made(plate + group + "seat: for half, in frame")
    both = made(plate + group + "mirror far: of half\nseat: for half, in frame\nseat: for far, in frame")
    whole = made(plate).parts[0].volume
    assert whole - both.parts[0].volume == pytest.approx(2 * (whole - one.parts[0].volume), rel=1e-6)


@pytest.mark.parametrize(
    "face",
    [
        cap(14.0, 4.0),
        ball_face(11.0),
        Flat(("circle", 12.0), 1.0),
        Round(Shank(17.0, 5.0, 1.5, 5.0, 1.5, Profile())),
        Round(Shank(17.0, 6.0, 2.4, 4.0, 1.8, Profile("court"))),
    ],
)
def test_nooks_hold_every_stone_of_a_field(face: Surface) -> None:
    """Beads just large enough to lap their nearest girdle leave no 180 degrees of any stone
    free, and none stands inside a stone."""
    frames = face.spread((1.66,), 1.0)
    field = Feature("field", "stone", 0, frames, stones=(StoneKind("round", (1.4,), "ruby"),))
    found = nooks(field)
    assert not isinstance(found, str)
    spots, room = found.frames[:, :, 3], found.figures["room"]
    for frame in frames:
        local = (spots - frame[:, 3]) @ frame[:, :3]
        away = np.linalg.norm(spots - frame[:, 3], axis=1) - 0.7
        assert away.min() > -0.02
        holding = away < room + 0.11
        turns = np.sort(np.degrees(np.arctan2(local[holding, 1], local[holding, 0])))
        assert len(turns) >= 3
        assert np.diff(np.append(turns, turns[0] + 360)).max() < 180


@pytest.mark.parametrize("layout", ["circle 3, radius 1.12 mm", "grid 2 x 2, every 1.65 mm", "grid 2 x 2, every 1.8 mm"])
def test_in_a_wide_nook_each_stone_has_a_bead_of_its_own(layout: str) -> None:
    """One bead there would be a bulb of 0.9 mm and more (common practice, no source: split above 0.7 mm)."""
    field = laid(f"stone field: round 1.6 mm, gem ruby, {layout}", "field")
    found = nooks(field)
    assert not isinstance(found, str)
    assert found.figures["room"].max() < 0.1
    spots, centres = found.frames[:, :, 3], field.frames[:, :, 3]
    inner = spots[np.linalg.norm(spots, axis=1) < np.linalg.norm(centres[0]) - 0.8]
    own = np.linalg.norm(inner[:, None] - centres, axis=2).argmin(axis=1)
    assert sorted(own) == list(range(len(centres)))


def test_a_word_asks_what_its_part_offers() -> None:
    """A ring has a finger hole, a disc has none, and one that was not said offers nothing."""
    word = (
        "word dot\n  takes on: part\n  when given(inside of on)\n    ball yes: across 1 mm\n"
        "  otherwise\n    ball no: across 2 mm\n"
        "band shank: inside 17 mm, wide 3 mm, thick 2 mm\ndisc d: across 9 mm, thick 2 mm\n"
    )
    for said, across in (("dot a: on shank", 1), ("dot a: on d", 2), ("dot a", 2)):
        name = "a.yes" if across == 1 else "a.no"
        assert laid(word + said, name).look("across").value == pytest.approx(across)


@pytest.mark.parametrize("line", [
    "bead-line edge: along rim of face, out 0.1 mm", "rope-edge edge: along rim of face, up 0.1 mm",
])  # fmt: skip
def test_what_runs_along_a_path_of_its_own_is_moved_as_a_whole(line):
    """Its `along` is its word's own: it asks for no spacing."""
    assert not codes(f"plate face: rectangle 16 x 13 mm, thick 2.8 mm\n{line}")


@pytest.mark.parametrize("rows", [1, 2])
@pytest.mark.parametrize("cut", ["cushion 7 x 7", "oval 8 x 6", "round 6.5"])
def test_the_beads_of_a_halo_are_their_own_mirror_image_and_hold_each_stone(cut: str, rows: int) -> None:
    text = f"stone c: {cut} mm, gem ruby\nbasket b: for c\nhalo h: for c, gem diamond, across 1.3 mm, rows {rows}"
    piece = built(text, check_metal=False).piece
    spots = np.array([grain.spot[:2] for grain in piece.grains])
    for flip in ((-1, 1), (1, -1)):
        off = np.linalg.norm(spots[:, None] - (spots * flip)[None], axis=2)
        assert off.min(axis=1).max() < 0.02
    held = np.bincount([grain.stone for grain in piece.grains if grain.bite > 0])
    assert held[1:].min() >= 3


def test_the_beads_of_a_row_and_of_its_mirror_image_are_alike() -> None:
    row = "stone m: round 1.6 mm to 1.2 mm, gem ruby, along around of b, number 5, gap 0.18 mm"
    text = f"band b: finger us 6 1/2, wide 2.6 mm, thick 1.9 mm\n{row}, stretch 15 % to 27 %, both-sides\n"
    text += "bead-set grains: for m, in b"
    spots = np.array([grain.spot for grain in built(text, check_metal=False).piece.grains])
    off = np.linalg.norm(spots[:, None] - (spots * (-1, 1, 1))[None], axis=2)
    assert off.min(axis=1).max() < 0.02


@pytest.mark.parametrize("across", [1.2, 1.3, 1.5])
@pytest.mark.parametrize(
    "cut", ["round 6.5 mm", "oval 8 x 6 mm", "cushion 5 mm", "cushion 8 x 6 mm", "pear 9 x 6 mm", "emerald 8 x 6 mm",
            "princess 5.5 mm", "marquise 10 x 5 mm", "heart 7 mm", "trillion 6 mm"],
)  # fmt: skip
def test_no_place_of_a_halo_is_bare(cut: str, across: float) -> None:
    """From stone to stone never two fifths farther past a claw than elsewhere (common practice, no source)."""
    text = f"stone c: {cut}, gem ruby\nbasket b: for c\nhalo h: for c, gem diamond, across {across} mm"
    middles, _, _ = stones(text)
    pitch = np.linalg.norm(np.roll(middles[1:], -1, axis=0) - middles[1:], axis=1)
    assert pitch.max() < 1.4 * pitch.min()


@pytest.mark.parametrize("number", [2, 3, 4, 5])
def test_few_stones_with_a_gap_stand_about_the_head(number: int) -> None:
    middles, _, widths = stones(
        'band b: finger "us 7", wide 2.4 mm, thick 1.8 mm\n'
        f"stone row: round 2.5 mm, gem garnet, along around of b, number {number}, gap 1.35 mm"
    )
    assert gaps_of(middles, widths) == pytest.approx(1.35, abs=1e-6)
    assert middles[:, 2].min() > 0 and middles[:, 0].mean() == pytest.approx(0, abs=1e-6)
