"""`posy order`: what those who work on a piece need, on paper and as files."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from ...lang.faults import Fault, is_fatal
from ..judging.remark import tally
from ..making.result import Built
from ..terminal import options as shared
from ..terminal import output as out
from ..terminal import run as making
from ..terminal.forms import Arguments, Misuse

if TYPE_CHECKING:
    from ..sheets.handed import Handed

AS_CAST = "as cast, sprues cut off"


def run(arguments: Arguments) -> int:
    """Make the piece and write an order to each receiver."""
    if "json" in arguments.formats and len(arguments.formats) == 1:
        raise Misuse("--as json alone leaves the caster without a mesh; name stl or 3mf too")
    built = making.built_piece(arguments.piece, arguments)
    faults: list[Fault] = list(built.faults)
    written: dict[Path, int] = {}
    if built.made and making.exit_code(faults, strict=arguments.strict) == shared.DONE:
        handed, trouble = _handed(built, arguments)
        faults += trouble
        if handed is not None:
            written, trouble = _write(handed, arguments)
            faults += trouble
    if arguments.show == "data":
        told = out.Outcome(built, tuple(faults), written).record()
        out.tell_data("order", **told, files=out.sized(written), **out.remarks_data(built, faults))
    else:
        _show(built, faults, written, arguments)
    return making.exit_code(faults, strict=arguments.strict)


def _handed(built: Built, arguments: Arguments) -> tuple[Handed | None, list[Fault]]:
    from ..drawing.scene import scene_of
    from ..files.formats import Wanted
    from ..files.outputs import files_of
    from ..making.weights import weigh
    from ..sheets.handed import Handed
    from ..sheets.stamp import stamp_of

    weights, faults = weigh(built)
    scene = scene_of(built)
    formats = tuple(one for one in arguments.formats if one != "json")
    meshes, wrong = files_of(built, Path(built.path).stem, Wanted(formats, arguments.shrink))
    faults += [fault for fault in wrong if fault not in faults]
    if weights is None or scene is None or is_fatal(faults):
        return None, faults
    date = str(arguments.date or built.house.value("sheet", "date") or "")
    return Handed(
        built, weights, scene, stamp_of(built, date), arguments.count, arguments.finish or AS_CAST,
        arguments.shrink, meshes,
    ), faults  # fmt: skip


def _write(handed: Handed, arguments: Arguments) -> tuple[dict[Path, int], list[Fault]]:
    from ..files.atomic import write_set
    from ..files.outputs import write_files
    from ..sheets.package import files_for, with_record, zipped
    from ..sheets.pdf import with_pdf
    from ..terminal.progress import Progress

    stem = Path(handed.built.path).stem
    home = out.folder_of(handed.built.path, arguments.into) / f"{stem}-order"
    written: dict[Path, int] = {}
    faults: list[Fault] = []
    said = ""
    # Without stones there is nothing for the others, unless they alone are asked for.
    receivers = arguments.to
    if not handed.built.stones and "caster" in receivers:
        receivers = "caster",
    with Progress(handed.built.path) as progress:
        for number, receiver in enumerate(receivers):
            progress(f"for the {receiver}", number / len(receivers))
            files, said = with_pdf(files_for(receiver, handed, stem))
            files = with_record(receiver, handed, stem, files)
            done, trouble = write_files(files, home / receiver)
            faults += trouble
            if is_fatal(trouble):
                return written, faults
            written.update(done)
            pack = home / f"{stem}-{receiver}.zip"
            content = zipped(files)
            _, trouble = write_set({pack: content})
            faults += trouble
            written[pack] = len(content)
    if said:
        sys.stderr.write(f"{said}\n")
    return written, faults


def _show(built: Built, faults: list[Fault], written: dict[Path, int], arguments: Arguments) -> None:
    out.tell(built, faults, arguments, sys.stderr)
    if not written:
        out.say_of(built, f"{tally(faults)}, no order written", arguments)
        return
    told = [one for one in arguments.to if any(path.parent.name == one for path in written)]
    out.say_of(built, f"an order to {', '.join(told)}", arguments)
    for path, size in written.items():
        out.say(f"  {path}  {out.shown_size(size)}")
