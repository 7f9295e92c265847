"""The first page: a pendant line by line with pictures; and pictures that several pages show."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from importlib.resources import files

from .pictures import directions, set_stones
from .scenes import PIECE, Scene, built_scene, drawing, read_scenes

NAME = "first-pendant"
_MADE = "<!-- generated: posy words --pages stdlib/reference -->"


@cache
def _steps() -> tuple[Scene, ...]:
    """The steps, each with the lines it adds."""
    text = files("posy.stdlib").joinpath(f"reference/{NAME}.txt").read_text("utf-8")
    return tuple(read_scenes(text).values())


def steps() -> Iterator[tuple[Scene, str]]:
    """Each step with the whole text so far."""
    text = ""
    for step in _steps():
        text += step.texts[PIECE].lstrip("\n")
        yield step, text


def first_page_names() -> list[str]:
    """The names of the files below."""
    pictures = (f"{NAME}-{step.name}.svg" for step in _steps())
    return [f"{NAME}.md", "directions.svg", "set-stone.svg", *pictures]


def pictured() -> dict[str, bytes]:
    """The page, a drawing for each of its steps, and the pictures other pages show."""
    found = {"directions.svg": directions(), "set-stone.svg": set_stones()}
    lines = ["# Your first pendant", "", "*A silver disc with a moonstone, for a lantern walk.*", ""]
    for step, text in steps():
        svg, why = drawing(built_scene(Scene(step.name, texts={PIECE: text})), NAME, step.view)
        if svg is None:
            raise ValueError(f"{NAME}.txt, step {step.name}: {why}")
        found[f"{NAME}-{step.name}.svg"] = svg
        added = step.texts[PIECE].strip("\n")
        lines += [f"## {step.name}", "", step.prose, ""]
        lines += ["```posy", added, "```", ""] if added else ["```posy", text.strip("\n"), "```", ""]
        lines += [f"![step {step.name}]({NAME}-{step.name}.svg)", ""]
    lines += ["[all words](README.md)", "", _MADE]
    found[f"{NAME}.md"] = ("\n".join(lines) + "\n").encode("utf-8")
    return found
