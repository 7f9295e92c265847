"""What the page is made of: what it is sent, how figures are written into a text, its one document."""

import re
from pathlib import Path

import numpy as np
from page_bench import ROW, unpacked

from posy.compiler.bench.stone_solid import placed_mesh
from posy.compiler.command import main
from posy.compiler.making.pipeline import build
from posy.compiler.making.weights import weigh
from posy.compiler.measures.triangles import volume
from posy.compiler.page import document
from posy.compiler.page.document import SCRIPTS, alone, script
from posy.compiler.page.faces import folded
from posy.compiler.page.gems import stone_arrays
from posy.compiler.page.packet import packed
from posy.compiler.page.sent import sent_page
from posy.compiler.page.viewer import Viewer
from posy.compiler.page.writing import text_mark, with_figures, write_figures
from posy.stdlib.gem_light import GEM_LIGHT
from posy.stdlib.gems import GEMS


def _built(tmp_path, text=ROW):
    path = tmp_path / "row.posy"
    path.write_text(text, encoding="utf-8")
    return build(str(path), tolerance=0.02, check_metal=False)


def test_a_packet_gives_back_what_was_packed():
    arrays = {
        "a": np.arange(5, dtype=np.float32), "b": np.arange(7, dtype=np.int16), "c": np.arange(3, dtype=np.uint32),
    }  # fmt: skip
    told, found = unpacked(packed({"title": "Ärmel", "n": 3}, arrays))
    assert told == {"title": "Ärmel", "n": 3}
    assert all((found[name] == values).all() for name, values in arrays.items())


def test_normals_fold_and_unfold_to_a_tenth_of_a_degree():
    rng = np.random.default_rng(3)
    normals = rng.normal(size=(2000, 3))
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    e = folded(normals) / 32767.0
    n = np.column_stack([e, 1 - np.abs(e).sum(axis=1)])  # as the shader unfolds them
    under = n[:, 2] < 0
    n[under, :2] = (1 - np.abs(n[under, 1::-1])) * np.where(n[under, :2] < 0, -1, 1)
    n /= np.linalg.norm(n, axis=1, keepdims=True)
    assert np.degrees(np.arccos(np.clip((n * normals).sum(axis=1), -1, 1))).max() < 0.1


def test_the_metal_comes_whole_and_every_line_has_its_run(tmp_path):
    built = _built(tmp_path)
    told, arrays = unpacked(Viewer().packet(built))
    points, corners = arrays["points"].reshape(-1, 3), arrays["corners"].reshape(-1, 3)
    part = built.parts[0]
    assert len(corners) == len(part.triangles)
    a, b, c = (points[corners[:, k]].astype(float) for k in range(3))
    volume = np.einsum("ij,ij->", a, np.cross(b, c)) / 6
    assert abs(volume - part.mesh_volume) < 1e-3
    assert sum(count for *_, count in told["runs"]) == len(corners)
    names = {told["features"][feature][0] for _, feature, _, _ in told["runs"]}
    assert {"frame", "loops.left.ring"} & names
    lines = {name: line for name, _, line in told["features"]}
    assert ROW.splitlines()[lines["frame"] - 1].startswith("bar frame")


def test_corner_normals_stand_off_their_faces_no_more_than_a_curve_turns(tmp_path):
    built = _built(tmp_path)
    _, arrays = unpacked(Viewer().packet(built))
    points, corners = arrays["points"].reshape(-1, 3).astype(float), arrays["corners"].reshape(-1, 3)
    e = arrays["normals"].reshape(-1, 2)[corners] / 32767.0
    n = np.concatenate([e, 1 - np.abs(e).sum(axis=-1, keepdims=True)], axis=-1)
    n = np.where(n[..., 2:] < 0, np.concatenate([(1 - np.abs(n[..., 1::-1])) * np.where(n[..., :2] < 0, -1, 1), n[..., 2:]], axis=-1), n)
    n /= np.linalg.norm(n, axis=-1, keepdims=True)
    spots = points[corners]
    out = np.cross(spots[:, 1] - spots[:, 0], spots[:, 2] - spots[:, 0])
    area = np.linalg.norm(out, axis=1)
    out /= np.maximum(area[:, None], 1e-12)
    cosine = np.einsum("ijk,ik->ij", n, out).min(axis=1)
    assert (area[cosine < 0.6].sum() / area.sum()) < 0.002


def test_the_planes_of_a_stone_hold_all_its_corners(tmp_path):
    built = _built(tmp_path)
    told, arrays = stone_arrays(built.stones)
    kind, planes = told["kinds"][0], arrays["planes"].reshape(-1, 4).astype(float)
    corners = arrays["gem-points"].reshape(-1, 3).astype(float)
    assert sorted(set(arrays["facets"].reshape(-1).tolist())) == list(range(len(corners)))
    heights = corners @ planes[:, :3].T - planes[:, 3]
    assert heights.max() < 1e-4
    assert (np.abs(heights).min(axis=0) < 1e-4).all(), "each plane is a facet"
    assert len(kind["stones"]) == 3
    assert 57 <= len(planes) <= 80


def test_a_mirrored_stone_is_drawn_outside_out(tmp_path):
    """A browser leaves out the faces that look away, by their winding where the stone stands."""
    sheet = "plate sheet: oval 20 x 12 mm, thick 2 mm\n"
    row = "stone drop: pear 3 x 2 mm, gem ruby, at face of sheet, right 6 mm, turn 20 deg, both-sides\n"
    built = _built(tmp_path, sheet + row)
    told, arrays = stone_arrays(built.stones)
    frames = arrays["frames"].reshape(-1, 3, 4).astype(float)
    assert (np.linalg.det(frames[:, :, :3]) > 0.9).all()
    corners, planes = arrays["gem-points"].astype(float), arrays["planes"].astype(float)
    assert [len(kind["stones"]) for kind in told["kinds"]] == [1, 1]
    for kind, frame in zip(told["kinds"], frames, strict=True):
        (start, count), (first, bounds) = kind["facets"], kind["planes"]
        facets = arrays["facets"].reshape(-1, 3)[start : start + count]
        spots, mine = corners[np.unique(facets)], planes[first : first + bounds]
        assert volume(corners, facets) > 0
        assert (spots @ mine[:, :3].T - mine[:, 3]).max() < 1e-4
        stone = next(one for one in built.stones if one.number == kind["stones"][0]["number"])
        there, _ = placed_mesh(stone.shape, stone.frame)
        placed = spots @ frame[:, :3].T + frame[:, 3]
        assert np.abs(placed[:, None] - there[None]).max(axis=2).min(axis=1).max() < 1e-5


def test_every_stone_of_the_table_is_known_to_take_light():
    assert set(GEM_LIGHT) == set(GEMS)
    # Diamond disperses 0.044 between the B and G lines [from memory: every gemmological table].
    assert GEM_LIGHT["diamond"].dispersion == 0.044
    assert GEM_LIGHT["turquoise"].body == "opaque"


def test_measures_stand_where_they_are_measured(tmp_path):
    told, _ = unpacked(Viewer().packet(_built(tmp_path)))
    figures = {one["name"]: one for one in told["figures"]}
    across = figures["across"]
    assert (across["value"], across["least"], across["most"], across["own"]) == (2.5, 2.0, 3.5, True)
    stretch = across["stretches"][0]
    assert abs(np.subtract(stretch["to"], stretch["from"]) @ (1, 0, 0)) == 2.5
    assert not figures["pitch"]["own"], "it is reckoned from across"
    stretch = figures["pitch"]["stretches"][0]
    assert np.linalg.norm(np.subtract(stretch["to"], stretch["from"])) == np.float64(2.8)


def test_a_written_figure_keeps_comments_layout_and_line_ends(tmp_path):
    path = tmp_path / "row.posy"
    text = ("\ufeff" + ROW).replace("\n", "\r\n")
    path.write_bytes(text.encode("utf-8"))
    assert write_figures(str(path), text_mark(text), {"across": "2.8 mm"}) == []
    assert path.read_bytes().decode("utf-8") == text.replace("across = 2.5 mm", "across = 2.8 mm")


def test_a_figure_keeps_its_unit():
    text = 'measure wide = 1.2 cm, from 8 mm to 20 mm\nmeasure said = "A ""B"""\n'
    new, faults = with_figures(text, "x.posy", {"wide": "12.5 mm", "said": '"C ""D"""'})
    assert not faults
    assert new == 'measure wide = 1.25 cm, from 8 mm to 20 mm\nmeasure said = "C ""D"""\n'


def test_nothing_is_written_over_a_newer_text(tmp_path):
    path = tmp_path / "row.posy"
    path.write_text(ROW + "# newer\n", encoding="utf-8")
    (fault,) = write_figures(str(path), text_mark(ROW), {"across": "2.8 mm"})
    assert fault.code == "text-changed"
    assert path.read_text(encoding="utf-8") == ROW + "# newer\n"


def test_a_reckoned_measure_is_not_written(tmp_path):
    path = tmp_path / "row.posy"
    path.write_text(ROW, encoding="utf-8")
    (fault,) = write_figures(str(path), text_mark(ROW), {"pitch": "3 mm"})
    assert fault.code == "figure-not-written"
    assert path.read_text(encoding="utf-8") == ROW


def test_the_scripts_are_one_script_and_name_each_thing_once():
    whole = script()
    assert not re.search(r"^(import|export)\b", whole, re.MULTILINE)
    names = re.findall(r"^(?:const|let|class|function|async function) (\w+)", whole, re.MULTILINE)
    assert len(names) == len(set(names)), sorted({one for one in names if names.count(one) > 1})
    folder = Path(document.__file__).parent / "web"
    assert {path.stem for path in folder.glob("*.js")} == set(SCRIPTS)
    for name in SCRIPTS:  # what a script takes is there to be taken
        text = (folder / f"{name}.js").read_text("utf-8")
        for taken, other in re.findall(r'^import \{ ([^}]*) \} from "\./(\w+)\.js";', text, re.MULTILINE):
            given = re.findall(r"^export (?:const|class|function|async function) (\w+)", (folder / f"{other}.js").read_text("utf-8"), re.MULTILINE)
            assert {one.strip() for one in taken.split(",")} <= set(given), (name, other)


def test_the_page_for_a_customer_needs_nothing_and_tells_nothing_of_the_text(tmp_path):
    (tmp_path / "bench.toml").write_text('name = "Bench at the quay"\n', encoding="utf-8")
    built = _built(tmp_path)
    weights, _ = weigh(built)
    page = sent_page(built, weights).decode("utf-8")
    assert not re.search(r'(?:src|href)="(?!data:)|url\(|@import|https?://(?!www\.w3\.org/2000/svg)', page)
    assert "Bench at the quay" in page
    assert "Quay row" in page
    assert "measure across" not in page and "claws" not in page and str(tmp_path) not in page
    assert "default-src 'none'" in page


def test_what_is_told_cannot_end_the_script_it_stands_in():
    page = alone("</title><script>x", b"", '{"title": "</script><b>"}').decode("utf-8")
    assert "</script><b>" not in page
    assert "<title></title>" not in page


def test_without_a_browser_stills_are_refused_in_a_line(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("POSY_BROWSER", "no-such-browser")
    (tmp_path / "row.posy").write_text(ROW, encoding="utf-8")
    assert main(["show", "row.posy", "--stills", "corner"]) == 2
    said = capsys.readouterr().err
    assert said.startswith("posy: --stills needs Chromium or Chrome") and said.count("\n") == 1
    assert not (tmp_path / "out").exists()
