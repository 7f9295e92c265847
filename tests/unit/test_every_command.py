"""Every command where the world is not as it should be: whatever the text, the workshop's file and the
folder are, it ends with one of its numbers and without a traceback, and spoils nothing."""

from __future__ import annotations

import ctypes
import json
import os
import random
import resource
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import damage
import pytest

from posy.compiler.command import main
from posy.compiler.commands.manual import COMMANDS

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="streams, names and limits of POSIX")
TEXT = 'piece "Quay bar"\n  metal silver-925\nbar b: size 8 x 4 x 2 mm\n'
CODES = {0, 1, 2, 3}
ELSEWHERE = ("picture", "history", "about", "words", "why")  # long, or look at nothing that others do not
TALKS = ("watch", "editor")  # go on until they are ended: tested by themselves


def lines(piece: str) -> list[list[str]]:
    """Each command on a piece, as plainly as it can be told."""
    said = []
    for name, record in COMMANDS.items():
        if name in TALKS:
            continue
        known = [option.name for option in record.options]
        words = {"start": ["Other bar"], "words": [], "why": ["thin-wall"], "compare": [piece, piece], "resize": [piece, "90%"]}
        extra = {"cast": ["--grid", "1mm"], "picture": ["--draft", "--size", "64x64"]}.get(name, [])
        coarse = ["--tolerance", "0.05mm"] if "--tolerance" in known else []
        said.append([name, *words.get(name, [piece]), *coarse, *extra])
    return said


def ends_well(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    code = main(words)
    told = capsys.readouterr()
    assert code in CODES, (words, told)
    assert "Traceback" not in told.out + told.err


WORLDS: dict[str, Callable[[], object]] = {
    "no folder": lambda: None,
    "a folder": lambda: Path("a.posy").mkdir(),
    "nothing in it": lambda: Path("a.posy").touch(),
    "noise": lambda: Path("a.posy").write_bytes(bytes(range(256)) * 40),
    "a pipe": lambda: os.mkfifo("a.posy"),
    "a link to itself": lambda: Path("a.posy").symlink_to("a.posy"),
    "a file where out and .kept should be": lambda: [Path(one).write_text(TEXT) for one in ("a.posy", "out", ".kept")],
    "a folder called bench.toml": lambda: (Path("a.posy").write_text(TEXT), Path("bench.toml").mkdir()),
    "a pipe called bench.toml": lambda: (Path("a.posy").write_text(TEXT), os.mkfifo("bench.toml")),
    "noise in bench.toml": lambda: (Path("a.posy").write_text(TEXT), Path("bench.toml").write_bytes(b"\xff[[[[" * 999)),
    "a .git that leads nowhere": lambda: (Path("a.posy").write_text(TEXT), Path(".git").write_text("gitdir: gone")),
    "a text of the year 36812": lambda: (Path("a.posy").write_text(TEXT), os.utime("a.posy", (2**40, 2**40))),
}  # fmt: skip


@pytest.mark.parametrize("world", WORLDS)
def test_a_world_that_is_wrong(world, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    WORLDS[world]()
    for words in lines("gone/a.posy" if world == "no folder" else "a.posy"):
        if words[0] not in ELSEWHERE:
            ends_well(words, capsys)
    assert not list(tmp_path.rglob(".posy-*"))


def test_what_is_no_file_is_no_workshop(tmp_path, monkeypatch, capsys):
    """A bench.toml that cannot be read is told, whatever keeps it from being read: with the limits of
    nobody the piece might pass."""
    monkeypatch.chdir(tmp_path)
    Path("a.posy").write_text(TEXT)
    for make in (lambda path: path.mkdir(), lambda path: path.symlink_to("gone"), os.mkfifo):
        path = Path("bench.toml")
        make(path)
        assert main(["check", "a.posy"]) != 0
        assert "house-not-read" in capsys.readouterr().out
        path.rmdir() if path.is_dir() else path.unlink()


# Runs each line of words in one process, and prints [words, code, what was said] for each.
EACH = """
import contextlib, io, json, sys
from posy.compiler.command import main
for words in json.loads(sys.argv[1]):
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main(words)
    print(json.dumps([words, code, out.getvalue() + err.getvalue()]), flush=True)
"""
_DROP, _OVERRIDE, _SEARCH = 24, 1, 2  # prctl(2): PR_CAPBSET_DROP, CAP_DAC_OVERRIDE, CAP_DAC_READ_SEARCH


def no_powers() -> None:
    """Root, too, is held to what the bits of a file allow (Linux; others run the tests as a user)."""
    if sys.platform == "linux":
        for power in (_OVERRIDE, _SEARCH):
            ctypes.CDLL(None).prctl(_DROP, power, 0, 0, 0)


def no_room() -> None:
    """A disk that takes only the first 600 bytes of a file."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (600, 600))


@pytest.mark.parametrize("trouble", [no_powers, no_room], ids=["a folder that may not be written", "a full disk"])
def test_nothing_that_was_made_is_lost(trouble: Callable[[], None], tmp_path: Path) -> None:
    piece = tmp_path / "a.posy"
    piece.write_text(TEXT)
    assert main(["make", str(piece), "--tolerance", "0.05mm"]) == 0
    piece.write_text(TEXT.replace("8 x 4", "9 x 4") + f"# {'long ' * 300}\n")
    before = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    env = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1", "PYTHONPYCACHEPREFIX": str(tmp_path / "none")}
    if trouble is no_powers:
        for folder in (tmp_path, tmp_path / "out"):
            folder.chmod(0o555)
    try:
        said = json.dumps([words for words in lines("a.posy") if words[0] not in ELSEWHERE])
        done = subprocess.run([sys.executable, "-c", EACH, said], cwd=tmp_path, env=env, capture_output=True,
                              text=True, preexec_fn=trouble, timeout=180)  # fmt: skip
    finally:
        for folder in (tmp_path, tmp_path / "out"):
            folder.chmod(0o755)
    rows = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(rows) == len(json.loads(said)), done.stderr[-900:]
    for words, code, told in rows:
        assert code in CODES, (words, told)
        if words[0] in ("make", "draw", "show", "order", "tidy"):
            assert code == 3, (words, code, told)
    after = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    assert {path: after.get(path) for path in before} == before
    assert not [path for path in after if path.name.startswith(".posy-")]


@pytest.mark.parametrize("environment", [{"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}, {"LC_ALL": "POSIX"}])
def test_a_plain_locale_changes_no_byte(environment: dict[str, str], tmp_path: Path) -> None:
    """Names with slashes and emoji in the title, and a file name of both kinds of letters."""
    piece = tmp_path / "é-💎 ring.posy"
    piece.write_text(TEXT.replace("Quay bar", "Bär / 💎 \\ ring"), "utf-8")
    words = [sys.executable, "-m", "posy.compiler", "make", piece.name, "--tolerance", "0.05mm", "--into"]
    for into, env in (("plain", environment), ("usual", {})):
        done = subprocess.run([*words, into], cwd=tmp_path, env={**os.environ, **env}, capture_output=True)
        assert (done.returncode, b"Traceback" in done.stderr) == (0, False), done.stderr
    made = [{path.name: path.read_bytes() for path in (tmp_path / into).iterdir()} for into in ("plain", "usual")]
    assert made[0] == made[1]
    assert sorted(made[0]) == [f"é-💎 ring.{end}" for end in ("3mf", "json", "stl")]


@pytest.mark.parametrize("name", ["bad\x1b[31m.posy", "\u202egnir.posy", "two\nlines.posy"])
def test_what_could_steer_a_terminal_is_not_sent_to_it(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    for words in (["check", name], [name], ["make", "a.posy", "--into", name], ["help", name]):
        assert main(words) == 2
        told = capsys.readouterr()
        assert "does not show" in told.err
        assert not {"\x1b", "\u202e"} & {*(told.out + told.err)}
        assert told.err.count("\n") == 1


def test_two_makes_at_once_leave_one_whole_set(tmp_path: Path) -> None:
    """Of the same piece and of another text of it, into one folder."""
    import hashlib

    for folder, long in (("one", 8), ("other", 9)):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "a.posy").write_text(TEXT.replace("size 8", f"size {long}"))
    words = [sys.executable, "-m", "posy.compiler", "make", "--tolerance", "0.05mm", "--into", "both"]
    running = [subprocess.Popen([*words, f"{folder}/a.posy"], cwd=tmp_path) for folder in ("one", "other", "one", "other")]
    assert [one.wait(120) for one in running] == [0] * 4
    listed = json.loads((tmp_path / "both" / "a.json").read_bytes())["files"]
    assert {row["file"] for row in listed} == {"a.stl", "a.3mf"}
    for row in listed:
        assert hashlib.sha256((tmp_path / "both" / row["file"]).read_bytes()).hexdigest() == row["sha256"]
    assert not list((tmp_path / "both").glob(".posy-*"))


def test_damaged_texts_and_workshops() -> None:
    """Each a mutant and a command of tests/bench/damage.py; POSY_DAMAGED says how many."""
    number = int(os.environ.get("POSY_DAMAGED", "60"))
    wrong = [found for found in damage.results(range(10_000, 10_000 + number)) if found["wrong"]]
    assert wrong == []


def test_an_editor_gets_answers_on_damaged_texts() -> None:
    """What is offered, told, mended, renamed and tidied at any place of any text; posy editor asks for the
    same. No exception is the whole of it: what they answer is tested elsewhere."""
    from posy.compiler.editor import completion, hover, names
    from posy.compiler.editor.look import Look
    from posy.compiler.editor.mends import mends
    from posy.lang.tidy import tidied

    texts, dice = damage.texts(), random.Random(7)
    words = sorted({word for text in texts for word in damage.WORDS.findall(text)})
    for _ in range(60):
        text = damage.damaged(dice.choice(texts), dice, words)[:20_000]
        look = Look("a.posy", text)
        for offset in {0, len(text), *(dice.randint(0, len(text)) for _ in range(4))}:
            completion.offers_at(look, offset, text)
            hover.told_at(look, offset)
            names.given_at(look, offset)
            names.renamed_at(look, offset, "other-name")
        list(mends(look, look.checked.faults, 0, len(text)))
        tidied(text, "a.posy")
