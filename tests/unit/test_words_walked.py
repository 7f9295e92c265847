"""Every standard word gone through: no default and no branch of a `when` is left that nothing tried, and a
slip in one of them is told at the line that used the word."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from posy.compiler.making.pipeline import all_words, check
from posy.compiler.pages.scenes import PIECE, scenes
from posy.compiler.words import standard
from posy.lang import tree
from posy.lang.blocks import Blocks
from posy.lang.calls import Clauses
from posy.lang.faults import Fault, is_fatal
from posy.lang.loader import Texts
from posy.lang.scope import Scope
from posy.lang.tickets import told_at

HOME = Path(__file__).parents[2]
SLIPS = "not-worked-out", "unknown-name", "unknown-word", "unknown-clause", "not-given", "dimension", "wrong-kind"
SELDOM = {"bezel", "cluster"}  # a slanting light hole, a cleft wider than any heart's: one branch each
CASES = (  # of the rules, that reach what few others do
    "blind-seat.pad.bar.near", "footless-prong.baguette.near", "loose-piece.pin.near", "open-joint.bezel.near",
    "open-joint.sunk.near", "stone-near-edge.bars.near", "thin-loop.pair.near",
)  # fmt: skip
SHANK = "band shank: finger us 7, wide {wide} mm, thick 1.8 mm\nstone c: {stone}, gem ruby, on shank, level back, out 0.6 mm\n"
LINKS = """casting link: row 3
  stone s: round 3 mm, gem sapphire
  basket b: for s
  link-joint joint: for s
casting lock
  box-clasp box: joins joint of link, shut 120 mm
casting key
  box-clasp key: joins joint of link, tongue"""
CURB = """spots shut: up 0 mm
casting box
  box-clasp lock: at shut, loop 2.8 mm
casting key
  box-clasp snap: at shut, tongue, loop 2.8 mm
chain neck: long 180 mm, from left of box, back-to right of key, kind curb, wire 1.2 mm"""
TEXTS = [  # what neither the scenes of the reference nor the pieces reach
    LINKS, CURB, "station-chain t: long 200 mm, stations 3, room 13 mm, flat-ends",
    "bar d: size 20 x 12 x 2 mm\nstone c: round 4 mm, gem ruby, on d, level back, out 1.6 mm\nbezel b: for c, on d",
    "band b: finger us 6, wide 3 mm, thick 1.6 mm, profile half-round\n"
    "stone c: round 3 mm, gem ruby, on b, around 25 deg, level back, out 0.9 mm\nbezel k: for c, on b",
    "bar d: size 20 x 12 x 2 mm\nstone c: round 4 mm, gem ruby, on d, level table\nbezel b: for c, on d",
    "path p: through (-15, 0) to (15, 0 mm)\nwire w: along p, flat 6 x 2 mm\n"
    "stone c: round 3.5 mm, gem ruby, along outer of w, number 1, out 0.7 mm\nbezel b: for c, on w",
    "jump-ring eye: wire 1 mm, inside 3 mm\nchain tail: hangs-in eye, long 20 mm",
    "band b: finger us 7, wide 4 mm, thick 2 mm\nstone p: pearl 5 mm, gem pearl, on b, out 3.3 mm\npearl-cup c: for p, on b",
    "disc d: across 9 mm, thick 1 mm\ngranules g: at face of d, top",
    "band b: finger us 7, wide 6 mm, thick 2.4 mm\nstone c: round 2 mm, gem ruby, on b\nflush f: for c, in b, rays 6",
    "disc d: across 17 mm, thick 2 mm\ncufflink-back b: at back of d, swivel",
    "bar d: size 20 x 8 x 5 mm\nbox-clasp b: at right of d, in d",
    "disc lid: across 20 mm, thick 3.4 mm\nhollow photo: in lid, wall 1.8 mm, roof 1.4 mm, rebate 0.6 x 0.8 mm\n"
    "locket-catch c: at right of lid, in lid, other, tilt 180 deg, reach 1.7 mm, bump 0.5 mm",
    "disc half: across 20 mm, thick 3 mm\npierce well: round 17 mm, at face of half, deep 2 mm, in half\n"
    "locket-catch c: at right of half, in half, reach 0.7 mm",
    "path way: through (-30, 0) over (0, 30) to (30, 0 mm)\nwire arm: along way, round 3 mm\nhinge h: at ends of arm, in arm",
    "path way: through (0, 0) over (16, -9) to (32, 0 mm)\nchain c: along way",
    *("disc a: across 30 mm, thick 2 mm\n"
      f"chain c: from pick(right of a, 1), back-to left of a, long 400 mm, clasp-room 20 mm{kind}" for kind in ("", ", kind curb")),
    "disc a: across 9 mm, thick 2 mm, left 20 mm\ndisc b: across 9 mm, thick 2 mm, right 20 mm\n"
    "chain c: from right of a, back-to left of b, long 180 mm",
    "stone c: round 6 mm, gem ruby\nbasket b: for c\ntapered-bail t: at top of b",
    "stone c: pear 8 x 6 mm, gem ruby\nstone d: round 5 mm, gem ruby, right 9 mm\nbasket b: for c + d, tip vee",
    "band s: finger us 7, wide 3 mm, thick 1.8 mm\nstone c: oval 8 x 6 mm, gem ruby, on s, level back, out 3 mm\n"
    "stone d: round 5 mm, gem ruby, next-to c\nbasket b: for c + d, on s, tip vee",
    "stone c: round 6 mm, gem ruby\nbasket b: for c\nbail l: at top of b, stand",
    "bar b: size 24 x 5 x 2.4 mm\nstone r: round 2 mm to 1.4 mm, gem ruby, on b, row 5, gap 0.1 mm\nchannel c: for r, in b",
    "spots axis: left 12.1 mm, turn 90 deg\ncasting one\n  disc shell: across 24 mm, thick 3 mm, inward 3 mm\n"
    "  hinge a: at axis, in shell, pin-in\ncasting two\n  disc lid: across 24 mm, thick 3 mm\n  hinge b: at axis, in lid, other",
    "stone r: round 2 mm, gem ruby, row 6, gap 0.1 mm\nbar b: size 16 x 5 x 2.4 mm, under r\nu-cut u: for r, in b, vee\nscallop s: for r, in b",
    "disc d: across 14 mm, thick 2.4 mm\nstone c: round 3 mm, gem ruby, at face of d, level table\nflush f: for c, in d, rays 8",
    "band b: finger us 7, wide 4 mm, thick 2.4 mm\nstone r: round 2 mm, gem ruby, along around of b, gap 0.1 mm\nchannel c: for r, in b",
    "stone r: round 2 mm, gem ruby, row 5, gap 0.1 mm\nbar b: size 16 x 5 x 2.4 mm, under r\nchannel c: for r, in b",
    "band b: finger us 7, wide 4 mm, thick 2.4 mm\n"
    "stone c: oval 8 x 6 mm, gem ruby, on b, level back, out 3 mm\nbasket k: for c, on b\nhalo h: for c, gem ruby\n"
    "gallery g: along rim of h, on b, inset 0.6 mm",
    *(SHANK.format(wide=wide, stone=f"round {size} mm") + f"{word} b: for c, on shank"
      for wide in (2, 6) for size in (3, 6) for word in ("bezel", "collet")),
    *(f"band shank: finger us 7, wide {wide} mm, thick 1.8 mm\nstone c: round {size} mm, gem ruby, at top of shank, up {out} mm, "
      f"right 3 mm, lean 90 deg\n{word} b: for c, on shank"
      for wide in (4, 6) for size in (3, 5) for out in (0.6, 1.5, 2.2) for word in ("bezel", "collet")),
    *(f"stone c: heart 7 x 7 mm, gem ruby\n{word} h: for c, gem ruby, across {size} mm"
      for word in ("halo", "cluster") for size in (0.9, 1.2, 1.6, 2.2)),
    *(f"stone c: heart 7 x 7 mm, gem ruby\nhalo h: for c, gem ruby, across {size} mm, prong 0 mm" for size in (0.9, 1.2, 1.6)),
    "stone c: round 3 mm, gem ruby\nhalo h: for c, gem ruby, across 2 mm, prong 0 mm",
    *(f"stone c: {stone} mm, gem ruby\ncluster h: for c, gem ruby, across {size} mm"
      for stone in ("round 3", "princess 4 x 4", "trillion 6 x 6") for size in (2, 3)),
    "stone r: oval 6 x 3 mm, gem ruby, row 5, gap 0.2 mm\nbasket k: for r, shared",
    "stone r: oval 8 x 4 mm to 4 x 2 mm, gem ruby, row 5, gap 0.2 mm\nbasket k: for r, shared",
    "stone r: oval 3 x 6 mm, gem ruby, row 5, gap 0.2 mm\nbasket k: for r, shared",
    "stone r: round 5 mm to 3 mm to 5 mm, gem ruby, row 3, gap 0.2 mm\nbasket k: for r, shared",
    "band b: finger us 7, wide 3 mm, thick 2.4 mm\nstone r: round 3 mm, gem ruby, on b, row 5, gap 0.2 mm, out 1.1 mm\nbasket k: for r, on b, shared",
    *(f"stone c: {stone} mm, gem ruby, row 2, every 12 mm\n{line}" for stone in ("round 5", "oval 7 x 5", "pear 8 x 5")
      for line in ("prong p: for c, double", "prong p: for c, count 4, double", "prong p: for c, count 6",
                   "bezel b: for c, windows 6", "bezel b: for c, bevel 0.2 mm", "bezel b: for c, soften 0.2 mm",
                   "bezel b: for c, cut-away 40 %, sides", "bezel b: for c, cut-away 40 %")),
    *(f"stone c: {stone} mm, gem ruby\nbasket b: for c\n{line}"
      for stone in ("princess 5 x 5", "heart 7 x 7", "marquise 9 x 4.5", "emerald 7 x 5")
      for line in ("cluster h: for c, gem ruby", "halo h: for c, gem ruby", "halo h: for c, gem ruby, prong 0 mm")),
    *(f"stone c: round 5 mm, gem ruby\n{held}halo h: for c, gem ruby, hidden" for held in ("", "basket b: for c\n")),
    *(f"band b: finger us 7, wide 2 mm, thick 1.8 mm\nstone r: {row}, gem ruby, on b, gap 0.2 mm, level back, out {high} mm\n"
      f"basket k: for r, on b, shared{more}"
      for row in ("round 2 mm, row 5", "oval 3 x 2 mm, row 5") for high in (0.5, 1.8) for more in ("", ", bite 30 %")),
    *(SHANK.format(wide=2.4, stone=f"{one} mm") + f"stone s: {two} mm, gem ruby, next-to c, gap 0.2 mm, on shank, level back, "
      "out 1.5 mm\nbasket k: for c + s, shared, on shank" for one, two in (("round 4", "round 3"), ("oval 5 x 4", "oval 4 x 3"))),
]  # fmt: skip


def told(text: str) -> list[Fault]:
    return list(check(PIECE, files=Texts({PIECE: text})).faults)


def example(name: str) -> dict[str, str]:
    scene, word = scenes().get(name), all_words()[name]
    return dict(scene.with_example(word.example)) if scene else {PIECE: word.example}


def shorter(name: str) -> Iterator[dict[str, str]]:
    """The piece of a word's example without each clause that it can do without."""
    files, needed = example(name), {take.name for take in all_words()[name].takes if take.needed}
    line = next((line for line in files[PIECE].split("\n") if re.match(rf" *{name} ", line)), "")
    head, _, said = line.partition(": ")
    clauses = said.split(", ")
    for clause in clauses:
        if clause.partition(" ")[0] not in needed:
            rest = ", ".join(one for one in clauses if one is not clause)
            yield {**files, PIECE: files[PIECE].replace(line, f"{head}: {rest}" if rest else head)}


def pieces() -> Iterator[dict[str, str]]:
    """Pieces for each word, then the texts, then whole pieces."""
    for name in all_words():
        yield from (example(name), *shorter(name))
    yield from ({PIECE: text} for text in TEXTS)
    others = [*sorted((HOME / "tests/tried").glob("*.posy")), *(HOME / f"tests/rules/cases/{one}.posy" for one in CASES)]
    yield from ({PIECE: path.read_text("utf-8")} for path in others)
    home = HOME / "examples"
    files = {str(path.relative_to(home)): path.read_text("utf-8") for path in sorted(home.rglob("*.posy"))}
    yield from ({**files, PIECE: text} for name, text in files.items() if "/" not in name)


@cache
def walk() -> tuple[set[object], list[str]]:
    """Which branches and defaults the pieces reach, and what slips of words they meet."""
    reached: set[object] = set()
    one_default, choose = Clauses.one_default, Blocks.when

    def when(self: Blocks, line: tree.When, scope: Scope) -> object:
        do = self._do

        def noted(lines: tuple[tree.Line, ...], inner: Scope) -> None:
            reached.update((line.span, k) for k, branch in enumerate(line.branches) if branch.lines is lines)
            do(lines, inner)

        self._do = noted
        try:
            return choose(self, line, scope)
        finally:
            self._do = do

    def default(self: Clauses, node: tree.Expression, take: object, scope: Scope) -> None:
        reached.add(node.span)
        one_default(self, node, take, scope)  # type: ignore[arg-type]

    slips = []
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Blocks, "when", when)
        patch.setattr(Clauses, "one_default", default)
        for texts in pieces():
            found = check(PIECE, files=Texts(texts)).faults
            inside = [one for one in found if one.span is not None and one.span.path[:1] == "<"]
            slips += [f"{one.code}: {one.message} {one.span} in\n{texts[PIECE]}" for one in inside if one.code in SLIPS]
    return reached, slips


def test_no_word_slips_whatever_reaches_it() -> None:
    assert walk()[1] == []


def test_every_default_is_worked_out() -> None:
    defaults = {
        f"{name}.{take.name.name}": clause.value.span
        for name, word in standard.standard_words().items()
        for take in word.body.takes for clause in take.clauses if clause.key.name == "default"
    }  # fmt: skip
    assert len(defaults) > 150
    assert {name for name, span in defaults.items() if span not in walk()[0]} == set()


def _whens(lines: tuple[tree.Line, ...]) -> Iterator[tree.When]:
    for line in lines:
        if isinstance(line, tree.When):
            yield line
        for one in line.branches if isinstance(line, tree.When) else [line]:
            yield from _whens(getattr(one, "lines", ()))


def test_every_branch_is_reached() -> None:
    wanted = {
        f"{name} line {line.span.line} branch {k}": (line.span, k)
        for name, word in standard.standard_words().items()
        for line in _whens(word.body.lines) for k in range(len(line.branches))
    }  # fmt: skip
    assert len(wanted) > 100
    missed = [said.partition(" line")[0] for said, key in wanted.items() if key not in walk()[0]]
    assert set(missed) <= SELDOM and len(missed) <= len(SELDOM)


@pytest.mark.parametrize(("old", "new"), [
    ("takes rim: length, default 0.45 mm", "takes rim: length, default rimm"),
    ("takes rim: length, default 0.45 mm", "takes rim: length, default 0.45 mm * 1 mm"),
    ("takes rim: length, default 0.45 mm", "takes rim: length, default 0.45"),
    ("takes rim: length, default 0.45 mm", "takes rim: length, default (("),
    ("measure pitch =", "measure of ="),
    ("measure pitch = across + gap", "measure pitch = across + gapp"),
    ("when scalloped and k is rows", "when scallopped and k is rows"),
    ("when hidden", "when hiden"),
    ("each k from 1 to rows", "each k from 1 to rowss"),
    ("plate base: outline edge", "plaite base: outline edge"),
    ("plate base: outline edge,", "plate base: outlin edge,"),
    ("plate base: outline edge, thick thick", "plate base: outline edge"),
])  # fmt: skip
def test_a_slip_in_a_word_is_told_where_the_word_is_used(
    old: str, new: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    words = standard._Standard()
    path = words.path("halo")
    text = words.text(path)
    assert text.count(old) == 1
    words._texts["halo"] = text.replace(old, new)
    monkeypatch.setattr(standard, "_standard", lambda: words)
    found = told("stone c: round 5 mm, gem ruby\nbasket b: for c\nhalo h: for c, gem ruby\n")
    assert is_fatal(found)
    assert {(span.path, span.line) for one in found if (span := told_at(one))} == {(PIECE, 3)}, found
