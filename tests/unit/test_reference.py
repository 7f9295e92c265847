"""The reference: every word has a page with a drawing, and the committed pages are fresh."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from drawings import alike

from posy.compiler.pages import reference
from posy.compiler.pages.reference import REFRESH, Pages, pages
from posy.compiler.pages.scenes import Scene, read_scenes, scenes
from posy.compiler.words.standard import all_words

FOLDER = Path(__file__).parents[2] / "stdlib" / "reference"
STALE = f"stale: run {REFRESH}"


@pytest.fixture(scope="module")
def made() -> Pages:
    return pages()


def test_every_word_is_drawn(made: Pages) -> None:
    assert not made.troubles, (
        "give these a scene in stdlib/reference/scenes.txt, or an example that builds alone: "
        + "; ".join(made.troubles)
    )


def test_every_word_and_block_has_a_page(made: Pages) -> None:
    blocks = {"piece", "measure", "workpiece", "each", "when", "word", "from", "expect", "waive",
              "series", "placing"}  # fmt: skip
    for name in blocks | set(all_words()):
        assert f"{name}.md" in made.files
        assert f"({name}.md)" in made.files["README.md"].decode()


def test_no_scene_is_of_a_word_there_is_not(made: Pages) -> None:
    said = [name for name in scenes() if name not in all_words() and not scenes()[name].prose]
    assert not said, "scenes of no word: a block must say what it is"


def test_committed_pages_are_those_of_the_words(made: Pages) -> None:
    """Texts to the byte; every drawing by its size and the length of its lines."""
    stale = [name for name, data in made.files.items() if not _fresh(FOLDER / name, data)]
    assert not stale, f"{STALE} (differ: {', '.join(stale)})"
    assert not reference.left_over(FOLDER, made), STALE


def _fresh(path: Path, data: bytes) -> bool:
    if not path.is_file():
        return False
    held = path.read_bytes()
    if held == data:
        return True
    return path.suffix == ".svg" and alike(held, data)


def test_a_changed_drawing_is_stale_and_a_shaken_one_is_not() -> None:
    svg = (
        b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100">'
        b'<path stroke="#000" d="M0 0l%d 0 0 50"/></svg>'
    )
    assert alike(svg % 500, svg % 501)
    assert not alike(svg % 500, svg % 560)


def test_pages_show_the_text_that_was_drawn(made: Pages) -> None:
    page = made.files["seat.md"].decode()
    assert all_words()["seat"].example in page
    assert "![seat](seat.svg)" in page
    assert "[placing clauses](placing.md)" in made.files["bar.md"].decode()
    assert "leaves.posy" in made.files["from.md"].decode()


def test_links_lead_somewhere(made: Pages) -> None:
    for name, data in made.files.items():
        if not name.endswith(".md"):
            continue
        links = re.findall(r'\]\(([^)#]+)\)|src="([^"]+)"', data.decode())
        for target in (one or other for one, other in links):
            assert target in made.files or (FOLDER / target).resolve().is_file(), (name, target)


def test_a_word_without_a_scene_still_gets_a_page(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reference, "scenes", dict)
    found = pages({"bar": all_words()["bar"], "seat": all_words()["seat"]})
    assert {"bar.md", "bar.svg", "seat.md"} <= set(found.files)
    assert "seat.svg" not in found.files
    assert [trouble.split(":")[0] for trouble in found.troubles] == ["seat"]


def test_a_scene_must_use_its_word() -> None:
    scene = Scene("seat", texts={"scene.posy": "bar frame: size 9 x 4 x 2 mm\n"})
    svg, why = reference._drawn(scene, all_words()["seat"])
    assert svg is None and "does not use" in why


@pytest.mark.parametrize(
    "text",
    [
        "stray line\n== bar\n{example}\n",
        "== bar\n{example}\n== bar\n{example}\n",
        "== bar, colour red\n{example}\n",
        "== bar, group nonsense\n{example}\n",
        "== bar, view nonsense\n{example}\n",
    ],
)
def test_a_slip_in_the_scenes_is_told_with_its_line(text: str) -> None:
    with pytest.raises(ValueError, match=r"scenes\.txt:\d+"):
        read_scenes(text)


def test_writing_removes_pages_of_words_gone_and_nothing_else(made, tmp_path, monkeypatch):
    monkeypatch.setattr(reference, "pages", lambda: made)
    (tmp_path / "gone.md").write_text(f"old {reference.MARK}before -->")
    (tmp_path / "gone.svg").write_text("old")
    for name in ("scenes.txt", "notes.md", "sketch.svg"):
        (tmp_path / name).write_text("kept")
    written, faults, _ = reference.write_pages(tmp_path)
    assert not faults and (tmp_path / "README.md") in written
    assert not (tmp_path / "gone.md").exists() and not (tmp_path / "gone.svg").exists()
    for name in ("scenes.txt", "notes.md", "sketch.svg"):
        assert (tmp_path / name).read_text() == "kept"


def test_writing_spares_files_that_are_not_ours(tmp_path: Path) -> None:
    (tmp_path / "README.md").write_text("my shop")
    written, faults, _ = reference.write_pages(tmp_path)
    assert not written
    assert [fault.code for fault in faults] == ["file-exists"]
    assert [path.name for path in tmp_path.iterdir()] == ["README.md"]
    assert (tmp_path / "README.md").read_text() == "my shop"
