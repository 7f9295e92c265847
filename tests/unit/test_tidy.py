"""`posy tidy`: one layout for all texts, which changes no piece."""

from __future__ import annotations

import random
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import posy.lang.tidy as tidying
from posy.compiler.command import main
from posy.compiler.making import pipeline
from posy.compiler.making.tidy import text_tidied
from posy.compiler.words.standard import trade
from posy.lang.loader import Folder, Over, Texts
from posy.lang.parse import parse
from posy.lang.tidy import tidied

ROOT = Path(tidying.__file__).parents[1]
COMMITTED = sorted(
    path for folder in ("examples", "stdlib/starters", "stdlib/lessons", "stdlib/words")
    for path in (ROOT / folder).rglob("*.posy")
)  # fmt: skip
EXAMPLES = sorted((ROOT / "examples").glob("*.posy"))

UNTIDY = """

posy 1
piece   "Ferry ring":
      metal silver-925


#a thing
measure a=1/16in,from 1mm to 3 mm , help "as  it is"
measure  b = (a*2+.5mm)/-2*-1
bar frame :
   size 21x4.8x2.2mm,
   up -1mm+2 mm , # why
   # own
   turn 10deg
band s:   finger us   7,
  thick max(1.4mm,a)   # thin
each k from 1 to 3 :
    # inside
    ball : across k*1 mm , at( 0,  1mm )
    # end of the block
waive heavy-piece , because "x"
"""
TIDY = """posy 1
piece "Ferry ring"
  metal silver-925

# a thing
measure a = 1/16 in, from 1 mm to 3 mm, help "as  it is"
measure b = (a * 2 + 0.5 mm) / -2 * -1
bar frame
  size 21 x 4.8 x 2.2 mm
  up -1 mm + 2 mm  # why
  # own
  turn 10 deg
band s: finger us 7,
  thick max(1.4 mm, a)  # thin
each k from 1 to 3
  # inside
  ball: across k * 1 mm, at (0, 1 mm)
  # end of the block
waive heavy-piece because "x"
"""


def plan(text, path, files):
    """Content hash of the whole order of work."""
    _, piece = pipeline._laid_out(path, {}, None, Over(files, {path: text}))
    return piece.bench.plan().digest()


def test_the_one_layout():
    assert tidied(UNTIDY, "a.posy") == (TIDY, [])
    assert tidied(TIDY, "a.posy") == (TIDY, [])


@pytest.mark.parametrize("path", COMMITTED, ids=lambda path: path.stem)
def test_whatever_is_committed_is_tidy(path):
    text = path.read_text("utf-8").replace("{title}", "Title")
    assert tidied(text, path.name) == (text, [])


@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_line_ends_and_mark_stay(mark, end):
    new, faults = tidied(mark + UNTIDY.replace("\n", end), "a.posy")
    assert new == mark + TIDY.replace("\n", end) and faults == []


def _mixed_up(text, chance):
    """``text`` as a hasty writer would leave it: other blanks, indents, blank lines, commas."""
    lines = []
    step = chance.choice((1, 3, 4, 7))
    for line in text.splitlines():
        bare = line.lstrip()
        indent = " " * (step * ((len(line) - len(bare)) // 2))
        parts = re.split(r'("(?:[^"]|"")*"|#.*)', bare)
        for at in range(0, len(parts), 2):
            parts[at] = re.sub(r"(?<=[\w)]) ?([,:=]) ?", lambda found: chance.choice(
                (found[1], f" {found[1]} ", f"{found[1]}   ")), parts[at])
            parts[at] = re.sub(r"(?<=\d) (?=mm|deg|%)", chance.choice(("", "  ")), parts[at])
        lines += [""] * chance.choice((0, 0, 0, 2)) + [indent + "".join(parts)]
        if bare and chance.random() < 0.2 and not bare.startswith("#"):
            lines[-1] += " " * chance.randint(0, 3)
    return "\n".join(lines) + "\n" * chance.randint(0, 3)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.sampled_from(EXAMPLES), st.integers(0, 10**6))
def test_what_a_text_says_and_makes_stays(path, seed):
    """Twice gives the same, the plan is the same, and so are the comments."""
    text = path.read_text("utf-8")
    mixed = _mixed_up(text, random.Random(seed))
    new, faults = tidied(mixed, str(path))
    assert faults == [] and tidied(new, str(path)) == (new, [])
    words = [[comment.text for comment in parse(one, "")[0].comments] for one in (new, text)]
    assert words[0] == words[1]
    # Blank lines aside it is the text as it was.
    assert [line for line in new.splitlines() if line] == [line for line in text.splitlines() if line]


@pytest.mark.parametrize("path", EXAMPLES[::4], ids=lambda path: path.stem)
def test_the_plan_is_the_same(path):
    text = path.read_text("utf-8")
    mixed = _mixed_up(text, random.Random(len(text)))
    files = Folder(path)
    new, _ = tidied(mixed, str(path))
    assert plan(new, str(path), files) == plan(mixed, str(path), files)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.lists(st.sampled_from((
    "bar", "a", "x", "of", "to", "over", "-", "- ", "(", ")", ",", ", ", ":", "=", "1", ".5", "2.50 mm",
    "mm", " ", "  ", "\n", "\n  ", "\n      ", "#c", '"t"', "measure ", "when ", "each ", "not ", "is ",
    "1/2 in", "1 1/2 in", "us 7", "%", "min", "*", "/", "<", "in", "posy 1",
)), max_size=24).map("".join))  # fmt: skip
def test_nothing_that_can_be_typed_breaks_it(text):
    new, faults = tidied(text, "a.posy")
    assert new == text if faults else tidied(new, "a.posy") == (new, [])


def test_a_text_that_cannot_be_read_is_left_with_its_fault():
    text = "bar f size 3\nball   b: across 1 mm\n"
    new, faults = tidied(text, "a.posy")
    assert new == text and [fault.code for fault in faults] == ["colon-missing"]


def test_lines_of_work_below_a_word_that_takes_none_are_left_where_they_are():
    text = "bar f: size 1 x 1 x 1 mm\n   ball b: across  1 mm\n"
    new, faults = tidied(text, "a.posy")
    assert new == text and [fault.code for fault in faults] == ["block-misplaced"]


# --- words taken over


def carried(text):
    new, faults = text_tidied(text, "a.posy", Texts({}))
    assert faults == []
    return new


def test_trade_words_become_those_of_posy():
    text = "stone one: round 4 mm, gem garnet\nclaws c: for one, thickness 1 mm\nshank s: finger us 7, width 3 mm\n"
    new = carried(text)
    assert new == "stone one: round 4 mm, gem garnet\nprong c: for one, wire 1 mm\nband s: finger us 7, wide 3 mm\n"
    assert carried(new) == new


def test_what_may_be_several_words_stays_and_a_word_of_ones_own_too():
    assert carried("ring r: finger us 7\n") == "ring r: finger us 7\n"
    own = "word claw\n  takes width: length, default 1 mm\n  ball: across width\nclaw c: width 2 mm\n"
    assert carried(own) == own


def test_every_word_of_the_trade_that_means_one_is_taken_over():
    """So a text of older words becomes one of today's: the same table answers both."""
    single = {said: words[0] for said, words in trade().words.items() if len(words) == 1}
    single = {said: word for said, word in single.items() if word not in ("each", "when", "copy")}
    assert len(single) > 25
    lines = [f"{said} n{number}\n" for number, said in enumerate(single)]
    wanted = [f"{word} n{number}\n" for number, word in enumerate(single.values())]
    for k in range(0, len(lines), 50):  # a hundred faults are told at once
        assert carried("".join(lines[k : k + 50])) == "".join(wanted[k : k + 50])


# A text of the first words, and the same in those of today.
OLDER = """word bud
  takes wide: length, default 3 mm
  takes much: share, default 40 %
  takes way: line, needed
  group pair
    ball a: across wide * much
  wire stalk: along way, round 1 mm
line spine: through (0, 0) to (4, 9 mm), smooth
bud one: way spine
disc tray: across 18 mm, height 1.2 mm, inward 3 mm
tube collet: at face of tray, inward 1 mm, outside 4 mm, inside 2 mm, height 3 mm
pierce windows: at face of tray, line 2, every 9 mm, marquise 3 x 1.5 mm, spin 62 deg, in tray
split-band shank: finger us 7, wide 3.2 mm, thick 1.8 mm, gap 2 mm, from 80 deg
line upper: beside around of shank, part -20 % to 20 %
"""
TODAY = """word bud
  takes wide: length, default 3 mm
  takes much: percent, default 40 %
  takes way: path, needed
  workpiece pair
    ball a: across wide * much
  wire stalk: along way, round 1 mm
path spine: through (0, 0) to (4, 9 mm), smooth
bud one: way spine
disc tray: across 18 mm, thick 1.2 mm, inward 3 mm
tube collet: at face of tray, inward 1 mm, outside 4 mm, inside 2 mm, long 3 mm
pierce windows: at face of tray, row 2, every 9 mm, marquise 3 x 1.5 mm, swivel 62 deg, in tray
split-shank shank: finger us 7, wide 3.2 mm, thick 1.8 mm, gap 2 mm, from 80 deg
path upper: beside around of shank, stretch -20 % to 20 %
"""


def test_an_older_text_is_carried_over():
    """Its words are all answered, so it never means another thing in silence; tidied it is right."""
    codes = {fault.code for fault in pipeline.check("a.posy", files=Texts({"a.posy": OLDER})).faults}
    assert codes and codes <= {"unknown-word", "unknown-clause", "unknown-kind", "block-misplaced"}
    assert carried(OLDER) == TODAY
    assert not [f for f in pipeline.check("a.posy", files=Texts({"a.posy": TODAY})).faults if f.level.value == "fault"]


# --- the version of the language


@pytest.mark.parametrize(("text", "codes"), [
    ("posy 1\npiece \"A\"\n", []),
    ("# first\nposy 1\n", []),
    ("posy 2\n", ["language-version"]),
    ("posy 1.5\n", ["language-version"]),
    ("ball: across 1 mm\nposy 1\n", ["block-misplaced"]),
])  # fmt: skip
def test_the_line_that_names_the_version(text, codes):
    built = pipeline.check("a.posy", files=Texts({"a.posy": text}))
    assert [fault.code for fault in built.faults] == codes


def test_a_text_without_it_means_the_same():
    text = EXAMPLES[0].read_text("utf-8")
    assert plan(text, "a.posy", Texts({})) == plan(f"posy 1\n{text}", "a.posy", Texts({}))


# --- the command


def test_the_command_writes_once_and_then_has_nothing_to_do(tmp_path, capsys):
    file = tmp_path / "a.posy"
    file.write_text(UNTIDY, "utf-8")
    assert main(["tidy", str(file), "--check"]) == 1
    assert "not tidy: lines" in " ".join(capsys.readouterr().out.split())
    assert file.read_text("utf-8") == UNTIDY
    assert main(["tidy", str(file)]) == 0
    assert file.read_text("utf-8") == TIDY
    assert capsys.readouterr().out == f"{file}: tidied\n"
    assert main(["tidy", str(file), "--check"]) == 0 and main(["tidy", str(file)]) == 0
    assert capsys.readouterr().out == ""


def test_the_command_refuses_a_broken_file_and_still_does_the_others(tmp_path, capsys):
    good, bad = tmp_path / "a.posy", tmp_path / "b.posy"
    good.write_text(UNTIDY, "utf-8")
    bad.write_text("bar f size  3\n", "utf-8")
    assert main(["tidy", str(bad), str(good)]) == 1
    assert "a colon is missing" in capsys.readouterr().err
    assert bad.read_text("utf-8") == "bar f size  3\n" and good.read_text("utf-8") == TIDY
    assert main(["tidy", str(tmp_path / "none.posy")]) == 3
