"""What each command may be told, read from manual.json, and how the values are read.

Help, reading, README and tests are made from these records. Free of numpy: every command reads them.

In manual.json stand what most commands name (a piece, or several); then each command: what it does in
half a sentence, details, what it gives back, what stands after it by itself, examples, its options in order;
then each option by its name, or by "command --option" where it says something else there: what it does, what
stands after it (nothing for a plain yes), an example of that, what holds without it."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib import resources
from typing import Any

from ..drawing.names import USUAL as USUAL_VIEWS
from ..drawing.names import VIEW_HELP
from ..files.formats import FORMATS
from ..files.formats import USUAL as USUAL_FORMATS
from ..page.names import STILLS
from ..pages.starter import KINDS, LESSONS
from ..picture.names import FINISHES, GROUNDS, LOOKS, RESTS
from ..terminal import options as shared
from ..terminal.forms import Command, Misuse, Names, Option, listed, one_of

LEAST_PIXELS, MOST_PIXELS, MOST_TURNS = 64, 4096, 360
MOST_ORDERED, MOST_WAXES = 10_000, 1000
FINEST_GRID, COARSEST_GRID = 0.05, 2.0  # mm
RECEIVERS: Mapping[str, str] = {
    "caster": "who prints and casts it",
    "setter": "who sets the stones",
    "stones": "who sells the stones",
    "all": "each of them",
}
_EACH = tuple(name for name in RECEIVERS if name != "all")


def lesson(text: str) -> int:
    """The number of a lesson."""
    if text not in map(str, LESSONS):
        raise Misuse(f"there are lessons 1 to {LESSONS[-1]}, not {text}")
    return int(text)


def ground(text: str) -> str:
    """A colour as #rrggbb, by name or as such."""
    given = GROUNDS.get(text, text).lower()
    if not re.fullmatch(r"#[0-9a-f]{6}", given):
        raise Misuse(f"'{text}' is no ground: write {', '.join(GROUNDS)}, or a colour such as #e8e2d8")
    return given


def metals(text: str) -> tuple[str, ...]:
    """Names of metals with commas between, each one metal, in the order given."""
    return tuple(shared.metal(one.strip()) for one in text.split(",") if one.strip())


def pixels(text: str) -> tuple[int, int]:
    """``800x600`` as a pair."""
    found = re.fullmatch(r"(\d+)x(\d+)", text.strip().lower())
    if not found:
        raise Misuse(f"'{text}' is not a size such as 800x600")
    wide, tall = int(found[1]), int(found[2])
    if not all(LEAST_PIXELS <= side <= MOST_PIXELS for side in (wide, tall)):
        raise Misuse(f"{text} is out of range: from {LEAST_PIXELS} to {MOST_PIXELS} pixels a side")
    return wide, tall


def pitch(text: str) -> float:
    """How wide the cells are, mm."""
    return shared.length(text, "0.2mm", FINEST_GRID, COARSEST_GRID)


def receivers(text: str) -> tuple[str, ...]:
    """Receivers with commas between; ``all`` is every one."""
    names = listed("receiver", tuple(RECEIVERS))(text)
    return _EACH if "all" in names else names


@dataclass(frozen=True)
class _Value:
    """How the value of an option is read, what the command gets without it, and what fills the braces of
    its text: the ``choices`` there are, and the ``shown`` one without it."""

    read: Callable[[str], Any] = str
    usual: Any = None
    choices: str = ""
    shown: str = ""


_FINISH = shared.described({name: said for name, (_, said) in FINISHES.items()})
# By option as in manual.json; the others take any text, or none.
_VALUES = {
    "--of": _Value(one_of(*KINDS), None, shared.described(KINDS), next(iter(KINDS))),
    "--lesson": _Value(lesson),
    "--set": _Value(shared.setting),
    "--metal": _Value(shared.metal),
    "weigh --metal": _Value(shared.alloys, ()),
    "picture --metal": _Value(metals, ()),
    "cost --metal": _Value(shared.alloys, ()),
    "--alloys": _Value(shared.alloys),
    "--show": _Value(one_of("full", "lines", "data"), "full"),
    "--as": _Value(
        listed("kind of file", tuple(FORMATS)), USUAL_FORMATS, shared.described(FORMATS),
        ",".join(USUAL_FORMATS),
    ),
    "--shrink": _Value(shared.share, 0.0),
    "--tolerance": _Value(shared.tolerance, None, f"{shared.FINEST} to {shared.COARSEST}"),
    "--views": _Value(
        listed("view", tuple(VIEW_HELP)), None, shared.described(VIEW_HELP), ",".join(USUAL_VIEWS)
    ),
    "--stone": _Value(shared.whole("no number of a stone", 10**9)),
    "--also": _Value(listed("kind of file", ("pdf", "png")), ()),
    "--rest": _Value(one_of(*RESTS), None, shared.described(RESTS)),
    "--look": _Value(one_of(*LOOKS), "corner", shared.described(LOOKS)),
    "--surface": _Value(one_of(*FINISHES), "polished", _FINISH),
    "--ground": _Value(ground, GROUNDS["pale"], ", ".join(GROUNDS)),
    "--size": _Value(pixels, (800, 600)),
    "--turn": _Value(shared.whole(f"not a number of pictures from 2 to {MOST_TURNS}", MOST_TURNS, 2)),
    "--stills": _Value(listed("picture", tuple(STILLS)), None, shared.described(STILLS)),
    "--last": _Value(shared.count, 20),
    "--waxes": _Value(shared.whole(f"no number of pieces from 1 to {MOST_WAXES}", MOST_WAXES)),
    "--grid": _Value(pitch, None, f"{FINEST_GRID} to {COARSEST_GRID}"),
    "--date": _Value(shared.day),
    "--to": _Value(receivers, _EACH, shared.described(RECEIVERS)),
    "--count": _Value(shared.whole(f"no number of pieces from 1 to {MOST_ORDERED:,}", MOST_ORDERED), 1),
}


def _option(key: str, told: Mapping[str, Any]) -> Option:
    value = _VALUES.get(key, _Value(usual=None if "value" in told else False))
    fill = {"choices": value.choices, "usual": value.shown}
    texts = {name: told.get(name, "").format(**fill) for name in ("says", "without")}
    return Option(key.split()[-1], **{**told, **texts}, read=value.read, usual=value.usual)


def _commands() -> dict[str, Command]:
    told = json.loads((resources.files(__package__) / "manual.json").read_text("utf-8"))
    options = {key: _option(key, one) for key, one in told["options"].items()}
    return {
        name: Command(
            name, one["what"], one["details"],
            Names(**(told["names"][one["names"]] if isinstance(one["names"], str) else one["names"])),
            one["gives"], tuple(one["examples"]), tuple(options[key] for key in one["options"]),
        )
        for name, one in told["commands"].items()
    }  # fmt: skip


COMMANDS = _commands()
"""The commands by name, in the order one meets them. Each is the module of that name beside this
one, loaded when asked for: it has run(arguments) -> exit code."""
