"""`posy draw`: line drawings of pieces, one file each or all on one sheet."""

from __future__ import annotations

import argparse
import json
import sys
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

if TYPE_CHECKING:
    from ..drawing.sheet import Titled

DETAILS = (
    "Hidden lines are left out; metal and stones are tinted in their colours. A drawing prints "
    "at the scale written on it. Nothing is drawn of a piece with faults."
)
EXAMPLES = (
    "posy draw ring.posy --figures",
    "posy draw *.posy --views face,corner --sheet collection.svg",
)


@dataclass
class Drawn:
    """A piece looked at: its drawing's file if one was written, and all findings."""

    built: Built
    faults: tuple[Fault, ...]
    file: Path | None = None


def options(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    from ..drawing.names import USUAL, VIEW_HELP

    shared.piece_options(parser, several=True)
    parser.add_argument(
        "-o",
        "--into",
        metavar="FOLDER",
        help="where the drawings go (usual: the folder out beside the piece)",
    )
    listed = "; ".join(f"{name}: {what}" for name, what in VIEW_HELP.items())
    parser.add_argument(
        "--views",
        type=views,
        metavar="LIST",
        help=f"from where, with commas between (usual: {','.join(USUAL)}). {listed}",
    )
    parser.add_argument(
        "--figures",
        action="store_true",
        help="overall measures in mm, and each stone's number as in the lists of stones",
    )
    parser.add_argument(
        "--sheet", metavar="FILE.svg", help="all pieces on this one sheet, each as large as its place takes"
    )
    shared.metal_options(parser)
    shared.common_options(parser)


def views(text: str) -> tuple[str, ...]:
    """``face,side`` as names of views."""
    from ...lang.suggest import did_you_mean
    from ..drawing.names import VIEW_HELP

    names = tuple(dict.fromkeys(one.strip().lower() for one in text.split(",") if one.strip()))
    for name in names:
        if name not in VIEW_HELP:
            hint = did_you_mean(name, VIEW_HELP) or f"there are {', '.join(VIEW_HELP)}"
            raise argparse.ArgumentTypeError(f"no view {name!r}; {hint}")
    if not names:
        raise argparse.ArgumentTypeError(f"say which of {', '.join(VIEW_HELP)}")
    return names


def run(arguments: argparse.Namespace) -> int:
    """Draw every piece; the exit code is that of the worst."""
    making.metal_name(arguments.metal)
    _sensible(arguments)
    if arguments.sheet:
        found = _one_sheet(arguments)
    else:
        found = [_own_file(path, arguments) for path in arguments.pieces]
    if arguments.format == "json":
        report = {"posy": 1, "command": "draw", "pieces": [_record(one) for one in found]}
        print(json.dumps(report, indent=2, ensure_ascii=False))
    else:
        for one in found:
            _show(one, arguments)
        if arguments.sheet and all(one.file for one in found):
            print(arguments.sheet)
    return making.worst([making.exit_code(one.faults) for one in found])


def _sensible(arguments: argparse.Namespace) -> None:
    """Options that cannot go together, and pieces that would write over each other."""
    if arguments.sheet:
        if arguments.into or arguments.figures:
            raise shared.Misuse("--sheet is one file of looks: leave out --into and --figures")
        if len(arguments.views or ("corner",)) > 1:
            raise shared.Misuse("--sheet shows one view of each piece; name one in --views")
        if not arguments.sheet.endswith(".svg"):
            raise shared.Misuse(f"--sheet {arguments.sheet} should end in .svg")
        return
    seen: dict[Path, str] = {}
    for path in arguments.pieces:
        target = _file_of(path, arguments.into)
        if target in seen:
            raise shared.Misuse(f"{seen[target]} and {path} would write the same file")
        seen[target] = path


def _file_of(path: str, into: str | None) -> Path:
    """Where the drawing of the piece at ``path`` goes."""
    from .build import folder_of

    return folder_of(path, into) / f"{Path(path).stem}.svg"


def _own_file(path: str, arguments: argparse.Namespace) -> Drawn:
    """Build one piece and write its drawing."""
    from ..drawing.names import USUAL
    from ..drawing.sheet import views_sheet
    from ..files.atomic import write_set

    one, titled = _built(path, arguments)
    if titled is None:
        return one
    drawing = views_sheet(titled, arguments.views or USUAL, figures=arguments.figures)
    written, trouble = write_set({_file_of(path, arguments.into): drawing})
    return Drawn(one.built, (*one.faults, *trouble), written[0] if written else None)


def _one_sheet(arguments: argparse.Namespace) -> list[Drawn]:
    """Build all pieces and write the sheet; none when a piece has faults."""
    from ..drawing.sheet import contact_sheet
    from ..files.atomic import write_set

    looked = [_built(path, arguments) for path in arguments.pieces]
    found = [one for one, _ in looked]
    titled = [piece for _, piece in looked if piece is not None]
    if len(titled) < len(looked):
        return found
    view = (arguments.views or ("corner",))[0]
    written, trouble = write_set({Path(arguments.sheet): contact_sheet(titled, view)})
    return [
        Drawn(one.built, (*one.faults, *trouble), written[0] if written else None)
        for one in found
    ]


def _built(path: str, arguments: argparse.Namespace) -> tuple[Drawn, Titled | None]:
    """A piece built, and what is to be drawn of it; None when it has faults."""
    from ..drawing.scene import scene_of
    from ..drawing.sheet import Titled

    built = making.built_piece(path, arguments, check_metal=False)
    scene = scene_of(built) if built.made else None
    titled = None if scene is None else Titled(scene, built.title, built.metal)
    return Drawn(built, tuple(built.faults)), titled


def _show(one: Drawn, arguments: argparse.Namespace) -> None:
    """Findings on stderr, what was drawn on stdout."""
    colour = wants_colour(sys.stderr, arguments.no_colour)
    sys.stdout.flush()
    sys.stderr.write(
        findings_text(one.faults, one.built.texts, arguments.format, colour, arguments.notes)
    )
    sys.stderr.write(waivers_text(one.built.waivers, one.faults))
    sys.stderr.flush()
    if arguments.sheet and one.file:
        return  # the one file of all is told at the end
    if arguments.format == "short":
        if one.file:
            print(one.file)
        return
    name = tinted(one.built.path, "bold", wants_colour(sys.stdout, arguments.no_colour))
    if one.file:
        print(f"{name}: {one.file}")
    else:
        print(f"{name}: {tally(one.faults)}, nothing drawn")


def _record(one: Drawn) -> dict[str, Any]:
    """One piece as plain data."""
    return {
        "path": one.built.path,
        "title": one.built.title,
        "metal": one.built.metal,
        "file": str(one.file) if one.file else None,
        "findings": [finding_record(fault) for fault in one.faults],
        "waivers": [waiver_record(waiver) for waiver in one.built.waivers],
    }
