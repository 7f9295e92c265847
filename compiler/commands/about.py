"""`posy about`: what is installed, what is missing, and whether it works."""

from __future__ import annotations

import platform
import re
import shutil
import sys
from dataclasses import dataclass
from importlib import metadata
from math import pi
from pathlib import Path
from typing import Any

from ...lang.build import VERSION
from ...lang.folding import fold, in_columns
from ..terminal import options as shared
from ..terminal.forms import Arguments
from ..terminal.output import tell_data
from ..terminal.remarks import width_for

DISTRIBUTION = "posy-lang"
_OURS = frozenset(("test", "dev"))  # extras for those who work on posy
_FOR = {
    "dask": "a series made by other machines: posy make --series --on",
    "editor": "an editor's questions answered: posy editor",
    "picture": "pictures as a customer sees the piece: posy picture",
}
_WORD = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")
# A disc is a cylinder: its volume is known without any of this.
_ACROSS, _HIGH = 10.0, 2.0
_TINY = f'piece "Tiny disc"\n  metal silver-925\n\ndisc blank: across {_ACROSS:g} mm, thick {_HIGH:g} mm\n'


@dataclass(frozen=True)
class Library:
    """A library posy asks for: the ``version`` that is there ("" for none), what is ``wanted``."""

    name: str
    version: str
    wanted: str


def run(arguments: Arguments) -> int:
    """Tell it all; make a piece, the tiny one unless one is named."""
    needed, extras = libraries()
    made = _made(arguments.piece)
    if arguments.show == "data":
        tell_data("about", **_record(needed, extras, made))
    else:
        print("\n".join(_lines(needed, extras, made, width_for(sys.stdout))))
    return shared.DONE if made["right"] else shared.FAULTS


def libraries() -> tuple[list[Library], dict[str, list[Library]]]:
    """The libraries posy needs, and those of each extra."""
    needed: list[Library] = []
    extras: dict[str, list[Library]] = {}
    for line in metadata.requires(DISTRIBUTION) or ():
        asked, _, marker = line.partition(";")
        extra = re.search(r"extra\s*==\s*['\"]([\w-]+)['\"]", marker)
        one = _library(asked.strip())
        if extra is None:
            needed.append(one)
        elif extra[1] not in _OURS and one.name != DISTRIBUTION:
            extras.setdefault(extra[1], []).append(one)
    return needed, extras


def _library(asked: str) -> Library:
    name = _WORD.match(asked)[0]  # type: ignore[index]
    try:
        version = metadata.version(name)
    except metadata.PackageNotFoundError:
        version = ""
    return Library(name, version, asked[len(name) :].strip())


def _made(path: str | None) -> dict[str, Any]:
    """A piece made, with its figures; ``right`` when it came out as it must."""
    from time import perf_counter

    from ...lang.loader import Texts
    from ..files.digits import shown
    from ..judging.remark import tally
    from ..making.pipeline import build
    from ..making.weights import weigh

    begun = perf_counter()
    files = Texts({"tiny.posy": _TINY}) if path is None else None
    built = build(path or "tiny.posy", files=files)
    weights, _ = weigh(built)
    told = {
        "file": path, "title": built.title, "seconds": round(perf_counter() - begun, 2),
        "remarks": tally(built.faults), "right": built.made and weights is not None,
    }  # fmt: skip
    if weights is None:
        return told
    volume = sum(part.volume for part in weights.parts)
    told |= {"grams": shown(weights.grams, weights.grams_error), "volume_mm3": shown(volume, most=2)}
    if path is None:
        exact = pi / 4 * _ACROSS**2 * _HIGH
        told |= {"reckoned_mm3": shown(exact, most=2), "right": abs(volume / exact - 1) < 1e-3}
    return told


def _lines(
    needed: list[Library], extras: dict[str, list[Library]], made: dict[str, Any], width: int
) -> list[str]:
    home = Path(__file__).parents[2]
    there = ((one.name, one.version or "missing", one.wanted) for one in needed)
    rows = [(name, ", wanted ".join(filter(None, (version, wanted)))) for name, version, wanted in there]
    git = shutil.which("git")
    told = [
        *fold(f"posy {metadata.version(DISTRIBUTION)}, the language in version {VERSION}", width),
        *fold(f"Python {platform.python_version()}, {platform.system()} {platform.machine()}", width),
        *fold(f"in {home}", width), "", "Libraries", *in_columns(rows, width), "", "Extras",
        *in_columns([(name, _extra(name, some)) for name, some in extras.items()], width),
        *in_columns([("git", "there, for posy since and history" if git else
                      "missing: posy then keeps the history of a piece by itself")], width),
        "", *fold(_told(made), width),
    ]  # fmt: skip
    return told


def _extra(name: str, some: list[Library]) -> str:
    """Whether an extra is there, else how to get it, and what for."""
    what = _FOR.get(name, "")
    if all(one.version for one in some):
        return f"there{f': {what}' if what else ''}"
    return f"missing{f' ({what})' if what else ''}; pip install '{DISTRIBUTION}[{name}]'"


def _told(made: dict[str, Any]) -> str:
    if "grams" not in made:
        return f"{made['title']}: not made; {made['remarks']}"
    exact = f" (worked out by hand {made['reckoned_mm3']} mm3)" if "reckoned_mm3" in made else ""
    right = "" if made["right"] else ". That is not right: install posy anew"
    return (
        f"{made['title']}: {made['grams']} g, {made['volume_mm3']} mm3{exact}, {made['remarks']}, made in "
        f"{made['seconds']} s{right}"
    )


def _record(needed: list[Library], extras: dict[str, list[Library]], made: dict[str, Any]) -> dict[str, Any]:
    def rows(some: list[Library]) -> list[dict[str, str | None]]:
        return [{"name": one.name, "version": one.version or None, "wanted": one.wanted} for one in some]

    return {
        "version": metadata.version(DISTRIBUTION), "language": VERSION, "python": platform.python_version(),
        "libraries": rows(needed), "extras": {name: rows(some) for name, some in extras.items()},
        "made": made,
    }  # fmt: skip
