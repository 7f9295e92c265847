"""Files a piece takes from: read once, only those below it, and not too many."""

from __future__ import annotations

from pathlib import Path

import pytest
from test_lang_run import codes, go
from toy_bench import WORDS, ToyBench

from posy.lang.loader import MOST_FILES, Folder, Texts
from posy.lang.program import read_piece, run


def test_each_file_is_read_once_and_listed() -> None:
    files = {
        "lib/a.posy": 'from "b.posy" take b\nword a\n  b\n',
        "lib/b.posy": "word b\n  ball: across 1 mm\n",
    }

    class Counted(Texts):
        reads: list[str] = []  # noqa: RUF012

        def read(self, path: str) -> bytes:
            self.reads.append(path)
            return super().read(path)

    texts = Counted({"p.posy": 'from "lib/a.posy" take a\nfrom "./lib/b.posy" take b\na\nb\n', **files})
    program = read_piece("p.posy", texts, WORDS)
    assert program.faults == []
    assert program.files_read == ("p.posy", "lib/a.posy", "lib/b.posy")
    assert texts.reads == list(program.files_read)
    assert set(program.sources) == set(program.files_read)
    bench = ToyBench()
    assert run(program, bench).faults == [] and len(bench.calls) == 2


def test_a_missing_file_is_listed_too() -> None:
    program = read_piece("p.posy", Texts({"p.posy": 'from "gone.posy" take a\n'}), WORDS)
    assert program.files_read == ("p.posy", "gone.posy")
    program = read_piece("none.posy", Texts({}), WORDS)
    assert [fault.code for fault in program.faults] == ["file-not-read"]


@pytest.mark.parametrize(
    "name",
    [
        "../a.posy", "/a.posy", "a/../../a.posy", "a.txt", "", "~/a.posy", "c:/a.posy", "a\\b.posy", "..",
        "a.posy/", "//host/a.posy",
    ],
)
def test_only_posy_files_below_the_piece(name: str) -> None:
    read: list[str] = []

    class Watched(Texts):
        def read(self, path: str) -> bytes:
            read.append(path)
            return super().read(path)

    program = read_piece("d/p.posy", Watched({"d/p.posy": f'from "{name}" take a\n'}), WORDS)
    assert [fault.code for fault in program.faults] in (["file-outside"], ["file-not-read"])
    assert all(path.startswith("d/") and ".." not in path for path in read)


def test_links_out_of_the_folder_are_refused(tmp_path: Path) -> None:
    secret = tmp_path / "secret.posy"
    secret.write_text("word a\n  ball: across 1 mm\n", encoding="utf-8")
    home = tmp_path / "home"
    home.mkdir()
    (home / "link.posy").symlink_to(secret)
    (home / "dir").symlink_to(tmp_path)
    piece = home / "p.posy"
    for name in ("link.posy", "dir/secret.posy"):
        piece.write_text(f'from "{name}" take a\n', encoding="utf-8")
        program = read_piece(str(piece), Folder(piece), WORDS)
        assert [fault.code for fault in program.faults] == ["file-not-read"]
    # a piece that is itself a link may be read, and takes from where the link stands
    (home / "linked.posy").symlink_to(piece)
    piece.write_text("ball: across 1 mm\n", encoding="utf-8")
    assert (read_piece(str(home / "linked.posy"), Folder(home / "linked.posy"), WORDS).faults == [])


def test_too_many_files_are_refused() -> None:
    files = {f"f{k}.posy": f"word w{k}\n  ball: across 1 mm\n" for k in range(MOST_FILES + 3)}
    text = "".join(f'from "f{k}.posy" take w{k}\n' for k in range(MOST_FILES + 3))
    _, outcome = go(text, files=files)
    assert codes(outcome) == ["too-many-files"] * 3
