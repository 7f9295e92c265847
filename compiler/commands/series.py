"""`posy make --series`: all that the series lines of a piece list, and one table of it."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from ...lang.faults import Fault, is_fatal
from ...lang.folding import in_table
from ..files.jobs import Cluster, Here, Made, Making, Order, OtherVersion, jobs_of, shown
from ..judging.remark import LAYOUT, remark_record
from ..terminal import options as shared
from ..terminal import run as making
from ..terminal.forms import Arguments, Misuse
from ..terminal.output import folder_of, tell_data
from ..terminal.remarks import fault_text, remarks_text, tinted, wants_colour, width_for

__all__ = ["Making", "run"]

Row = dict[str, str | float | int | None]


def run(arguments: Arguments) -> int:
    """Make the series of every piece; the exit code is that of the worst."""
    codes, records = [], []
    for path in arguments.pieces:
        order = _order(path, arguments)
        made, written, trouble = _all_made(order, _makings(order), arguments)
        rows = [_row(one, written) for one in made]
        tables, more = _tables(path, rows, arguments)
        codes += [making.exit_code(one.faults, strict=arguments.strict) for one in made]
        codes.append(making.exit_code([*trouble, *more]))
        records += [_record(path, one, written) for one in made]
        _show(path, made, rows, tables, [*trouble, *more], arguments)
    if arguments.show == "data":
        tell_data("make", pieces=records)
    return making.worst(codes)


def _order(path: str, arguments: Arguments) -> Order:
    from ..files.formats import Wanted

    return Order(
        path, shared.settings_of(arguments.set), arguments.metal, arguments.tolerance,
        Wanted(arguments.formats, arguments.shrink, arguments.stones), arguments.strict,
    )


def _makings(order: Order) -> list[Making]:
    """Every making asked for; a piece with faults is made once, which shows them."""
    from ..making.pipeline import check

    piece = check(order.path, settings=order.settings, metal=order.metal)
    if is_fatal(piece.faults):
        return [Making()]
    return making.in_series(order.path, piece)


def _all_made(
    order: Order, makings: Sequence[Making], arguments: Arguments
) -> tuple[list[Made], dict[Path, int], list[Fault]]:
    """Every making in the order of the series; files written with sizes; faults in writing."""
    from ..files.outputs import write_files
    from ..terminal.progress import Progress

    jobs = jobs_of(order, makings, packed=arguments.on is not None)
    folder = folder_of(order.path, arguments.into)
    found: dict[str, Made] = {}
    written: dict[Path, int] = {}
    trouble: list[Fault] = []
    with Progress(order.path) as progress:
        for _, made in _results(jobs, arguments.on):
            for one in made:
                found[one.making.label] = one
                done, wrong = write_files(one.files, folder)
                written.update(done)
                trouble += wrong
            progress(f"{len(found)} of {len(makings)} made", len(found) / len(makings))
    return [found[one.label] for one in makings], written, trouble


def _results(jobs: Sequence[Any], address: str | None) -> Any:
    """Results of the jobs as they come; Misuse when the cluster cannot be had."""
    try:
        yield from (Here() if address is None else Cluster(address)).results(jobs)
    except ImportError as error:
        raise Misuse(
            f"--on needs Dask ({error.name}): install posy-lang[dask] here and on the workers"
        ) from None
    except OtherVersion as error:
        raise Misuse(str(error)) from None
    except (OSError, TimeoutError) as error:
        if address is None:
            raise
        raise Misuse(f"no scheduler answers at {address}: {error}") from None


# -- the table -------------------------------------------------------------------------------


def _row(made: Made, written: Mapping[Path, int]) -> Row:
    """One making as a row: its own measures, metal, figures with their units in the name."""
    files = {path.name for path in written}
    return {
        "making": made.making.label,
        **{name: shown(value) for name, value in made.making.settings.items()},
        "metal": made.metal,
        "volume_mm3": round(made.volume, 3) if made.grams is not None else None,
        "grams": None if made.grams is None else round(made.grams, 4),
        "grams_error": None if made.grams is None else float(f"{made.grams_error:.1g}"),
        "stones": made.stones,
        "carats": round(made.carats, 3),
        "remarks": len(made.faults),
        "files": " ".join(name for name in made.files if name in files),
    }


def _tables(path: str, rows: Sequence[Row], arguments: Arguments) -> tuple[dict[Path, int], list[Fault]]:
    """Write the table beside the files, as CSV and as JSON."""
    from ..files.atomic import write_set
    from ..files.earlier import left_by_series
    from ..files.summary import json_bytes
    from ..sheets.data import csv_bytes

    heads = list(dict.fromkeys(head for row in rows for head in row))
    report = {"posy": LAYOUT, "file": Path(path).name, "makings": list(rows)}
    stem = folder_of(path, arguments.into) / f"{Path(path).stem}-series"
    content = {
        stem.with_name(f"{stem.name}.csv"): csv_bytes(heads, ([row.get(k) for k in heads] for row in rows)),
        stem.with_name(f"{stem.name}.json"): json_bytes(report),
    }
    if not any(row["files"] for row in rows):
        return {}, []
    made = [name for row in rows for name in str(row["files"]).split(" ")]
    today = [str(row["making"]) for row in rows]
    left = left_by_series(stem.with_name(f"{stem.name}.json"), today, made)
    done, faults = write_set(content)
    return {path: len(content[path]) for path in done}, [*left, *faults]


def _show(
    path: str, made: Sequence[Made], rows: Sequence[Row], tables: Mapping[Path, int],
    trouble: Sequence[Fault], arguments: Arguments,
) -> None:  # fmt: skip
    """Remarks on stderr, each once; the table on stdout."""
    if arguments.show == "data":
        return
    colour, width = wants_colour(sys.stderr, arguments.no_colour), width_for(sys.stderr)
    sys.stdout.flush()
    for faults, labels, texts in _remarks(made):
        text = remarks_text(faults, texts, arguments.show, colour, arguments.hints, waived=True, width=width)
        if text and arguments.show == "full":
            sys.stderr.write(f"{', '.join(labels)}:\n")
        sys.stderr.write(text)
    fault_text(trouble, arguments)
    sys.stderr.flush()
    sound = sum(bool(row["files"]) for row in rows)
    head = tinted(path, "bold", wants_colour(sys.stdout, arguments.no_colour))
    print(f"{head}: {sound} of {len(rows)} made")
    print(table(rows))
    for one in tables:
        print(f"  {one}")


def _remarks(made: Sequence[Made]) -> list[tuple[tuple[Fault, ...], list[str], Mapping[str, str]]]:
    """Remarks on the makings; those that all share the same are told together."""
    groups: dict[str, tuple[tuple[Fault, ...], list[str], Mapping[str, str]]] = {}
    for one in made:
        if one.faults:
            group = groups.setdefault(repr(one.faults), (one.faults, [], one.texts))
            group[1].append(one.making.label or "the piece")
    return list(groups.values())


def table(rows: Sequence[Row]) -> str:
    """The rows as aligned text; figures to the right."""
    heads = [head for head in dict.fromkeys(h for row in rows for h in row) if head != "making"]
    heads = [head for head in heads if head not in ("grams_error", "files")]
    cells = [[_cell(row, head) for head in heads] for row in rows]
    right = {k for k, head in enumerate(heads) if all(not isinstance(row.get(head), str) for row in rows)}
    return "\n".join(in_table([[head.replace("_", " ") for head in heads], *cells], right, "  "))


def _cell(row: Row, head: str) -> str:
    from ..files.digits import shown as digits

    value = row.get(head)
    if value is None:
        return "-"
    if head == "grams":
        return digits(float(value), float(row["grams_error"] or 0.0))
    return f"{value:,.2f}" if isinstance(value, float) else str(value)


def _record(path: str, made: Made, written: Mapping[Path, int]) -> dict[str, Any]:
    """One making as plain data, as `posy make` gives it."""
    return {
        "file": path,
        "making": made.making.label,
        "title": made.title,
        "metal": made.metal,
        "made": made.grams is not None,
        "files": [
            {"file": str(file), "bytes": size}
            for file, size in written.items() if file.name in made.files
        ],
        "remarks": [remark_record(fault) for fault in made.faults],
    }  # fmt: skip
