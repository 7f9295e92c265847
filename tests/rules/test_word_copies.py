"""What a word is for travels with it: a standard word taught again under another name is judged
as the standard word is, and no rule knows a word by its name."""

from __future__ import annotations

import ast
import re
from dataclasses import fields
from functools import cache
from pathlib import Path

import pytest

from posy.compiler.judging import judge
from posy.compiler.judging.remark import Remark
from posy.compiler.making.pipeline import build, check
from posy.compiler.pages.scenes import PIECE, scenes
from posy.compiler.words.standard import all_words, standard_texts, standard_words
from posy.lang.faults import Level
from posy.lang.lexicon import Lexicon
from posy.lang.loader import Texts
from posy.lang.placing import PLACING_BY_NAME

ROOT = Path(__file__).parents[2]
STANDARD = tuple(sorted(standard_words()))
TWIN = "twin-of-"
# Fields of a remark that tell where it stands in the text, which moves as lines are put in.
PLACES = "span", "also", "trail", "edit"
ROOMS = "rules", "judging", "drawing", "files", "metal", "making"


# Pieces with something to remark on, of words that the scenes, examples and cases hardly use.
MORE = {
    "links by themselves": (
        "path way: through (0, 0) to (30, 0 mm)\n"
        "chain-links trace: along way, wire 0.9 mm, kind curb\n"
    ),
    "a brushed bar": (
        "bar frame: size 12 x 4 x 1.6 mm\n"
        "brushed look: at face of frame, in frame, wide 10 mm, tall 3 mm\n"
    ),
    "a clasp": "spots shut: up 0 mm\nbox-clasp lock: at shut\n",
    "a bolt ring": "disc tag: across 9 mm, thick 1.2 mm, down 9 mm\nspots shut: up 0 mm\nbolt-ring lock: at shut\n",
    "a scalloped bar": (
        "bar frame: size 20 x 2.8 x 2 mm\n"
        "stone row: round 2 mm, gem ruby, on frame, row 7, gap 0.3 mm\n"
        "bead-set pave: for row, in frame\nscallop bites: for row, in frame, wide 2.8 mm\n"
    ),
    "pins and a hidden loop": """piece "Thistle"
disc medal: across 19 mm, thick 1.1 mm
granules buds: at face of medal, across 0.7 mm, count 6, up 4 mm
pin-stem stem: at back of medal, wire 0.7 mm, down 3 mm
hidden-bail loop: at back of medal, up 5 mm, wire 0.7 mm, inside 2 mm, chain 4 x 0.8 mm
rope-edge border: along rim of medal, wire 0.25 mm, inset 0.2 mm
""",
    "a collet and flush stones": """piece "Pebbles"
  metal gold-750-yellow
stone centre: round 4.2 mm, gem opal, out 3.2 mm
collet cup: for centre, wall 0.4 mm, lip 0.2 mm
bar ground: size 16 x 6 x 1.6 mm
stone dots: round 2 mm, gem diamond, at (6.6 mm, 0 mm, 1.6 mm) to (0 mm - 5 mm, 0 mm, 1.6 mm), level table
flush sunk: for dots, in ground, clearance 0.01 mm, hole 25 %
""",
    "vees and wires": """piece "Kite"
stone kite: princess 4 mm, gem sapphire
vee-prong folds: for kite, thick 0.5 mm, rise 0.1 mm
disc tray: across 9 mm, thick 0.7 mm, under kite, inward 1.5 mm
stone other: oval 4 x 3 mm, gem peridot, right 8 mm
prong-wire claws: at corners of other, wire 0.5 mm, long 2 mm, foot 1.5 mm, tip claw
bar foot: size 6 x 5 x 1 mm, under other, inward 0.6 mm
""",
}


def used(text: str) -> list[str]:
    """The standard words that lines of a text begin with."""
    first = re.findall(r"^[ \t]*([\w-]+)(?=[ :]|$)", text, re.M)
    return [word for word in STANDARD if word in first]


def renamed(text: str, words: tuple[str, ...]) -> str:
    """``text`` with its lines of these words begun by the twins' names."""
    if not words:
        return text
    names = "|".join(map(re.escape, words))
    return re.sub(rf"^([ \t]*)({names})(?=[ :]|$)", rf"\1{TWIN}\2", text, flags=re.M)


def source(word: str) -> str:
    (path,) = (path for path in standard_texts() if path.endswith(f"/{word}.posy"))
    return standard_texts()[path]


def taught(word: str, others: tuple[str, ...]) -> str:
    """The source of a word letter by letter, but for its name and those of ``others`` in it."""
    head = f"word {word}\n"
    text = source(word)
    assert head in text
    return renamed(text.replace(head, f"word {TWIN}{word}\n"), others)


def ordered(words: tuple[str, ...]) -> list[str]:
    """The words with those that others are made of first, and whatever they need."""
    done: list[str] = []

    def add(word: str) -> None:
        for inner in used(source(word).split("\n", 1)[1]):
            if inner != word and inner not in done:
                add(inner)
        if word not in done:
            done.append(word)

    for word in words:
        add(word)
    return done


def with_twins(text: str, words: tuple[str, ...], whole: bool) -> tuple[str, int]:
    """The text with these words taught anew and used, and how many rows that put in. ``whole``
    teaches the words they are made of too."""
    every = ordered(words) if whole else list(words)
    lessons = "\n".join(taught(word, tuple(every) if whole else ()) for word in every)
    rows = text.split("\n")
    start = next((k for k, row in enumerate(rows) if re.match(r"piece\b", row)), -1) + 1
    while start and start < len(rows) and rows[start].startswith((" ", "\t")):
        start += 1
    body = "\n".join(rows[start:])
    put = [*rows[:start], *lessons.split("\n")]
    return "\n".join(put) + "\n" + renamed(body, tuple(every)), len(put) - start


def remarks(text: str, metal: bool, shift: int = 0, path: str = PIECE) -> list[tuple[object, ...]]:
    """All that is said of a text, with rows as they were before ``shift`` rows were put in."""
    judge.STRICT = True
    folder = {one.name: one.read_text("utf-8") for one in (ROOT / "examples").glob("*.svg")}
    parts = (ROOT / "examples" / "parts").glob("*.posy")
    folder |= {f"parts/{one.name}": one.read_text("utf-8") for one in parts}
    files = Texts({**folder, path: text})
    made = build(path, files=files) if metal else check(path, files=files)
    told = []
    for fault in made.faults:
        if isinstance(fault, Remark):
            row = fault.span.line - shift if fault.span is not None else 0
            edit = fault.edit and (fault.edit.key, fault.edit.value, fault.edit.side)
            said = [getattr(fault, one.name) for one in fields(Remark) if one.compare and one.name not in PLACES]
            told.append((*map(plain, said), row, edit))
        else:
            assert fault.level is not Level.FAULT, fault
            told.append((fault.code, plain(fault.message)))
    return sorted(told, key=repr)


def plain(value: object) -> object:
    return value.replace(TWIN, "") if isinstance(value, str) else value


@cache
def texts() -> dict[str, str]:
    """Small pieces of all kinds: scenes of the words, examples, cases of the rules."""
    words = all_words()
    found = {}
    for name, scene in scenes().items():
        example = words[name].example if name in words else ""
        files = scene.with_example(example)
        if len(files) == 1:
            found[f"scene of {name}"] = files[PIECE]
    for folder in ("examples", "tests/rules/cases"):
        for path in sorted((ROOT / folder).glob("*.posy")):
            found[path.stem] = path.read_text("utf-8")
    return {name: text for name, text in {**MORE, **found}.items() if used(text)}


def same(text: str, words: tuple[str, ...], whole: bool, metal: bool) -> None:
    changed, shift = with_twins(text, words, whole)
    assert TWIN in changed.replace(f"word {TWIN}", "")
    want = remarks(text, metal)
    assert remarks(changed, metal, shift) == want


def test_the_texts_use_every_standard_word_more_than_once():
    uses = [word for text in texts().values() for word in used(text)]
    assert [word for word in STANDARD if uses.count(word) < 2] == []


@pytest.mark.parametrize("name", texts())
def test_twins_of_all_words_of_a_text_are_judged_alike_before_metal(name):
    text = texts()[name]
    same(text, tuple(used(text)), whole=True, metal=False)


@pytest.mark.parametrize("word", STANDARD)
def test_a_twin_of_one_word_is_judged_alike_on_metal(word):
    same(texts()[f"scene of {word}"], (word,), whole=False, metal=True)


def by_turns() -> list[str]:
    """Texts that between them use every word, each at least once besides its own scene."""
    left, chosen = set(STANDARD), []
    for name, text in sorted(texts().items(), key=lambda pair: (-len(used(pair[1])), pair[0])):
        if not name.startswith("scene of") and left.intersection(used(text)):
            left.difference_update(used(text))
            chosen.append(name)
    return chosen


@pytest.mark.parametrize("name", by_turns())
def test_twins_of_all_words_of_a_text_are_judged_alike_on_metal(name):
    text = texts()[name]
    same(text, tuple(used(text)), whole=True, metal=True)


# -- the source -------------------------------------------------------------------------------


def modules():
    for room in ROOMS:
        for path in sorted((ROOT / "compiler" / room).rglob("*.py")):
            yield pytest.param(path, id=f"{room}/{path.name}")


def clauses() -> set[str]:
    words = Lexicon(all_words()).values()
    return {take.name for word in words for take in word.takes} | set(PLACING_BY_NAME)


def offers() -> set[str]:
    return {name for word in Lexicon(all_words()).values() for name in word.offers}


def texts_in(tree: ast.AST) -> list[ast.Constant]:
    """The texts of a module, what documents it left out."""
    notes = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    return [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in notes
    ]


@pytest.mark.parametrize("path", list(modules()))
def test_no_room_that_judges_or_shows_knows_a_word_by_its_name(path):
    tree = ast.parse(path.read_text("utf-8"))
    # `wire` is a clause too, `path` is what parts offer, `casting` a key of the summary; for these it is the
    # asking for a name that is looked for.
    names = set(all_words()) - clauses() - offers() - {"casting"}
    assert [f"{node.lineno}: {node.value}" for node in texts_in(tree) if node.value in names] == []
    asked = [
        node.lineno
        for node in ast.walk(tree)
        if isinstance(node, ast.Compare)
        for part in (node.left, *node.comparators)
        if isinstance(part, ast.Attribute)
        and (part.attr == "word" or ast.unparse(part).endswith("word.name"))
    ]
    assert asked == []
