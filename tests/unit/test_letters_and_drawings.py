"""Letters and drawings: files that are broken or elsewhere, and the way letters read."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from test_shapes_words import STRIP, fault_codes, with_files
from texts import built, checked, made, volume

from posy.compiler.geometry import frames as fr
from posy.compiler.words import stays, text_run
from posy.compiler.words.letter_gaps import _nearest, _spots, bridged, spaced
from posy.compiler.words.letters import set_text

SQUARE = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 4 4"><path d="M0 0H4V4H0Z"/></svg>'


def test_drawing_scales_to_its_width_and_is_upright() -> None:
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 10">'
        '<polygon points="0,10 20,10 10,0"/></svg>'
    )
    text = 'plate p: drawing "a.svg", across 8 mm, thick 1 mm'
    (part,) = with_files(text, a_svg=svg).parts
    assert np.ptp(part.points[:, 0]) == pytest.approx(8)
    assert part.volume == pytest.approx(8 * 4 / 2, rel=1e-6)
    wide = part.points[np.abs(part.points[:, 0]) > 3.9]
    assert (wide[:, 1] < 0).all()  # the broad side down, as drawn


def test_drawn_holes_stay_open_and_separate_islands_are_kept() -> None:
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 30 10">'
        '<path d="M0 0H10V10H0Z M2 2V8H8V2Z"/><rect x="20" width="10" height="10"/></svg>'
    )
    (part,) = with_files('plate p: drawing "a.svg", across 30 mm, thick 1 mm', a_svg=svg).parts
    assert part.volume == pytest.approx(100 - 36 + 100, rel=1e-6)


@pytest.mark.parametrize(
    "svg",
    [
        "",
        "not a drawing",
        "<svg",
        "<svg xmlns='http://www.w3.org/2000/svg'><path d='M0 0L1'/></svg>",
        "<svg xmlns='http://www.w3.org/2000/svg'><path d='M0 0 L 5 5 L 3 1'/></svg>",
        "<svg xmlns='http://www.w3.org/2000/svg'><path d='M0 0 H nan V 4 H 0 Z'/></svg>",
        "<svg xmlns='http://www.w3.org/2000/svg'><path d='M0 0 H 1e400 V 4 H 0 Z'/></svg>",
        "<svg xmlns='http://www.w3.org/2000/svg'><path d='M0 0H4H0Z'/></svg>",
        "<!DOCTYPE svg [<!ENTITY a 'aaaa'>]><svg xmlns='http://www.w3.org/2000/svg'>&a;</svg>",
        "<svg xmlns='http://www.w3.org/2000/svg'><g id='a'><use href='#a'/></g></svg>",
        "<svg xmlns='http://www.w3.org/2000/svg'>" + "<g>" * 900 + "</g>" * 900 + "</svg>",
        "<svg xmlns='http://www.w3.org/2000/svg'><path d='M0 0"
        + "c1 2 3 4 5 6" * 9000
        + "Z'/></svg>",
        "<svg xmlns='http://www.w3.org/2000/svg'>" + "<path d='M0 0H4V4Z'/>" * 2500 + "</svg>",
        "<svg xmlns='http://www.w3.org/2000/svg'>" + " " * 400_000 + "</svg>",
        "\x00\x01\x02",
    ],
    ids=range(15),
)
def test_a_broken_drawing_is_one_clear_fault(svg: str) -> None:
    assert fault_codes('plate p: drawing "a.svg", thick 1 mm', a_svg=svg) == ["drawing-not-read"]


@pytest.mark.parametrize(
    "named",
    ["/etc/passwd.svg", "../a.svg", "~/a.svg", "C:\\\\a.svg", "a.png", "http://x/a.svg", ""],
)
def test_drawings_come_from_the_piece_s_folder_only(named: str) -> None:
    assert fault_codes(f'plate p: drawing "{named}", thick 1 mm', a_svg=SQUARE) == ["file-outside"]


def test_letters_are_a_plate_or_sawn_out_of_one() -> None:
    """What is sawn out is what stands as a plate of the same letters, and what engraving them as deep as
    the metal takes away; its capitals are as tall as told."""
    said = 'letters "KAN", tall 9 mm, style block, spacing 1 mm'
    whole = volume("disc d: across 60 mm, thick 1 mm")
    solid = volume(f"plate k: {said}, thick 1 mm", check_metal=False)
    sawn = volume(f"disc d: across 60 mm, thick 1 mm\npierce k: {said}, bridge 0 mm, at face of d, in d", check_metal=False)
    cut = volume(f"disc d: across 60 mm, thick 1 mm\nengrave k: {said}, deep 1 mm, at face of d, in d", check_metal=False)
    assert whole - sawn == pytest.approx(solid, rel=1e-8)
    assert whole - cut == pytest.approx(solid, rel=1e-6)
    (part,) = built('plate k: letters "H", tall 9 mm, thick 1 mm').parts
    assert np.ptp(part.points[:, 1]) == pytest.approx(9, abs=1e-6)


def test_letters_set_closer_join() -> None:
    text = 'plate k: letters "nn", tall 8 mm, thick 1.6 mm'
    told = [{one.code for one in made(said).faults} for said in (text, text + ", spacing -0.7 mm")]
    assert ["loose-piece" in one for one in told] == [True, False]


def test_letters_on_a_domed_face_lie_in_its_bend() -> None:
    text = """workpiece front
  plate face: oval 16 x 12 mm, thick 1.6 mm
  engrave monogram: letters "JB", tall {tall} mm, deep 0.4 mm, at face of face, in face
dap dish: of front, ball 40 mm
"""
    told = [{one.code for one in made(text.format(tall=tall)).faults} for tall in (5, 9)]
    assert ["letters-off-face" in one for one in told] == [False, True]


def test_letters_count_as_copies() -> None:
    text = (
        STRIP
        + "spots many: grid 100 x 100, every 0.5 mm\n"
        + 'engrave e: letters "ABCDEFGH", tall 1 mm, at many, in strip'
    )
    assert fault_codes(text) == ["too-many-copies"]


def test_a_drawing_that_is_not_there() -> None:
    assert fault_codes('plate p: drawing "b.svg", thick 1 mm') == ["file-not-read"]


def test_a_font_of_the_project_serves() -> None:
    from posy.compiler.words.letters import standard_font

    text = STRIP + 'engrave e: letters "AB", font "own.otf", at face of strip, in strip'
    made = with_files(text, own_otf=standard_font())
    assert made.parts[0].volume < 50 * 4 * 1.4
    assert "own.otf" in made.files_read


@pytest.mark.parametrize("font", [b"", b"OTTO", b"\x00\x01\x00\x00" * 40, b"no font at all" * 10])
def test_a_broken_font_is_one_clear_fault(font: bytes) -> None:
    text = STRIP + 'engrave e: letters "AB", font "own.otf", at face of strip, in strip'
    assert fault_codes(text, own_otf=font) == ["letters-not-set"]


def test_a_cut_font_never_ends_in_a_traceback() -> None:
    from posy.compiler.words.letters import standard_font

    whole = standard_font()
    text = STRIP + 'engrave e: letters "AB", font "own.otf", at face of strip, in strip'
    for share in (0.02, 0.3, 0.6, 0.9, 0.99):
        cut = whole[: int(len(whole) * share)]
        assert fault_codes(text, own_otf=cut) in ([], ["letters-not-set"])


def test_letters_without_the_extra_say_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    import sys

    from posy.compiler.words import letters

    letters.set_text.cache_clear()
    monkeypatch.setitem(sys.modules, "font_source_serif_pro", None)
    made = checked(STRIP + 'engrave e: letters "A", at face of strip, in strip',
    )
    (fault,) = [f for f in made.faults if f.level.value == "fault"]
    assert fault.code == "extra-missing" and "pip install fonttools" in (fault.remedy or "")


def test_letters_stand_the_way_they_read() -> None:
    """L has its foot at the lower right of its stem, cut into a face or raised from it."""
    text = (
        'bar b: size 10 x 10 x 2 mm\nengrave e: letters "L", tall 6 mm, raised, at face of '
        "b, in b"
    )
    (part,) = built(text, check_metal=False).parts
    top = part.points[part.points[:, 2] > 2.1]
    low, high = top[top[:, 1] < -1.5], top[top[:, 1] > 1.5]
    assert low[:, 0].max() > high[:, 0].max() + 0.5
    assert top[:, 1].max() == pytest.approx(3, abs=0.05)


def test_letters_along_the_outside_run_to_the_right_seen_from_the_head() -> None:
    text = (
        "band b: inside 18 mm, wide 8 mm, thick 2 mm\n"
        'engrave e: letters "L", tall 5 mm, raised, along around of b, in b'
    )
    (part,) = built(text, check_metal=False).parts
    top = part.points[(np.hypot(part.points[:, 0], part.points[:, 2]) > 11.2)]
    low, high = top[top[:, 1] < -1.5], top[top[:, 1] > 1.5]
    assert low[:, 0].max() > high[:, 0].max() + 0.5


def test_letters_inside_a_ring_are_cut_from_the_finger_outward() -> None:
    plain = "band b: inside 18 mm, wide 5 mm, thick 2 mm\n"
    cut = plain + 'engrave e: letters "L", tall 3 mm, deep 0.5 mm, along inside-around of b, in b'
    (part,) = built(cut, check_metal=False).parts
    radius = np.hypot(part.points[:, 0], part.points[:, 2])
    floor = part.points[(radius > 9.3) & (radius < 10.5)]
    assert len(floor) and (floor[:, 2] < 0).all()  # at the palm
    assert volume(cut, check_metal=False) < volume(plain, check_metal=False)


@pytest.mark.parametrize("laid", ["along around of ring", "along inside-around of ring, centred bottom of ring"])
def test_a_text_sawn_along_a_path_is_set_once(laid: str) -> None:
    """Pierced along a path a text takes away what it does engraved deeper than the wall: once, not in a row."""
    band = 'band ring: finger "uk P", wide 6 mm, thick 1.6 mm\n'
    text = f'letters "XII", tall 3 mm, style block, spacing 0.5 mm, {laid}, in ring'
    sawn, cut = (volume(band + f"{word} one: {text}{deep}") for word, deep in (("pierce", ""), ("engrave", ", deep 2.5 mm")))
    assert volume(band) - sawn == pytest.approx(volume(band) - cut, rel=1e-3)


def test_a_text_too_long_for_its_path_is_told_the_height_that_fits() -> None:
    text = 'band ring: finger "uk P", wide 6 mm, thick 1.6 mm\npierce one: letters "MMMMMMMMMMMMMMMMM", {}along around of ring, in ring'
    (fault,) = made(text.format("tall 6 mm, "), check_metal=False).faults
    assert fault.code == "text-too-long"
    height = fault.remedy.split("'")[1]
    assert made(text.format(f"{height}, "), check_metal=False).parts


def test_bars_hold_the_inside_of_letters() -> None:
    """With bars left, what is within an O, a D, an A or an 8 is one with the rest: one body."""
    text = 'plate tag: rectangle 24 x 8 mm, thick 1 mm\npierce one: letters "DOA8", tall 4 mm, spacing 1 mm, at face of tag, in tag'
    loose = {fault.code for fault in made(text + ", bridge 0 mm").faults}
    held = {fault.code for fault in made(text).faults}
    assert "loose-piece" in loose and "loose-piece" not in held


def test_sawn_letters_leave_walls_between_them_and_whole_stems() -> None:
    """Between two letters stand 0.82 mm or more; a bar beside a stem leaves its side straight from foot to head."""
    setting = spaced(set_text("PORTAL", 8.0, 0.0, "roman"))
    edges = [np.array([(x + one.middle, y) for loop in one.loops for x, y in loop]) for one in setting.letters]
    for one, other in pairwise(edges):
        assert np.linalg.norm(one[:, None] - other[None], axis=2).min() > 0.81
    for sign in "PRBDbp":
        (letter,) = set_text(sign, 8.0, 0.0, "block").letters
        stems = [np.ptp(np.array(loop)[:, 1]) for loop in bridged(letter.loops, 0.8) if np.ptp(np.array(loop)[:, 0]) < 2.2]
        assert max(stems) > 7.9


def test_letters_on_a_bend_keep_their_room() -> None:
    """Heads inward on a small disc, where a text set as on a straight line would run together."""
    text = 'disc d: across 12 mm, thick 1.4 mm\nengrave t: letters "WAVY", tall 2 mm, {}along rim of d, inset 2 mm, in d'
    eased, set_straight = (made(text.format(said), check_metal=False) for said in ("", "spacing 0 mm, "))
    floor = [one.parts[0].points[np.abs(one.parts[0].points[:, 2] - 0.9) < 1e-6] for one in (eased, set_straight)]
    reach = [np.ptp(np.unwrap(np.sort(np.arctan2(one[:, 1], one[:, 0])))) for one in floor]
    assert reach[0] > 1.05 * reach[1]


@pytest.mark.parametrize(
    "tall, keep", [(1.9, 0.06), (2.1, 0.025)], ids=["as much as they need", "as much as there is room for"]
)
def test_letters_on_an_oval_are_moved_apart(monkeypatch: pytest.MonkeyPatch, tall: float, keep: float) -> None:
    """Moved once they come to stand in other bends: set so, two of these are 0.01 mm apart."""
    stood = []
    along = text_run._along

    def watched(*said):
        setting, frames = along(*said)
        edges = (
            fr.apply(frame, np.insert(_spots(letter.loops), 2, 0.0, axis=1))
            for letter, frame in zip(setting.letters, frames, strict=True) if letter.loops
        )
        stood.extend(pairwise(edges))
        return setting, frames

    monkeypatch.setattr(text_run, "_along", watched)
    made(
        f"""plate m: oval 22 x 16 mm, thick 2 mm
engrave t: letters "MAVVA WAWAM TAVMW", tall {tall} mm, style heavy, along rim of m, inset 3.2 mm, in m
""", check_metal=False,
    )  # fmt: skip
    assert min(_nearest(*pair) for pair in stood) > keep


@pytest.mark.parametrize("where", ["on d, in d", "at face of d, in d"])
def test_a_monogram_fills_its_face_and_a_name_does_not(where: str) -> None:
    disc = "disc d: across 12 mm, thick 1.4 mm\n"
    away = {}
    for sign in ("AB", "ANNA"):
        (part,) = made(f'{disc}engrave t: letters "{sign}", deep 0.3 mm, {where}', check_metal=False).parts
        floor = part.points[np.abs(part.points[:, 2] - 1.1) < 1e-6]
        away[sign] = np.hypot(floor[:, 0], floor[:, 1]).max(), np.ptp(floor[:, 1])
    assert away["AB"][0] == pytest.approx(6 - 0.18 * 12, abs=0.05)
    assert away["ANNA"][1] == pytest.approx(3, abs=0.2)


def test_marks_on_a_face_go_along_it() -> None:
    """A rectangle laid on a cylinder of radius R, d deep, takes A d (1 - d / 2R) away, and raised adds
    A d (1 + d / 2R): elementary geometry. Standing at one place it is a straight prism, and takes less."""
    band = "band ring: inside 20 mm, wide 10 mm, thick 2 mm\n"
    mark = "engrave one: rectangle 8 x 4 mm, deep 0.5 mm, {}in ring"
    whole = volume(band)
    cut, stood = (whole - volume(band + mark.format(f"{where}, ")) for where in ("on ring", "at top of ring"))
    assert cut == pytest.approx(8 * 4 * 0.5 * (1 - 0.5 / 24), rel=2e-3)
    raised = volume(band + mark.format("on ring, raised, "), check_metal=False) - whole
    assert raised == pytest.approx(8 * 4 * 0.5 * (1 + 0.5 / 24), rel=2e-3)
    assert stood < 0.6 * cut


def test_stays_look_at_few_pairs_of_letters(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each letter is looked at beside its neighbours, not beside all of a long text; the stays are as short."""
    looked = []
    level = stays._level
    monkeypatch.setattr(stays, "_level", lambda *given: looked.append(1) or level(*given))
    text = 'plate k: letters "{}", tall 8 mm, joined 1 mm, thick 1.2 mm'
    assert made(text.format("Elisabeth Charlotte Victoria")).parts
    assert len(looked) < 3 * 28


@pytest.mark.parametrize("heads, up", [("", -1), ("heads-out, ", 1)])
def test_a_legend_on_a_rim_stands_over_its_top_or_bottom(heads: str, up: int) -> None:
    """A coin's legend reads upright: heads outward over the top, inward along the bottom (common practice, no
    source)."""
    text = f'disc d: across 20 mm, thick 1.6 mm\nengrave t: letters "HOH", {heads}along rim of d, inset 2.5 mm, in d'
    (part,) = made(text, check_metal=False).parts
    floor = part.points[(part.points[:, 2] > 0.1) & (part.points[:, 2] < 1.59)]
    assert abs(floor[:, 0].min() + floor[:, 0].max()) < 0.02
    assert (up * floor[:, 1]).min() > 0


def test_raised_letters_do_not_run_into_a_border_cut_round_the_coin() -> None:
    text = 'disc d: across 20 mm, thick 2.6 mm\nengrave edge: stroke 0.3 mm, along waist of d, border rope, wide 1.4 mm\n'
    text += 'engrave t: letters "HOH", tall 3 mm, style heavy, heads-out, along rim of d, inset 3 mm, raised'
    assert "letters-off-face" not in [fault.code for fault in made(text).faults]


@pytest.mark.parametrize("letters", ["R M", "M"])
def test_letters_round_the_inside_of_a_signet_are_cut_there(letters: str) -> None:
    text = "signet ring: finger us 11, rectangle 13 x 11 mm, height 3.4 mm, wide 6.5 mm, thick 2.1 mm\n"
    line = f'engrave w: letters "{letters}", tall 2 mm, style block, deep 0.3 mm, along inside-around of ring'
    plain, cut, within = (built(text + more).parts[0].volume for more in ("", line, line + ", in ring"))
    assert within == pytest.approx(cut, abs=1e-3) and cut < plain - 0.1


def test_raised_letters_along_a_path_on_the_ground_stand_on_the_face() -> None:
    """As cut ones do: their tops lie as far over the face as they are raised (1.8 + 0.35 mm)."""
    text = "plate medal: oval 18 x 24 mm, thick 1.8 mm\npath way: oval 13.2 x 19.2 mm\n"
    text += 'engrave words: letters "STELLA", tall 2.2 mm, deep 0.35 mm, along way, heads-out, raised, in medal\n'
    tops = [part.points[:, 2].max() for part in built(text).parts]
    assert max(tops) == pytest.approx(2.15, abs=0.01)


@pytest.mark.parametrize("text", ["AII", "IIA"])
def test_a_thin_wall_names_the_letter_with_the_hair_stroke(text: str) -> None:
    """Of roman capitals an A has a hair stroke, an I none but its serifs: as any type specimen shows."""
    line = f'plate name: letters "{text}", tall 7 mm, style heavy, underline 2 mm, thick 1.5 mm'
    (thin,) = (one for one in made(line).faults if one.code == "thin-wall")
    assert thin.seen.endswith("in the A")
