"""The scenes of the reference: a small piece for each word, that its page shows.

One file, ``stdlib/reference/scenes.txt``; its own first lines say how it is written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files

from ...lang.faults import Level
from ...lang.loader import Texts
from ..drawing.names import VIEW_HELP
from ..making.result import Built

EXAMPLE = "{example}"
PIECE = "scene.posy"  # the piece itself among the files of a scene
VIEW = "corner"
TOLERANCE = 0.005  # mm: a drawing of some 70 mm of paper shows no more
SIZE = (72.0, 54.0)  # mm of paper


@dataclass(frozen=True)
class Scene:
    """What a page shows: the files of the piece (``PIECE`` first), and words about a block."""

    name: str
    view: str = VIEW
    prose: str = ""
    texts: Mapping[str, str] = field(default_factory=dict)

    def with_example(self, example: str) -> Mapping[str, str]:
        """The files with the word's own example where the scene wants it."""
        shown = example.strip("\n")
        return {path: text.replace(EXAMPLE, shown) for path, text in self.texts.items()}


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
    known = {"view": VIEW}
    for setting in settings:
        key, _, value = setting.partition(" ")
        if key not in known or value not in VIEW_HELP:
            raise ValueError(f"scenes.txt:{number}: {setting!r} says no view")
        known[key] = value
    prose: list[str] = []
    texts: dict[str, list[str]] = {PIECE: []}
    here = PIECE
    for line in lines[1:]:
        if line.startswith("|"):
            prose.append(line[1:])
        elif line.startswith("@"):
            here = line[1:].strip()
            texts[here] = []
        else:
            texts[here].append(line)
    whole = {path: "\n".join(body).strip("\n") + "\n" for path, body in texts.items()}
    return Scene(name, known["view"], "\n".join(prose), whole)


def built_scene(scene: Scene, example: str = "") -> Built:
    """The piece of a scene, with metal; stones alone will do where there is none."""
    from ..making.pipeline import build

    return build(PIECE, files=Texts(scene.with_example(example)), tolerance=TOLERANCE, check_metal=False)


def drawing(built: Built, title: str, view: str) -> tuple[bytes | None, str]:
    """The SVG of a built scene, or None and why there is none."""
    from ..drawing.scene import scene_of
    from ..drawing.sheet import picture_of

    grave = (fault for fault in built.faults if fault.level is Level.FAULT)
    faults = [fault for fault in grave if not (fault.code == "no-metal" and built.stones)]
    if faults:
        return None, f"{faults[0].code}: {faults[0].message}"
    drawn = scene_of(built)
    if drawn is None:
        return None, "there is nothing to draw"
    return picture_of(drawn, title, view, *SIZE), ""
