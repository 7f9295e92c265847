"""`posy build`: make pieces and write their print files."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from dataclasses import field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ...lang.faults import Fault
from ...lang.lean import dataclass
from ..judging.messages import (
    finding_record,
    findings_text,
    tally,
    tinted,
    waiver_record,
    waivers_text,
    wants_colour,
)
from ..making.result import Built
from ..terminal import options as shared
from ..terminal import run as making
from ..terminal.output import folder_of, shown_size, write_files
from . import series
from .series import Making

if TYPE_CHECKING:
    from ..making.session import Session

DETAILS = (
    "The files go into the folder out beside each piece, all at once and only when the piece "
    "has no faults: a good file is never replaced by nothing."
)
EXAMPLES = (
    "posy build ring.posy",
    "posy build ring.posy --set across=2.8mm --metal gold-585-yellow --as stl,3mf --into prints",
    "posy build ring.posy --series",
)


@dataclass
class Outcome:
    """One making of a piece: what was built, the files written with sizes, all findings."""

    built: Built
    making: Making
    written: dict[Path, int] = field(default_factory=dict)
    faults: tuple[Fault, ...] = ()


def options(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    shared.piece_options(parser, several=True)
    shared.file_options(parser)
    shared.metal_options(parser)
    series.options(parser)
    parser.add_argument(
        "--strict", action="store_true", help="write nothing when there are warnings either"
    )
    shared.common_options(parser)


def run(arguments: argparse.Namespace) -> int:
    """Build every piece; the exit code is that of the worst."""
    making.metal_name(arguments.metal)
    _no_clashes(arguments)
    if arguments.series:
        return series.run(arguments)
    if arguments.on is not None:
        raise shared.Misuse("--on has a series made by other machines; add --series")
    codes, records = [], []
    for outcome in _outcomes(arguments):
        codes.append(making.exit_code(outcome.faults, strict=arguments.strict))
        if arguments.format == "json":
            records.append(_record(outcome))
        else:
            _show(outcome, arguments)
    if arguments.format == "json":
        report = {"posy": 1, "command": "build", "pieces": records}
        print(json.dumps(report, indent=2, ensure_ascii=False))
    return making.worst(codes)


def _outcomes(arguments: argparse.Namespace) -> Iterator[Outcome]:
    """Build and write one piece after the other."""
    for path in arguments.pieces:
        yield make(path, arguments, Making())


def make(
    path: str, arguments: argparse.Namespace, one: Making, session: Session | None = None
) -> Outcome:
    """Build one piece and write its files."""
    built = making.built_piece(
        path, arguments, settings=one.settings, metal=one.metal, session=session
    )
    if making.exit_code(built.faults, strict=arguments.strict) != shared.DONE or not built.made:
        return Outcome(built, one, faults=built.faults)
    written, faults = write_files(built, arguments, one.label)
    return Outcome(built, one, written, (*built.faults, *faults))


def _no_clashes(arguments: argparse.Namespace) -> None:
    """Two pieces of one name must not write over each other's files."""
    seen: dict[Path, str] = {}
    for path in arguments.pieces:
        target = folder_of(path, arguments.into) / Path(path).stem
        if target in seen:
            raise shared.Misuse(f"{seen[target]} and {path} would write the same files")
        seen[target] = path


def _show(outcome: Outcome, arguments: argparse.Namespace) -> None:
    """Findings on stderr, what was made on stdout."""
    built = outcome.built
    colour = wants_colour(sys.stderr, arguments.no_colour)
    text = findings_text(
        outcome.faults, built.texts, arguments.format, colour, arguments.notes
    )
    text += waivers_text(built.waivers, outcome.faults)
    sys.stdout.flush()
    sys.stderr.write(text)
    sys.stderr.flush()
    if arguments.format == "short":
        for path, size in outcome.written.items():
            print(f"{path}: {size} bytes")
        return
    colour = wants_colour(sys.stdout, arguments.no_colour)
    if outcome.written:
        name = " ".join(part for part in (built.path, outcome.making.label) if part)
        print(f"{tinted(name, 'bold', colour)}: {headline(built)}")
        for path, size in outcome.written.items():
            print(f"  {path}  {shown_size(size)}")
    else:
        print(f"{built.path}: {tally(outcome.faults)}, no files written")


def headline(built: Built) -> str:
    """Title, metal, weight and stones in one line."""
    from ..files.digits import metals_shown, shown
    from ..making.weights import weigh

    weights, _ = weigh(built)
    if weights is None:
        return f"{built.title}, {built.metal}"
    text = f"{built.title}, {metals_shown(weights)}"
    if weights.bought:
        text += f", bought parts {shown(sum(part.grams for part in weights.bought))} g"
    count = len(built.stones)
    if count:
        text += f", {count} stone{'s' if count > 1 else ''} {shown(weights.carats)} ct"
    return text


def _record(outcome: Outcome) -> dict[str, Any]:
    """One piece as plain data."""
    built = outcome.built
    return {
        "path": built.path,
        "making": outcome.making.label,
        "title": built.title,
        "metal": built.metal,
        "made": built.made,
        "files": [{"path": str(path), "bytes": size} for path, size in outcome.written.items()],
        "findings": [finding_record(fault) for fault in outcome.faults],
        "waivers": [waiver_record(waiver) for waiver in built.waivers],
    }
