"""`posy show`: a piece as one page for a customer, and pictures of it."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..judging.remark import tally
from ..terminal import output as out
from ..terminal import run as making
from ..terminal.forms import Arguments, Misuse


@dataclass
class Sent(out.Outcome):
    """A piece with the files written of it, and a line on its metal."""

    metal: str = ""


def run(arguments: Arguments) -> int:
    """Write the page of every piece; the exit code is that of the worst."""
    program = _browser() if arguments.stills else ""
    found = [_sent(path, arguments, program) for path in arguments.pieces]
    return out.tell_all("show", found, arguments, _record, _show)


def _show(one: Sent, arguments: Arguments) -> None:
    """Remarks and what there is to say of the metal on stderr, the files on stdout."""
    out.tell(one.built, one.faults, arguments, sys.stderr)
    for file, size in one.files.items():
        out.say(str(file) if arguments.show == "lines" else f"{file}  {out.shown_size(size)}")
    if one.metal:
        out.say(one.metal, sys.stderr)
    if not one.files:
        out.say(f"{one.built.path}: {tally(one.faults)}, nothing written")


def _browser() -> str:
    """The browser that takes the pictures. Raises Misuse."""
    from ..files.browser import browser

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
    target, name = out.folder_of(path, arguments.into), Path(path).stem
    files = {target / f"{name}.html": page}
    for view in arguments.stills or ():
        image, missed = still(program, page, view, arguments.size)
        trouble += missed
        if image:
            files[target / f"{name}-{view}.png"] = image
    written, faults = write_set(files)
    sizes = {one: len(files[one]) for one in written}
    metal = out.metal_told(built, out.metal_faults(built))
    return Sent(built, (*built.faults, *trouble, *faults), sizes, metal)


def _record(one: Sent) -> dict[str, Any]:
    files = {"files": out.sized(one.files), "metal": one.metal}
    return {**one.record(), **files, **out.remarks_data(one.built, one.faults)}
