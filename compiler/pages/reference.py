"""The reference: a page for every word, from the record that defines it and its scene, drawn.

The scenes (``scenes``) are small pieces round the words' own examples; blocks such as ``measure``, which have
no record, say there what they are. ``posy words --pages FOLDER`` writes the pages; a test wants those of
stdlib/reference to be fresh."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from ...lang.faults import Fault
from ...lang.placing import PLACING
from ...lang.words import Take, Word
from ..bench.sides import SIDES
from ..words.standard import FILED, FOLDER, GROUPS, all_words, standard_texts
from .first_page import first_page_names, pictured
from .scenes import EXAMPLE, PIECE, Scene, built_scene, drawing, scenes
from .word_text import FEW, handed_down, how_written, offered, served

REFRESH = "posy words --pages stdlib/reference"
MARK = "<!-- generated: "
FURTHER = "further words"  # those filed in no group
_COLUMNS = 4
_ON_METAL = """\
A word's own page lists what it offers. Besides, bodies, settings, workpieces and words of your own offer
these places, found on the metal itself as it was added, one for each copy. They turn with the part: the `top`
of a plate with `turn 90 deg` lies at your left. At the four ends x points away from
the metal, so that a `bail` put there hangs outside it; of a finger ring `top` is its head.

One rule for all places: `right`, `up` and `out` go as the place looks, not as the drawing does. So at an
end `right 2 mm` goes on away from the metal, at `top` upward and at `bottom` downward, and `left 1 mm` goes
into it; `up` at a `top` would go to your left, which posy tells. A `row` of findings at
an end runs along the edge there."""
_INTRODUCTION = """\
# The words of posy

Every word with a piece that shows it, drawn by posy itself from the text on its page.
New here: [your first pendant](first-pendant.md), line by line. Then where things go:
[placing](placing.md). What holds the words together is told in
[the language](../../lang/LANGUAGE.md).

![which way right, up and out point](directions.svg)
"""


@dataclass(frozen=True)
class Pages:
    """All files by name, and what is wrong: "WORD: why there is no drawing"."""

    files: Mapping[str, bytes]
    troubles: tuple[str, ...]


# -- pages ------------------------------------------------------------------------------------


def pages(words: Mapping[str, Word] | None = None) -> Pages:
    """Every page and drawing, and the index ``README.md``."""
    words = all_words() if words is None else words
    found: dict[str, bytes] = {}
    troubles: list[str] = []
    entries: dict[str, list[tuple[str, str, bool]]] = {group: [] for group in GROUPS}
    known = [*_blocks(words), *words]
    for name in dict.fromkeys([*(name for name in FILED if name in known), *known]):
        word = words.get(name)
        scene = scenes().get(name) or Scene(name, texts={PIECE: f"{EXAMPLE}\n"})
        svg, why = _drawn(scene, word)
        if svg is None:
            troubles.append(f"{name}: {why}")
        else:
            found[f"{name}.svg"] = svg
        found[f"{name}.md"] = _page(scene, word, svg is not None).encode("utf-8")
        what = word.help if word else scene.prose.split("\n\n")[0].replace("\n", " ")
        entries.setdefault(FILED.get(name, FURTHER), []).append((name, what, svg is not None))
    found |= pictured()
    found["README.md"] = _index(entries).encode("utf-8")
    return Pages(found, tuple(troubles))


def _blocks(words: Mapping[str, Word]) -> list[str]:
    """Scenes of what has no record: the blocks and the placing clauses."""
    return [name for name in scenes() if name not in words]


def _drawn(scene: Scene, word: Word | None) -> tuple[bytes | None, str]:
    example = word.example if word else ""
    texts = scene.texts.values()
    if word is not None and not any(EXAMPLE in text or _uses(text, word.name) for text in texts):
        return None, "its scene does not use it"
    return drawing(built_scene(scene, example), scene.name, scene.view)


def _uses(text: str, name: str) -> bool:
    """Whether a line of work of ``text`` begins with the word."""
    firsts = (line.split(maxsplit=1)[:1] for line in text.split("\n"))
    return any(first and first[0].rstrip(":") == name for first in firsts)


def _page(scene: Scene, word: Word | None, drawn: bool) -> str:
    lines = [f"# {scene.name}", "", f"*{FILED.get(scene.name, FURTHER)}{_made(word)}*", ""]
    if word:
        lines += [word.help, ""]
    if scene.prose:
        lines += [scene.prose, ""]
    if drawn:
        lines += [f"![{scene.name}]({scene.name}.svg)", ""]
    for path, text in scene.with_example(word.example if word else "").items():
        if path != PIECE:
            lines += [f"and in the file `{path}`:", ""]
        lines += ["```posy", text.strip("\n"), "```", ""]
    if word:
        lines += _clauses(word)
    elif scene.name == "placing":
        lines += ["## Clauses", "", *table(PLACING, Word("placing", "", ""))]
        rows = [f"| `{name} of …` | {_cell(what)} |" for name, what in SIDES.items()]
        lines += ["## Places on all that is metal", "", _ON_METAL, ""]
        lines += ["| asked | what it is |", "|---|---|", *rows, ""]
    lines += ["[all words](README.md)", "", f"{MARK}{REFRESH} -->"]
    return "\n".join(lines) + "\n"


def _made(word: Word | None) -> str:
    """Whether the word is written in posy, and where."""
    if word is None or word.body is None:
        return ""
    path = next((p for p in standard_texts() if p.endswith(f"/{word.name}.posy")), None)
    if path is None:
        return ", written in posy"
    place = path.removeprefix(f"{FOLDER}/")
    return f", written in posy: [{place.rpartition('/')[2]}](../words/{place})"


def _clauses(word: Word) -> list[str]:
    """Clauses, choices and offers of a word."""
    lines: list[str] = []
    if word.takes:
        lines += ["## Clauses", "", *table(word.takes, word)]
    for names in word.one_of:
        turns = ", ".join(f"`{name}`" for name in word.by_turns)
        more = f"; beside {turns} several, which take turns along the row" if turns else ""
        lines += ["Just one of " + ", ".join(f"`{name}`" for name in names) + more + ".", ""]
    if word.places:
        lines += ["The [placing clauses](placing.md) go with it too.", ""]
    if handed_down(word):
        keys = " and ".join(f"`{key}`" for key in handed_down(word))
        lines += [f"{keys}, said here, hold for all it makes, as on a [workpiece](workpiece.md).", ""]
    if served(word):
        lines += [f"What it makes serves as {served(word)}.", ""]
    for take in word.takes:
        if len(take.choices) > FEW:
            listed = ", ".join(f"`{choice}`" for choice in take.choices)
            lines += [f"`{take.name}` is one of {listed}.", ""]
    if asked := offered(word):
        rows = [f"| `{key} of …` | {_cell(what)} |" for key, what in asked.items()]
        lines += ["## Offers", "", "| asked | what it is |", "|---|---|", *rows, ""]
    return lines


def table(takes: Sequence[Take], word: Word) -> list[str]:
    """Clauses as a Markdown table."""
    rows = [f"| `{take.name}` | {_cell(how_written(take, word))} | {_cell(take.help)} |" for take in takes]
    return ["| clause | value | what it says |", "|---|---|---|", *rows, ""]


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", " ")


def _index(entries: Mapping[str, Sequence[tuple[str, str, bool]]]) -> str:
    lines = [_INTRODUCTION]
    for group, words in entries.items():
        if words:
            head = GROUPS.get(group, group)
            lines += [f"## {head[:1].upper()}{head[1:]}", "", *_gallery(words), ""]
    return "\n".join([*lines, f"{MARK}{REFRESH} -->"]) + "\n"


def _gallery(words: Sequence[tuple[str, str, bool]]) -> list[str]:
    """Drawings side by side, each with its word and help."""
    lines = ["| " + " | ".join([" "] * _COLUMNS) + " |", "|" + "---|" * _COLUMNS]
    for start in range(0, len(words), _COLUMNS):
        row = []
        for name, what, drawn in words[start : start + _COLUMNS]:
            picture = f'<img src="{name}.svg" width="170" alt=""><br>' if drawn else ""
            row.append(f"{picture}[**{name}**]({name}.md)<br>{_cell(what)}")
        row += [""] * (_COLUMNS - len(row))
        lines.append("| " + " | ".join(row) + " |")
    return lines


# -- writing ----------------------------------------------------------------------------------


def write_pages(folder: Path) -> tuple[list[Path], list[Fault], tuple[str, ...]]:
    """Write all pages, and remove generated ones of words there are no more.

    Gives the paths, faults of writing, and the troubles. A file of the same name that is not ours is a fault
    (``file-exists``), and nothing is written."""
    from ..files.atomic import write_set

    strange = [path for path in map(folder.joinpath, _names()) if path.exists() and not _ours(path)]
    if strange:
        said = "is there already and is not a page of the reference"
        return [], [
            Fault("file-exists", f"{path} {said}", remedy="name an empty folder") for path in strange
        ], ()  # fmt: skip
    made = pages()
    old = left_over(folder, made)
    written, faults = write_set({folder / name: data for name, data in made.files.items()})
    if not faults:
        for path in old:
            path.unlink()
    return written, faults, made.troubles


def _names() -> list[str]:
    words = all_words()
    known = dict.fromkeys([*_blocks(words), *words])
    own = [f"{name}{ending}" for name in known for ending in (".md", ".svg")]
    return ["README.md", *first_page_names(), *own]


def left_over(folder: Path, made: Pages) -> list[Path]:
    """Generated pages and drawings in ``folder`` of words there are no more."""
    if not folder.is_dir():
        return []
    return [
        path
        for path in sorted(folder.iterdir())
        if path.suffix in (".md", ".svg") and path.name not in made.files and _ours(path)
    ]


def _ours(path: Path) -> bool:
    """Whether a page is generated; a drawing is if its page is."""
    page = path.with_suffix(".md")
    if path.suffix == ".svg" and not page.is_file():
        page = path.with_name("README.md")  # a picture that several pages show
    return page.is_file() and MARK in page.read_text("utf-8", "replace")
