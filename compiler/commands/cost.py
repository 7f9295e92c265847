"""`posy cost`: what a piece costs and what it is sold for."""

from __future__ import annotations

import datetime
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from ...lang.faults import Fault, Level, is_fatal
from ...lang.folding import fold, in_columns, in_table
from ..making.result import Built
from ..terminal import run as making
from ..terminal.forms import Arguments, Misuse
from ..terminal.output import folder_of, metal_faults, metal_told, remarks_data, say, tell, tell_data
from ..terminal.remarks import tinted, wants_colour, width_for

if TYPE_CHECKING:
    from ..cost.sheet import Reckoned
    from ..files.jobs import Making
    from ..sheets.stamp import Stamp


def run(arguments: Arguments) -> int:
    """Make the piece in every way asked for and reckon each."""
    if arguments.series and arguments.metal:
        raise Misuse("a series has metals of its own: leave out --metal or --series")
    found, built, faults = _reckoned(arguments)
    written: list[Path] = []
    grave = metal_faults(built)
    faults += [fault for fault in grave if fault.level is Level.FAULT]
    if found and not is_fatal(faults) and (arguments.reckoning or arguments.quote):
        written, trouble = _write(found, arguments, faults)
        faults += trouble
    if arguments.show == "data":
        from ..cost.sheet import cost_record

        record = cost_record(found, _stamp(built, arguments)) if found else {"makings": []}
        tell_data("cost", **{key: value for key, value in record.items() if key not in ("posy", "sheet")},
                  files=[{"file": str(path)} for path in written], **remarks_data(built, faults))  # fmt: skip
        return making.exit_code(faults)
    tell(built, faults, arguments, sys.stderr)
    if found:
        _show(found, arguments)
    for path in written:
        print(path)
    if written and (said := metal_told(built, grave)):
        say(said, sys.stderr)
    return making.exit_code(faults)


def _reckoned(arguments: Arguments) -> tuple[list[Reckoned], Built, list[Fault]]:
    """Every making reckoned, the last one built, and all remarks, each once."""
    from ..cost.reckoning import reckoned
    from ..cost.sheet import Reckoned
    from ..cost.work import work_of
    from ..files.jobs import Making
    from ..making.session import Session
    from ..making.weights import weigh

    metals, arguments.metal = arguments.metal, None
    session = Session()
    first = making.built_piece(arguments.piece, arguments, check_metal=False, session=session)
    found: list[Reckoned] = []
    faults: list[Fault] = list(first.faults)
    built = first
    if is_fatal(first.faults):
        return found, first, faults
    for one in _makings(first, metals, arguments):
        built = first if one == Making() else making.built_piece(
            arguments.piece, arguments, settings=one.settings, metal=one.metal, check_metal=False,
            session=session,
        )  # fmt: skip
        weights, trouble = weigh(built)
        faults += [*(fault for fault in built.faults if fault not in faults), *trouble]
        if weights is None or is_fatal(faults):
            return [], built, faults
        work = work_of(built, weights)
        given = arguments.date or built.house.value("sheet", "date")
        day = datetime.date.fromisoformat(str(given)) if given else datetime.date.today()
        cost, trouble = reckoned(work, built.house, day)
        faults += [fault for fault in trouble if fault not in faults]
        if cost is None:
            return [], built, faults
        found.append(Reckoned(one.label, built, work, cost))
    return found, built, faults


def _makings(built: Built, metals: Sequence[str], arguments: Arguments) -> list[Making]:
    """What is to be reckoned: the piece, the piece in several metals, or its series."""
    from ..files.jobs import Making

    if not arguments.series:
        return [Making("", metal=metal) for metal in metals] or [Making()]
    return making.in_series(arguments.piece, built)


def _stamp(built: Built, arguments: Arguments) -> Stamp:
    from ..sheets.stamp import stamp_of

    return stamp_of(built, str(arguments.date or built.house.value("sheet", "date") or ""))


def _write(
    found: Sequence[Reckoned], arguments: Arguments, faults: Sequence[Fault]
) -> tuple[list[Path], list[Fault]]:
    """The sheets asked for. No quote is written while a price is missing."""
    from ..cost.sheet import cost_csv, cost_record, cost_sheet, quote_sheet
    from ..drawing.scene import scene_of
    from ..drawing.sheet import picture_of
    from ..files.atomic import write_set
    from ..files.summary import json_bytes
    from ..making.setting import as_set
    from ..sheets.pdf import with_pdf

    built = found[0].built
    stamp = _stamp(built, arguments)
    stem = Path(built.path).stem
    files: dict[str, bytes] = {}
    if arguments.reckoning:
        # A sheet of no date must not tell what only the clock knows.
        prices = [fault for fault in faults if fault.code.startswith("price-")]
        told = [fault for fault in prices if stamp.date or fault.code == "price-missing"]
        files[f"{stem}-cost.html"] = cost_sheet(found, stamp, told)
        files[f"{stem}-cost.csv"] = cost_csv(found)
        files[f"{stem}-cost.json"] = json_bytes(cost_record(found, stamp))
    if arguments.quote and all(one.cost.total is not None for one in found):
        scene = scene_of(as_set(built))
        if scene is not None:
            look = picture_of(scene, built.title, "corner", 130.0, 75.0, close=True)
            files[f"{stem}-quote.html"] = quote_sheet(found, stamp, look)
    files, said = with_pdf(files)
    if said:
        sys.stderr.write(f"{said}\n")
    folder = folder_of(built.path, arguments.into)
    done, trouble = write_set({folder / name: data for name, data in files.items()})
    if lost := [one.name for one in found if one.cost.total is None] if arguments.quote else []:
        # Lest one of before is taken for it.
        said = f"no quote was written: what it costs in full is not known in {', '.join(lost)}"
        trouble = [*trouble, Fault("price-missing", said, remedy="give the prices told of above")]
    return done, trouble


def _show(found: Sequence[Reckoned], arguments: Arguments) -> None:
    from ..cost.sheet import beside

    colour, width = wants_colour(sys.stdout, arguments.no_colour), width_for(sys.stdout)
    name = found[0].name if len(found) == 1 else "side by side"
    print(tinted(f"{found[0].built.title}: {name}", "bold", colour))
    if len(found) == 1:
        print("\n".join(_lines(found[0], width)))
        return
    heads, rows = beside(found)
    widths = [max(len(row[k]) for row in [heads, *rows]) for k in range(len(heads))]
    if sum(widths) + 2 * len(widths) > width:  # one below the other
        for k, head in list(enumerate(heads))[1:]:
            print("\n".join([*fold(head, width), *in_columns([(row[0], row[k]) for row in rows], width)]))
        return
    print("\n".join(in_table([heads, *rows], range(1, len(heads)), "  ")))


def _lines(one: Reckoned, width: int) -> list[str]:
    """One making, a line each, with where its figures come from below it."""
    from ..cost.sheet import amount, sums

    cost, said, part = one.cost, [], ""
    for line in cost.lines:
        if line.part != part:
            part = line.part
            said.append(part)
        said += _row(f"{line.what}, {line.much}", amount(line.amount, cost.currency), width)
        said += fold(line.source, width - 4, "      ")
    said.append("sum")
    for what, figure, source in sums(cost):
        shown = amount(figure, cost.currency)
        said += _row(what, shown if figure is None else f"{shown} {cost.currency}", width)
        said += fold(source, width - 4, "      ") if source else []
    return said


def _row(what: str, figure: str, width: int) -> list[str]:
    """Words to the left and a figure to the right."""
    room = max(width - len(figure) - 3, 20)
    lines = fold(what, room, "  ", "    ")
    return [*lines[:-1], f"{lines[-1]:<{room}} {figure:>{width - room - 1}}"]
