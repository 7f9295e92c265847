"""`posy make`: make pieces and write their print files."""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from typing import Any

from ..judging.remark import tally
from ..making.result import Built
from ..terminal import options as shared
from ..terminal import output as out
from ..terminal import run as making
from ..terminal.forms import Arguments, Misuse
from ..terminal.remarks import wants_colour
from . import series
from .series import Making


@dataclass
class Made(out.Outcome):
    """One making of a piece."""

    making: Making = field(default_factory=Making)


def run(arguments: Arguments) -> int:
    """Build every piece; the exit code is that of the worst."""
    out.no_clashes(arguments, "files")
    if arguments.series:
        return series.run(arguments)
    if arguments.on is not None:
        raise Misuse("--on has a series made by other machines; add --series")
    found = (_kept(make(path, arguments, Making()), arguments) for path in arguments.pieces)
    return out.tell_all("make", found, arguments, _record, _show, arguments.strict)


def _kept(outcome: Made, arguments: Arguments) -> Made:
    """Keep what was made as its text says, where git keeps no history of it."""
    from ..history.lookup import keeps_its_own

    as_written = not arguments.set and arguments.metal is None
    if outcome.files and as_written and keeps_its_own(outcome.built.path):
        from ..history.kept import keep

        outcome.faults = (*outcome.faults, *keep(outcome.built))
    return outcome


def make(path: str, arguments: Arguments, one: Making) -> Made:
    """Build one piece and write its files."""
    built = making.built_piece(path, arguments, settings=one.settings, metal=one.metal, rest=True, tried=True)
    if making.exit_code(built.faults, strict=arguments.strict) != shared.DONE or not built.made:
        return Made(built, built.faults, making=one)
    written, faults = out.write_files(built, arguments, one.label)
    return Made(built, (*built.faults, *faults), written, one)


def _show(outcome: Made, arguments: Arguments) -> None:
    built = outcome.built
    out.tell(built, outcome.faults, arguments, sys.stderr)
    if arguments.show == "lines":
        for path, size in outcome.files.items():
            print(f"{path}: {size} bytes")
        return
    colour = wants_colour(sys.stdout, arguments.no_colour)
    if outcome.files:
        name = " ".join(part for part in (built.path, outcome.making.label) if part)
        out.say(f"{name}: {headline(built)}", tint="bold" if colour else "")
        for path, size in outcome.files.items():
            out.say(f"  {path}  {out.shown_size(size)}")
    else:
        out.say(f"{built.path}: {tally(outcome.faults)}, no files written")


def headline(built: Built) -> str:
    """Title, metal, weight and stones in one line."""
    from ..files.digits import shown
    from ..files.stone_weights import stones_said
    from ..making.weights import weigh

    weights, _ = weigh(built)
    if weights is None:
        return f"{built.title}, {built.metal}"
    text = f"{built.title}, {out.as_cast(weights)}"
    if weights.bought:
        text += f", bought parts {out.bench_grams(sum(part.grams for part in weights.bought))} g"
    stones = stones_said(weights, lambda of: f" {shown(of.carats)} ct")
    return f"{text}, {stones}" if stones else text


def _record(outcome: Made) -> dict[str, Any]:
    built = outcome.built
    return {
        "file": built.path, "making": outcome.making.label, "title": built.title, "metal": built.metal,
        "made": built.made, "files": out.sized(outcome.files), **out.remarks_data(built, outcome.faults),
    }
