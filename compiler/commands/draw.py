"""`posy draw`: line drawings of pieces, one file each or all on one sheet."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ...lang.faults import Fault
from ...lang.lean import dataclass
from ..drawing.names import USUAL
from ..judging.remark import tally
from ..making.result import Built
from ..terminal import run as making
from ..terminal.forms import Arguments, Misuse
from ..terminal.output import drawing_of, remarks_data, tell, tell_data
from ..terminal.remarks import tinted, wants_colour

if TYPE_CHECKING:
    from ..drawing.sheet import Titled

@dataclass
class Drawn:
    """A piece looked at: its drawing's file if one was written, and all remarks."""

    built: Built
    faults: tuple[Fault, ...]
    file: Path | None = None


def run(arguments: Arguments) -> int:
    """Draw every piece; the exit code is that of the worst."""
    _sensible(arguments)
    if arguments.sheet:
        found = _one_sheet(arguments)
    else:
        found = [_own_file(path, arguments) for path in arguments.pieces]
    if arguments.show == "data":
        tell_data("draw", pieces=[_record(one) for one in found])
    else:
        for one in found:
            _show(one, arguments)
        if arguments.sheet and all(one.file for one in found):
            print(arguments.sheet)
    return making.worst([making.exit_code(one.faults) for one in found])


def _sensible(arguments: Arguments) -> None:
    """Options that cannot go together, and pieces that would write over each other."""
    if arguments.sheet:
        if arguments.into or arguments.figures:
            raise Misuse("--sheet is one file of looks: leave out --into and --figures")
        if len(arguments.views or ("corner",)) > 1:
            raise Misuse("--sheet shows one view of each piece; name one in --views")
        if not arguments.sheet.endswith(".svg"):
            raise Misuse(f"--sheet {arguments.sheet} should end in .svg")
        return
    seen: dict[Path, str] = {}
    for path in arguments.pieces:
        target = drawing_of(path, arguments.into)
        if target in seen:
            raise Misuse(f"{seen[target]} and {path} would write the same file")
        seen[target] = path


def _own_file(path: str, arguments: Arguments) -> Drawn:
    """Build one piece and write its drawing."""
    from ..drawing.sheet import views_sheet
    from ..files.atomic import write_set

    one, titled = _built(path, arguments)
    if titled is None:
        return one
    drawing = views_sheet(titled, arguments.views or USUAL, figures=arguments.figures)
    written, trouble = write_set({drawing_of(path, arguments.into): drawing})
    return Drawn(one.built, (*one.faults, *trouble), written[0] if written else None)


def _one_sheet(arguments: Arguments) -> list[Drawn]:
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


def _built(path: str, arguments: Arguments) -> tuple[Drawn, Titled | None]:
    """A piece built, and what is to be drawn of it; None when it has faults."""
    from ..drawing.scene import scene_of
    from ..drawing.sheet import Titled

    built = making.built_piece(path, arguments, check_metal=False, finished=arguments.finished)
    scene = scene_of(built) if built.made else None
    titled = None if scene is None else Titled(scene, built.title, " and ".join(built.metals))
    return Drawn(built, tuple(built.faults)), titled


def _show(one: Drawn, arguments: Arguments) -> None:
    """Remarks on stderr, what was drawn on stdout."""
    tell(one.built, one.faults, arguments, sys.stderr)
    if arguments.sheet and one.file:
        return  # the one file of all is told at the end
    if arguments.show == "lines":
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
        "file": one.built.path,
        "title": one.built.title,
        "metal": one.built.metal,
        "drawing": str(one.file) if one.file else None,
        **remarks_data(one.built, one.faults),
    }
