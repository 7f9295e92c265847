"""`posy cast`: the casting plan of pieces, in figures, as a page and a drawing."""

from __future__ import annotations

import math
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ...lang.folding import fold
from ..files.jobs import Making
from ..making.result import Built
from ..terminal import options as shared
from ..terminal import run as making
from ..terminal.forms import Arguments
from ..terminal.output import Outcome, bench_grams, folder_of, remarks_data, tell, tell_data
from ..terminal.progress import Progress
from ..terminal.remarks import tinted, wants_colour, width_for

if TYPE_CHECKING:
    from ..casting.plan import Cast, Plan
    from ..judging.piece import Piece
    from ..judging.pours import Pour
    from ..printing.plan import PrintPlan

CHORD = 0.02  # mm: the cells are coarser by far


@dataclass
class Planned(Outcome):
    """A making of a piece, and its plan if it was made."""

    plan: Plan | None = None
    prints: Sequence[PrintPlan] = ()


def run(arguments: Arguments) -> int:
    """Plan every piece; the exit code is that of the worst."""
    arguments.tolerance = CHORD
    found = [_planned(path, one, arguments) for path in arguments.pieces for one in _makings(path, arguments)]
    if arguments.show == "data":
        tell_data(
            "cast", pieces=[_record(one) for one in found], together=_together(found), plate=_plate(found)
        )
    else:
        for one in found:
            _show(one, arguments)
        if len(found) > 1 and arguments.show == "full":
            print("\n".join(_together_lines(found, width_for(sys.stdout))))
    return making.worst([making.exit_code(one.faults) for one in found])


def _makings(path: str, arguments: Arguments) -> list[Making]:
    if not arguments.series:
        return [Making()]
    from ..making.pipeline import check

    settings = shared.settings_of(arguments.set)
    return making.in_series(path, check(path, settings=settings, metal=arguments.metal))


def _planned(path: str, one: Making, arguments: Arguments) -> Planned:
    from ..casting.plan import FINE, plan_of
    from ..casting.sheet import drawings, page
    from ..files.atomic import write_set
    from ..printing.files import print_files
    from ..printing.plan import print_plans
    from ..printing.printer import printer_of
    from ..printing.seen import seen

    plans: list[Plan] = []
    prints: list[PrintPlan] = []
    with Progress(f"{path} {one.label}".strip()) as progress:
        def pour(built: Built, piece: Piece) -> tuple[Pour, ...]:
            plans.append(
                plan_of(built, piece, cells=FINE, count=arguments.waxes, tell=progress, pitch=arguments.grid)
            )
            progress("laying it on the printer", 0.9)
            printer = printer_of(built.house)
            prints.extend(print_plans(built, printer))
            piece.prints = tuple(seen(one, printer) for one in prints)
            return tuple(cast.pour for cast in plans[0].casts)

        built = making.built_piece(
            path, arguments, settings=one.settings, metal=one.metal, check_metal=False, worn=True, pour=pour
        )
        if not plans or not built.made:
            return Planned(built, tuple(built.faults))
        progress("drawing it", 0.95)
        plan = plans[0]
        drawn = drawings(plan)
        files = _files(path, one, arguments, drawn, page(plan, drawn, prints))
        meshes, wrong = print_files(prints, built, printer_of(built.house), _stem(path, one))
        files |= {folder_of(path, arguments.into) / name: data for name, data in meshes.items()}
        written, trouble = write_set(files)
    return Planned(built, (*built.faults, *wrong, *trouble), dict.fromkeys(written, 0), plan, prints)


def _files(
    path: str, one: Making, arguments: Arguments, drawn: Sequence[bytes], page: bytes
) -> dict[Path, bytes]:
    """The files by their paths; several castings have a drawing each."""
    stem = f"{_stem(path, one)}-cast"
    folder = folder_of(path, arguments.into)
    numbers = [""] if len(drawn) == 1 else [f"-{k + 1}" for k in range(len(drawn))]
    svgs = {folder / f"{stem}{k}.svg": svg for k, svg in zip(numbers, drawn, strict=True)}
    return {folder / f"{stem}.html": page, **svgs}


def _stem(path: str, one: Making) -> str:
    return "-".join(part for part in (Path(path).stem, one.label) if part)


# -- to people -------------------------------------------------------------------------------


def _show(one: Planned, arguments: Arguments) -> None:
    tell(one.built, one.faults, arguments, sys.stderr)
    if arguments.show == "full" and one.plan is not None:
        print("\n".join(_lines(one, one.plan, arguments)))
    for file in one.files:
        print(file)


def _lines(one: Planned, plan: Plan, arguments: Arguments) -> list[str]:
    from ..casting import figures
    from ..printing.figures import printing
    from ..printing.printer import printer_of

    width, colour = width_for(sys.stdout), wants_colour(sys.stdout, arguments.no_colour)
    names = figures.names(plan.built)
    lines: list[str] = []
    for cast in plan.casts:
        head = f"{plan.built.title}, {cast.called}: {bench_grams(cast.grams)} g {figures.as_cast(cast)}"
        lines += [tinted(line, "bold", colour) for line in fold(head, width)]
        lines += _group("Sprues", figures.sprues(cast, names) or NO_PLACE, width)
        lines += _group("Freezing", [*figures.freezing(cast), *figures.spots(cast, names)], width)
        lines += _group("Flask", figures.flask(cast), width)
        lines += _group("Pouring", figures.pouring(cast), width)
    printer = printer_of(plan.built.house)
    for laid in one.prints:
        called = f"Printing, {laid.called}" if len(one.prints) > 1 else "Printing"
        lines += _group(called, printing(laid, printer), width)
    lines += fold(figures.UNTOLD, width)
    for caution in plan.cautions:
        lines += fold(f"{caution.title}: {caution.text}", width)
    return lines


NO_PLACE = [("none", "no place was found where a sprue may stand: write a line sprue")]


def _group(title: str, rows: Sequence[tuple[str, str]], width: int) -> list[str]:
    lines = [f"  {title}"]
    for name, said in rows:
        lines += fold(f"{name}: {said}", width, "    ", "      ")
    return lines


# -- several in one flask --------------------------------------------------------------------


def _together(found: Sequence[Planned]) -> list[dict[str, Any]]:
    """One of each making, by metal: how many flasks they take by the share of a flask each takes."""
    by_metal: dict[str, list[Cast]] = {}
    for one in found:
        for cast in one.plan.casts if one.plan is not None else ():
            by_metal.setdefault(cast.alloy.name, []).extend([cast] * max(1, len(cast.castings)))
    return [
        {
            "metal": metal, "castings": len(casts),
            "flasks": math.ceil(sum(1 / cast.tree.room for cast in casts) - 1e-9),
            "grams": round(sum(cast.grams for cast in casts), 3),
        }
        for metal, casts in by_metal.items()
        if all(cast.tree.room for cast in casts)
    ]  # fmt: skip


def _together_lines(found: Sequence[Planned], width: int) -> list[str]:
    lines = []
    for one in _together(found):
        flasks = f"{one['flasks']} flask{'s' * (one['flasks'] != 1)}"
        said = (
            f"One of each in {one['metal']}: {one['castings']} castings, {bench_grams(one['grams'])} g, in "
            f"{flasks} by the room each takes."
        )
        lines += fold(said, width)
    plate = _plate(found)
    stood = sum(one is not None for one in plate)
    return lines + fold(f"One plate of the printer takes {stood} of the {len(plate)} prints.", width)


def _plate(found: Sequence[Planned]) -> list[dict[str, Any] | None]:
    """Where the middle of each print stands on one plate, from its corner, mm; None for one without room."""
    from ..printing.plate import laid_out
    from ..printing.printer import printer_of

    prints = [laid for one in found for laid in one.prints for _ in range(max(1, len(laid.castings)))]
    if not prints:
        return []
    room = printer_of(found[0].built.house).room
    return [
        None if spot is None else {"x": round(spot.x, 2), "y": round(spot.y, 2), "turned": spot.turned}
        for spot in laid_out([laid.size for laid in prints], float(room[0]), float(room[1]))
    ]


def _record(one: Planned) -> dict[str, Any]:
    from ..casting.plan import record
    from ..printing.figures import record as printed
    from ..printing.printer import printer_of

    printer = printer_of(one.built.house)
    return {
        **one.record("metal"),
        "castings": record(one.plan) if one.plan is not None else [],
        "prints": [printed(laid, printer) for laid in one.prints],
        "cautions": [c.text for c in one.plan.cautions] if one.plan is not None else [],
        "written": [str(file) for file in one.files],
        **remarks_data(one.built, one.faults),
    }
