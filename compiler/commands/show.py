"""`posy show`: a piece as one page for a customer, and pictures of it."""

from __future__ import annotations

import sys
from dataclasses import field
from pathlib import Path
from typing import Any

from ...lang.faults import Fault
from ...lang.lean import dataclass
from ..judging.remark import tally
from ..making.result import Built
from ..terminal import run as making
from ..terminal.forms import Arguments, Misuse
from ..terminal.output import folder_of, metal_told, remarks_data, say, shown_size, tell, tell_data


@dataclass
class Sent:
    """A piece, the files written of it with their sizes, all remarks, and a line on its metal."""

    built: Built
    faults: tuple[Fault, ...]
    files: dict[Path, int] = field(default_factory=dict)
    metal: str = ""


def run(arguments: Arguments) -> int:
    """Write the page of every piece; the exit code is that of the worst."""
    program = _browser() if arguments.stills else ""
    found = [_sent(path, arguments, program) for path in arguments.pieces]
    if arguments.show == "data":
        tell_data("show", pieces=[_record(one) for one in found])
    else:
        for one in found:
            tell(one.built, one.faults, arguments, sys.stderr)
            for file, size in one.files.items():
                say(str(file) if arguments.show == "lines" else f"{file}  {shown_size(size)}")
            if one.metal:
                say(one.metal, sys.stderr)
            if not one.files:
                say(f"{one.built.path}: {tally(one.faults)}, nothing written")
    return making.worst([making.exit_code(one.faults) for one in found])


def _browser() -> str:
    """The browser that takes the pictures. Raises Misuse."""
    from ..page.stills import browser

    found = browser()
    if found is None:
        raise Misuse(
            "--stills needs Chromium or Chrome, which is not found here: install it, or name it in "
            "POSY_BROWSER; without --stills the page is written all the same"
        )
    return found


def _sent(path: str, arguments: Arguments, program: str) -> Sent:
    """Build one piece and write its page, with the pictures wanted, all at once."""
    from ..files.atomic import write_set
    from ..making.weights import weigh
    from ..page.sent import sent_page
    from ..page.stills import still

    built = making.built_piece(path, arguments, check_metal=False)
    weights, trouble = weigh(built) if built.made else (None, [])
    if weights is None:
        return Sent(built, (*built.faults, *trouble))
    page = sent_page(built, weights, arguments.surface, finished=not arguments.as_cast)
    target, name = folder_of(path, arguments.into), Path(path).stem
    files = {target / f"{name}.html": page}
    for view in arguments.stills or ():
        image, missed = still(program, page, view, arguments.size)
        trouble += missed
        if image:
            files[target / f"{name}-{view}.png"] = image
    written, faults = write_set(files)
    sizes = {one: len(files[one]) for one in written}
    return Sent(built, (*built.faults, *trouble, *faults), sizes, metal_told(built))


def _record(one: Sent) -> dict[str, Any]:
    """One piece as plain data."""
    return {
        "file": one.built.path,
        "title": one.built.title,
        "files": [{"file": str(path), "bytes": size} for path, size in one.files.items()],
        "metal": one.metal,
        **remarks_data(one.built, one.faults),
    }
