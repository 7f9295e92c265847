"""What a piece was: revisions from git and those posy keeps, what changed, tables and plots."""

from __future__ import annotations

import json
import os
import re
import stat
import subprocess
import sys
from math import pi
from pathlib import Path
from xml.etree import ElementTree

import pytest

import posy.lang.tidy
from posy.compiler.command import main
from posy.compiler.history.changes import changes
from posy.compiler.history.git import repository_of
from posy.compiler.history.metal import difference
from posy.compiler.history.record import taken_down
from posy.compiler.making.pipeline import build
from posy.compiler.making.weights import weigh
from posy.lang.loader import Texts

GUIDE = Path(posy.lang.tidy.__file__).parents[1] / "stdlib" / "guide" / "history.md"
BAR = """piece "Ferry bar"
  metal silver-925

measure long = 12 mm, from 8 mm to 30 mm
bar frame: size long x 5 x 2 mm
"""


def git(folder, *words, day=1):
    """Run git as somebody who has set nothing up."""
    when = f"2026-05-{day:02}T12:00:00Z"
    own = {
        **{key: value for key, value in os.environ.items() if not key.startswith("GIT_")},
        "GIT_AUTHOR_DATE": when, "GIT_COMMITTER_DATE": when, "GIT_CONFIG_GLOBAL": os.devnull,
        "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
    }  # fmt: skip
    who = ["-c", "user.name=Mona", "-c", "user.email=mona@example.org"]
    done = subprocess.run(["git", *who, *words], cwd=folder, env=own, capture_output=True, text=True)
    return done.returncode, done.stdout + done.stderr


def commit(folder, text, note, day, name="bar.posy"):
    (folder / name).write_text(text, "utf-8")
    git(folder, "add", "-A")
    assert git(folder, "commit", "-qm", note, day=day)[0] == 0


@pytest.fixture
def tree(tmp_path, monkeypatch):
    """A working tree of git, and we are in it."""
    monkeypatch.chdir(tmp_path)
    assert git(tmp_path, "init", "-q")[0] == 0
    return tmp_path


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder without git."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def text(path, words):
    Path(path).write_text(words, "utf-8")


def built(words, name="bar.posy"):
    made = build(name, files=Texts({name: words}))
    assert made.parts, made.faults
    return made


# --- what changed


def test_metal_added_and_removed_by_hand():
    """A bar of 10 x 5 x 2 mm made 12 mm long gains 20 mm3; a hole of 2 mm in it loses pi r2 h."""
    short, long = (built(BAR.replace("12 mm", f"{n} mm")) for n in (10, 12))
    found = difference(short, long)
    assert (found.come_mm3, found.gone_mm3) == (pytest.approx(20.0), 0.0)
    back = difference(long, short)
    assert (back.come_mm3, back.gone_mm3) == (0.0, pytest.approx(20.0))
    drilled = built(BAR + "drill hole: across 2 mm, at face of frame, in frame\n")
    found = difference(built(BAR), drilled)
    assert found.come_mm3 == 0.0 and found.gone_mm3 == pytest.approx(pi * 1.0 * 2.0, rel=0.01)
    same = difference(built(BAR), built(BAR.replace("long x", "(6 mm + 6 mm) x")))
    assert (same.come_mm3, same.gone_mm3) == (0.0, 0.0)


def test_everything_that_can_change_is_told():
    before = built(BAR + "stone one: round 2 mm, gem garnet, at top of frame, up 4 mm\n")
    after = built(
        BAR.replace("silver-925", "gold-585-yellow").replace("12 mm", "14 mm").replace("Ferry", "Quay")
        + "measure wide = 10 %\nstone one: round 2.5 mm, gem garnet, at top of frame, up 4 mm\n"
        + 'waive heavy-piece because "it is a bar"\n'
    )
    found = {(one.of, one.name): (one.was, one.now, one.by) for one in changes(*map(taken_down, (before, after)))}
    assert found["title", ""] == ("Ferry bar", "Quay bar", "")
    assert found["metal", ""] == ("silver-925", "gold-585-yellow", "")
    assert found["measure", "long"] == ("12 mm", "14 mm", "+2 mm")
    assert found["measure", "wide"] == ("", "10 %", "")
    assert found["stones", "garnet round"] == ("1 of 2 mm", "1 of 2.5 mm", "")
    grams = weigh(before)[0].grams
    assert found["weight", "silver-925"] == (f"{grams:.3f}".rstrip("0") + " g", "", "")
    assert found["size", ""] == ("12 x 5 x 2 mm", "14 x 5 x 2 mm", "")
    assert ("set aside", "heavy-piece") in found
    assert changes(taken_down(before), taken_down(before)) == []


def test_remarks_are_told_when_they_come_and_when_they_go():
    thin = built(BAR.replace("x 2 mm", "x 0.3 mm"))
    rows = [one for one in changes(*map(taken_down, (built(BAR), thin))) if one.of == "remark"]
    assert rows and all(one.was == "" for one in rows)
    back = [one for one in changes(*map(taken_down, (thin, built(BAR)))) if one.of == "remark"]
    assert [(one.name, one.was) for one in back] == [(one.name, one.now) for one in rows]
    # A line put in above moves no remark.
    moved = built("\n# a word more\n" + BAR.replace("x 2 mm", "x 0.3 mm"))
    assert changes(taken_down(thin), taken_down(moved)) == []


def test_compare_tells_and_draws(folder, capsys, posy):
    text("a.posy", BAR)
    text("b.posy", BAR.replace("12 mm", "14 mm"))
    said = posy("compare", "a.posy", "b.posy", "--picture", "c.svg").out
    assert "long  12 mm -> 14 mm (+2 mm)" in said and "20.00 mm3 added, none removed" in said
    drawing = (folder / "c.svg").read_bytes()
    ElementTree.fromstring(drawing)
    assert b"new: 20.00 mm3" in drawing and b"gone: none" in drawing
    assert main(["compare", "a.posy", "b.posy", "--picture", "d.svg"]) == 0
    assert drawing == (folder / "d.svg").read_bytes()
    capsys.readouterr()
    assert main(["compare", "a.posy", "b.posy", "--same"]) == 1
    assert main(["compare", "a.posy", "a.posy", "--same"]) == 0
    capsys.readouterr()
    record = json.loads(posy("compare", "a.posy", "b.posy", "--show", "data").out)
    assert record["metal_mm3"] == {"added": 20.0, "removed": 0.0}
    assert {"of": "measure", "name": "long", "was": "12 mm", "now": "14 mm", "by": "+2 mm"} in record["changes"]


def test_a_revision_that_cannot_be_made_is_told(folder, capsys):
    text("a.posy", BAR)
    text("b.posy", BAR.replace("frame:", "frame"))
    assert main(["compare", "a.posy", "b.posy"]) == 1
    assert "cannot be made" in capsys.readouterr().err


# --- revisions of git


def test_a_history_of_ten_revisions(tree, capsys, posy):
    """The demo: a bar that grows, gets a stone, loses a wall; its table and its plot."""
    texts = [BAR.replace("12 mm", f"{10 + n} mm") for n in range(5)]
    texts += [texts[-1] + f"stone one: round {n} mm, gem garnet, at top of frame, up 4 mm\n" for n in (2, 3, 4)]
    texts += [texts[-1].replace("x 2 mm", "x 0.3 mm"), texts[-1].replace("silver-925", "gold-750-yellow")]
    for number, words in enumerate(texts):
        commit(tree, words, f"step {number}", number + 1)
    assert main(["history", "bar.posy", "--plot", "h.svg"]) == 0
    rows = [row.split() for row in capsys.readouterr().out.splitlines()]
    assert rows[0][:9] == ["revision", "day", "g", "stones", "ct", "faults", "warnings", "hints", "metal"]
    assert len(rows) == 11
    for number, (words, row) in enumerate(zip(texts, rows[1:], strict=True)):
        made = built(words)
        weights = weigh(made)[0]
        assert row[1] == f"2026-05-{number + 1:02}"
        assert row[2] == f"{weights.grams:.2f}" and row[3] == str(len(made.stones))
        levels = [fault.level.value for fault in made.faults]
        assert row[5:8] == [str(levels.count(level)) for level in ("fault", "warning", "hint")]
        assert row[-2:] == ["step", str(number)] and row[8] == made.metal
    drawing = ElementTree.fromstring((tree / "h.svg").read_bytes())
    dots = [one for one in drawing.iter() if one.tag.endswith("circle")]
    assert len(dots) == 30  # three curves of ten
    # The weights stand as high as they are: a plot is a ruler.
    heights = [-float(one.get("cy")) for one in dots[:10]]
    grams = [float(row[2]) for row in rows[1:]]
    share = (heights[-1] - heights[0]) / (grams[-1] - grams[0])
    for height, weight in zip(heights, grams, strict=True):
        assert height - heights[0] == pytest.approx(share * (weight - grams[0]), abs=40)
    told = json.loads(posy("history", "bar.posy", "--last", "3", "--show", "data").out)["revisions"]
    assert [one["note"] for one in told] == ["step 7", "step 8", "step 9"]


def test_since_a_revision_a_day_and_by_itself(tree, capsys):
    for day, long in ((1, 10), (2, 12), (3, 15)):
        commit(tree, BAR.replace("12 mm", f"{long} mm"), f"long {long}", day)

    def told(*words):
        capsys.readouterr()
        assert main(["since", "bar.posy", *words, "--show", "lines"]) == 0
        return capsys.readouterr().out

    assert "12 mm -> 15 mm" in told()  # the last that says something else
    assert "10 mm -> 15 mm" in told("2026-05-01") and "12 mm -> 15 mm" in told("2026-05-02")
    assert "10 mm -> 15 mm" in told("HEAD~2") and told("HEAD") == "nothing has changed\n"
    text("bar.posy", BAR.replace("12 mm", "16 mm"))
    assert "15 mm -> 16 mm" in told()
    for odd in ("nothing", "--help-me", "HEAD~9", "2020-01-01", "-n1", "HEAD --output=x"):
        assert main(["since", "--show", "lines", "--", "bar.posy", odd]) == 1
    assert "unknown-revision" in capsys.readouterr().err


def test_a_piece_that_was_renamed_and_what_it_takes_from(tree, posy):
    leaf = "word leaf\n  takes long: length, default 3 mm\n  bar blade: size long x 5 x 2 mm\n"
    piece = 'from "leaf.posy" take leaf\nleaf one\n'
    commit(tree, leaf, "leaf", 1, "leaf.posy")
    commit(tree, piece, "piece", 2, "old.posy")
    git(tree, "mv", "old.posy", "new.posy")
    git(tree, "commit", "-qm", "renamed", day=3)
    commit(tree, leaf.replace("3 mm", "4 mm"), "longer", 4, "leaf.posy")
    assert "metal: 10.00 mm3 added, none removed" in posy("since", "new.posy", "--show", "lines").out
    assert "metal: 10.00 mm3 added" in posy("since", "new.posy", "HEAD~2", "--show", "lines").out
    # House limits of that day count for that day, from the folders above too.
    (tree / "inner").mkdir()
    commit(tree, BAR, "bar", 5, "inner/bar.posy")
    commit(tree, '[thin-wall]\nlevel = "off"\n', "house", 6, "bench.toml")
    revision = repository_of("inner/bar.posy").revision("HEAD", "inner/bar.posy")
    assert b"thin-wall" in revision.files.read("inner/bench.toml")
    before = repository_of("inner/bar.posy").revision("HEAD~1", "inner/bar.posy")
    with pytest.raises(FileNotFoundError):
        before.files.read("inner/bench.toml")


def test_a_repository_can_make_posy_run_nothing(tree, posy):
    """Hooks, monitors, differs, pagers, signature checks: all of them would leave a mark."""
    commit(tree, BAR, "one", 1)
    commit(tree, BAR.replace("12 mm", "14 mm"), "two", 2)
    trap = tree / "trap.sh"
    trap.write_text(f"#!/bin/sh\ntouch {tree}/sprung\ncat\n", "utf-8")
    trap.chmod(0o755)
    hooks = tree / ".git" / "hooks"
    hooks.mkdir(exist_ok=True)
    for name in ("post-index-change", "reference-transaction", "post-checkout"):
        (hooks / name).write_text(trap.read_text("utf-8"), "utf-8")
        (hooks / name).chmod(0o755)
    for key in ("core.fsmonitor", "core.pager", "diff.external", "diff.x.textconv", "diff.x.command",
                "filter.x.smudge", "filter.x.clean", "gpg.program", "pager.log", "pager.show", "core.editor",
                "core.sshCommand", "core.alternateRefsCommand"):  # fmt: skip
        git(tree, "config", key, str(trap))
    git(tree, "config", "log.showSignature", "true")
    (tree / ".git" / "info").mkdir(exist_ok=True)
    (tree / ".git" / "info" / "attributes").write_text("*.posy diff=x filter=x\n", "utf-8")
    assert "12 mm -> 14 mm" in posy("since", "bar.posy", "HEAD~1").out
    posy("history", "bar.posy")
    assert not (tree / "sprung").exists()


def test_git_shows_what_changed_in_the_piece(tree):
    """The two set-up commands of the guide, as they stand there."""
    commands = re.findall(r"```sh\n(echo .*?)```", GUIDE.read_text("utf-8"), re.S)[0]
    commit(tree, BAR, "one", 1)
    for line in commands.splitlines():
        assert subprocess.run(["sh", "-c", line], cwd=tree).returncode == 0
    text("bar.posy", BAR.replace("12 mm", "14 mm"))
    code, said = git(tree, "diff")
    assert code == 0, said
    assert "-measure long = 12 mm, from 8 mm to 30 mm" in said and "+measure long = 14 mm" in said
    assert "long  12 mm -> 14 mm (+2 mm)" in said and "20.00 mm3 added, none removed" in said
    text("new.posy", BAR)
    git(tree, "add", "-N", "new.posy")
    code, said = git(tree, "diff", "new.posy")
    assert code == 0 and "+bar frame: size long x 5 x 2 mm" in said
    text("bar.posy", "bar frame size\n")
    code, said = git(tree, "diff", "bar.posy")
    assert code == 0 and "+bar frame size" in said


def test_the_hook_of_the_guide_lets_nothing_broken_or_untidy_in(tree):
    hook = re.findall(r"```sh\n(#!/bin/sh.*?)```", GUIDE.read_text("utf-8"), re.S)[0]
    place = tree / ".git" / "hooks" / "pre-commit"
    place.parent.mkdir(exist_ok=True)
    place.write_text(hook, "utf-8")
    place.chmod(place.stat().st_mode | stat.S_IXUSR)

    def committed(words, name="a ring.posy"):
        text(name, words)
        git(tree, "add", "-A")
        return git(tree, "commit", "-m", "try")

    code, said = committed(BAR.replace("12 mm", "12  mm"))
    assert code != 0 and "not tidy" in said
    code, said = committed(BAR.replace("long x", "lang x"))
    assert code != 0 and "unknown-name" in said
    assert committed(BAR)[0] == 0
    assert committed("no piece\n", "note.txt")[0] == 0


# --- revisions that posy keeps
