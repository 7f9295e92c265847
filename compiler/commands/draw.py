"""`posy draw`: line drawings of pieces, one file each or all on one sheet."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..drawing.names import USUAL
from ..judging.remark import tally
from ..making.result import Built
from ..terminal import run as making
from ..terminal.forms import Arguments, Misuse
from ..terminal.output import Outcome, drawing_of, no_clashes, remarks_data, say_of, tell, tell_all

if TYPE_CHECKING:
    from ..drawing.sheet import Titled

def run(arguments: Arguments) -> int:
    """Draw every piece; the exit code is that of the worst."""
    _sensible(arguments)
    pieces = arguments.pieces
    found = _one_sheet(arguments) if arguments.sheet else [_own_file(path, arguments) for path in pieces]
    code = tell_all("draw", found, arguments, _record, _show)
    if arguments.sheet and arguments.show != "data" and all(one.files for one in found):
        print(arguments.sheet)
    return code


def _sensible(arguments: Arguments) -> None:
    """Options that cannot go together, and pieces that would write over each other."""
    if arguments.sheet:
        if arguments.into or arguments.figures or arguments.stone or arguments.also:
            raise Misuse("--sheet is one SVG of looks: leave out --into, --figures, --stone and --also")
        if len(arguments.views or ("corner",)) > 1:
            raise Misuse("--sheet shows one view of each piece; name one in --views")
        if not arguments.sheet.endswith(".svg"):
            raise Misuse(f"--sheet {arguments.sheet} should end in .svg")
        return
    no_clashes(arguments, "file")


def _own_file(path: str, arguments: Arguments) -> Outcome:
    from ..files.atomic import write_set

    one, titled = _built(path, arguments, look=arguments.stone is None)
    if titled is None:
        return one
    target = drawing_of(path, arguments.into)
    if titled.but:
        target = target.with_stem(f"{target.stem}-with-faults")
    files = _with_also(_drawings(one.built, titled, target.stem, arguments), arguments.also)
    written, trouble = write_set({target.with_name(name): data for name, data in files.items()})
    return Outcome(one.built, (*one.faults, *trouble), dict.fromkeys(written, 0))


def _drawings(built: Built, titled: Titled, stem: str, arguments: Arguments) -> dict[str, bytes]:
    from ..drawing.sheet import views_sheet

    if arguments.stone is None:
        projection = built.house.value("sheet", "projection")
        views = arguments.views or USUAL
        return {f"{stem}.svg": views_sheet(titled, views, figures=arguments.figures, projection=projection)}
    from ..drawing.looks import close_up
    from ..drawing.section import cut_of, section_drawing
    from ..judging.settings import settings_of

    number = arguments.stone
    if number > len(built.stones) or built.piece is None:
        raise Misuse(f"--stone {number}: {built.path} has {len(built.stones)} stones")
    cut = cut_of(built.piece, settings_of(built.piece)[number - 1])
    return {
        f"{stem}-stone-{number}-cut.svg": section_drawing(cut, built.stones[number - 1].gem, titled.title),
        f"{stem}-stone-{number}.svg": close_up(titled.scene, number, 120.0)[0],
    }


def _with_also(files: dict[str, bytes], kinds: tuple[str, ...]) -> dict[str, bytes]:
    """Drawings with the same as other kinds of file beside them; without a browser by themselves."""
    if not kinds:
        return files
    from ..files.browser import browser
    from ..sheets.pdf import drawn

    program = browser()
    if program is None:
        sys.stderr.write(f"no {' or '.join(kinds)}: no browser was found to print it (chromium will do)\n")
        return files
    return {**files, **drawn(files, kinds, program)}


def _one_sheet(arguments: Arguments) -> list[Outcome]:
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
    return [Outcome(one.built, (*one.faults, *trouble), dict.fromkeys(written, 0)) for one in found]


def _built(path: str, arguments: Arguments, look: bool = False) -> tuple[Outcome, Titled | None]:
    """A piece built, and what is drawn of it; None with faults, but for a ``look`` at what there is."""
    from ..drawing.scene import scene_of
    from ..drawing.sheet import Titled
    from ..making.pipeline import as_far_as_read
    from ..making.rest import left_out

    built, but = making.built_piece(path, arguments, check_metal=False, finished=arguments.finished), ""
    shown = built
    if look and not built.made:
        without = left_out(built)
        but = f"NOT AS IT WILL BE: {tally(built.faults)}" + f", {without} left out" * bool(without)
        shown = as_far_as_read(built)
    scene = scene_of(shown) if built.made or but else None
    titled = None if scene is None else Titled(scene, built.title, " and ".join(built.metals), but)
    return Outcome(built, tuple(built.faults)), titled


def _show(one: Outcome, arguments: Arguments) -> None:
    tell(one.built, one.faults, arguments, sys.stderr)
    if arguments.sheet and one.files:
        return  # the one file of all is told at the end
    if arguments.show == "lines":
        for file in one.files:
            print(file)
        return
    drawn = ", ".join(map(str, one.files)) or f"{tally(one.faults)}, nothing drawn"
    if one.files and not one.built.made:
        drawn = f"{tally(one.faults)}, drawn for a look alone: {drawn}"
    say_of(one.built, drawn, arguments)


def _record(one: Outcome) -> dict[str, Any]:
    files = list(map(str, one.files))
    return {
        **one.record("metal"), "drawing": files[0] if files and one.built.made else None,
        "files": [{"file": file} for file in files], **remarks_data(one.built, one.faults),
    }
