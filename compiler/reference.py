"""The reference: a page for every word, from the record that defines it and a drawing of its scene.

The scenes (``stdlib/reference/scenes.txt``) are small pieces round the words' own examples; blocks
such as ``measure``, which have no record, say there what they are. ``posy words --pages FOLDER``
writes the pages; a test wants those of stdlib/reference to be fresh.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from pathlib import Path

from ..lang.faults import Fault, Level
from ..lang.loader import Texts
from ..lang.placing import PLACING
from ..lang.words import Word
from .commands.words import FEW, how_written
from .result import Built
from .standard import all_words, standard_texts

GROUPS = (
    "blocks", "shapes", "lines", "work", "stones", "settings", "decoration", "findings",
)  # fmt: skip
REFRESH = "posy words --pages stdlib/reference"
EXAMPLE = "{example}"
VIEW = "corner"
TOLERANCE = 0.01  # mm: a drawing of some 70 mm of paper shows no more
SIZE = (72.0, 54.0)  # mm of paper
_COLUMNS = 4
_PIECE = "scene.posy"


@dataclass(frozen=True)
class Scene:
    """What a page shows: the files of the piece (``_PIECE`` first), and words about a block."""

    name: str
    group: str = ""
    view: str = VIEW
    prose: str = ""
    texts: Mapping[str, str] = field(default_factory=dict)

    def with_example(self, example: str) -> Mapping[str, str]:
        """The files with the word's own example where the scene wants it."""
        shown = example.strip("\n")
        return {path: text.replace(EXAMPLE, shown) for path, text in self.texts.items()}


@dataclass(frozen=True)
class Pages:
    """All files by name, and what is wrong: "WORD: why there is no drawing"."""

    files: Mapping[str, bytes]
    troubles: tuple[str, ...]


# -- scenes ------------------------------------------------------------------------------------


@cache
def scenes() -> Mapping[str, Scene]:
    """The scenes by word, in the order of their file."""
    text = files("posy.stdlib").joinpath("reference/scenes.txt").read_text("utf-8")
    return read_scenes(text)


def read_scenes(text: str) -> dict[str, Scene]:
    """Scenes from their file; ValueError with the line where it cannot be read."""
    found: dict[str, Scene] = {}
    parts: list[tuple[int, list[str]]] = []
    for number, line in enumerate(text.split("\n"), 1):
        if line.startswith("== "):
            parts.append((number, [line]))
        elif parts:
            parts[-1][1].append(line)
        elif line.strip() and not line.startswith("#"):
            raise ValueError(f"scenes.txt:{number}: a scene begins with `== WORD`")
    for number, lines in parts:
        scene = _scene(number, lines)
        if scene.name in found:
            raise ValueError(f"scenes.txt:{number}: there is a scene of {scene.name} already")
        found[scene.name] = scene
    return found


def _scene(number: int, lines: list[str]) -> Scene:
    """One scene from its lines, the head first."""
    name, *settings = (part.strip() for part in lines[0][3:].split(","))
    known = {"group": "", "view": VIEW}
    for setting in settings:
        key, _, value = setting.partition(" ")
        if key not in known or (key == "group" and value not in GROUPS):
            raise ValueError(f"scenes.txt:{number}: {setting!r} says neither group nor view")
        known[key] = value
    prose: list[str] = []
    texts: dict[str, list[str]] = {_PIECE: []}
    here = _PIECE
    for line in lines[1:]:
        if line.startswith("|"):
            prose.append(line[1:])
        elif line.startswith("@"):
            here = line[1:].strip()
            texts[here] = []
        else:
            texts[here].append(line)
    whole = {path: "\n".join(body).strip("\n") + "\n" for path, body in texts.items()}
    return Scene(name, known["group"], known["view"], "\n".join(prose), whole)


def built_scene(scene: Scene, example: str = "") -> Built:
    """The piece of a scene, with metal; stones alone will do where there is none."""
    from .build import build

    return build(
        _PIECE,
        files=Texts(scene.with_example(example)),
        tolerance=TOLERANCE,
        check_metal=False,
    )


def drawing(built: Built, title: str, view: str) -> tuple[bytes | None, str]:
    """The SVG of a built scene, or None and why there is none."""
    from .drawing.scene import scene_of
    from .drawing.sheet import picture_of

    faults = [fault for fault in built.faults if _forbids(fault, built)]
    if faults:
        return None, f"{faults[0].code}: {faults[0].message}"
    drawn = scene_of(built)
    if drawn is None:
        return None, "there is nothing to draw"
    return picture_of(drawn, title, view, *SIZE), ""


def _forbids(fault: Fault, built: Built) -> bool:
    """Faults that stop a drawing; stones may be shown without metal."""
    return fault.level is Level.FAULT and not (fault.code == "no-metal" and built.stones)


# -- pages -------------------------------------------------------------------------------------


def pages(words: Mapping[str, Word] | None = None) -> Pages:
    """Every page and drawing, and the index ``README.md``."""
    words = all_words() if words is None else words
    found: dict[str, bytes] = {}
    troubles: list[str] = []
    entries: dict[str, list[tuple[str, str, bool]]] = {group: [] for group in GROUPS}
    for name in dict.fromkeys([*_blocks(words), *words]):
        word = words.get(name)
        scene = scenes().get(name) or Scene(name, texts={_PIECE: f"{EXAMPLE}\n"})
        svg, why = _drawn(scene, word)
        if svg is None:
            troubles.append(f"{name}: {why}")
        else:
            found[f"{name}.svg"] = svg
        found[f"{name}.md"] = _page(scene, word, svg is not None).encode("utf-8")
        entries.setdefault(_group(scene, word), []).append((name, _help(scene, word), svg is not None))
    found["README.md"] = _index(entries).encode("utf-8")
    return Pages(found, tuple(troubles))


def _blocks(words: Mapping[str, Word]) -> list[str]:
    """Scenes of what has no record: the blocks and the placing clauses."""
    return [name for name in scenes() if name not in words]


def _drawn(scene: Scene, word: Word | None) -> tuple[bytes | None, str]:
    example = word.example if word else ""
    if word is not None and not any(EXAMPLE in text for text in scene.texts.values()):
        used = any(_uses(text, word.name) for text in scene.texts.values())
        if not used:
            return None, "its scene does not use it"
    built = built_scene(scene, example)
    return drawing(built, scene.name, scene.view)


def _uses(text: str, name: str) -> bool:
    """Whether a line of work of ``text`` begins with the word."""
    firsts = (line.split(maxsplit=1)[:1] for line in text.split("\n"))
    return any(first and first[0].rstrip(":") == name for first in firsts)


def _group(scene: Scene, word: Word | None) -> str:
    """Where the index files it: as its scene says, else its record."""
    if scene.group:
        return scene.group
    return word.group if word and word.group in GROUPS else "work"


def _help(scene: Scene, word: Word | None) -> str:
    """What it is in a sentence or two."""
    return word.help if word else scene.prose.split("\n\n")[0].replace("\n", " ")


def _page(scene: Scene, word: Word | None, drawn: bool) -> str:
    """One page."""
    lines = [f"# {scene.name}", "", f"*{_group(scene, word)}{_made(word)}*", ""]
    if word:
        lines += [word.help, ""]
    if scene.prose:
        lines += [scene.prose, ""]
    if drawn:
        lines += [f"![{scene.name}]({scene.name}.svg)", ""]
    for path, text in scene.with_example(word.example if word else "").items():
        if path != _PIECE:
            lines += [f"and in the file `{path}`:", ""]
        lines += ["```posy", text.strip("\n"), "```", ""]
    if word:
        lines += _clauses(word)
    elif scene.name == "placing":
        lines += ["## Clauses", "", *table(PLACING, Word("", "", ""))]
    lines += ["[all words](README.md)", "", f"<!-- generated: {REFRESH} -->"]
    return "\n".join(lines) + "\n"


def _made(word: Word | None) -> str:
    """Whether the word is written in posy, and where."""
    if word is None or word.body is None:
        return ""
    path = next((p for p in standard_texts() if p.endswith(f"/{word.name}.posy")), None)
    if path is None:
        return ", written in posy"
    name = path.rpartition("/")[2]
    return f", written in posy: [{name}](../words/{name})"


def _clauses(word: Word) -> list[str]:
    """Clauses, choices and offers of a word."""
    lines: list[str] = []
    if word.takes:
        lines += ["## Clauses", "", *table(word.takes, word)]
    for names in word.one_of:
        lines += ["Just one of " + ", ".join(f"`{name}`" for name in names) + ".", ""]
    if word.places:
        lines += ["The [placing clauses](placing.md) go with it too.", ""]
    for take in word.takes:
        if len(take.choices) > FEW:
            listed = ", ".join(f"`{choice}`" for choice in take.choices)
            lines += [f"`{take.name}` is one of {listed}.", ""]
    if word.offers:
        rows = [f"| `{key} of …` | {_cell(what)} |" for key, what in word.offers.items()]
        lines += ["## Offers", "", "| asked | what it is |", "|---|---|", *rows, ""]
    return lines


def table(takes: Sequence, word: Word) -> list[str]:  # type: ignore[type-arg]
    """Clauses as a Markdown table."""
    rows = [
        f"| `{take.name}` | {_cell(how_written(take, word))} | {_cell(take.help)} |"
        for take in takes
    ]
    return ["| clause | value | what it says |", "|---|---|---|", *rows, ""]


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", " ")


def _index(entries: Mapping[str, Sequence[tuple[str, str, bool]]]) -> str:
    """The index: by group, with a drawing of each."""
    lines = [
        "# The words of posy",
        "",
        "Every word with a piece that shows it, drawn by posy itself from the text on its page. What "
        "holds the words together is told in [the language](../../lang/LANGUAGE.md).",
        "",
    ]
    for group, words in entries.items():
        if words:
            lines += [f"## {group.capitalize()}", "", *_gallery(words), ""]
    return "\n".join([*lines, f"<!-- generated: {REFRESH} -->"]) + "\n"


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


# -- writing and comparing -----------------------------------------------------------------------


def write_pages(folder: Path) -> tuple[list[Path], list[Fault], tuple[str, ...]]:
    """Write all pages, and remove generated ones no word has any more. Gives the paths, faults
    of writing, and the troubles."""
    from .files.atomic import write_set

    made = pages()
    written, faults = write_set({folder / name: data for name, data in made.files.items()})
    if not faults:
        for old in left_over(folder, made):
            old.unlink()
    return written, faults, made.troubles


def left_over(folder: Path, made: Pages) -> list[Path]:
    """Pages and drawings in ``folder`` of words there are no more."""
    return [
        path
        for path in sorted(folder.iterdir())
        if path.suffix in (".md", ".svg") and path.name not in made.files
    ]
