"""Time posy against the same pieces written straight on the geometry kernel.

    python tests/bench/run.py [--only WORD] [--repeats 5] [--tolerance 0.005] [--out FILE]

Prints a Markdown table; writes a file only if told to. Each side of each row runs in a fresh
process, one after the other. `cold` is from starting that process to its first finished
piece; `warm` is the median of the next `repeats` builds in it; `peak` is the most memory it
ever held. A ratio is posy's warm median over raw's: times differ by machine, ratios hardly.
"""

from __future__ import annotations

import argparse
import dataclasses
import importlib.metadata
import multiprocessing as mp
import os
import platform
import resource
import sys
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Any

import posy_field
import posy_row
import raw_field
import raw_row
import rules_row

# A job builds a piece from nothing and returns its solids, forced. It must be picklable (a
# module's function, or a functools.partial of one) and keep nothing between calls.
Job = Callable[[], list[Any]]


# Set plates by their number of stones.
FIELDS = {
    columns * rows: raw_field.FieldFigures(columns=columns, rows=rows)
    for columns, rows in ((10, 10), (20, 20), (40, 25))
}


@dataclass(frozen=True)
class Timing:
    """Seconds cold and warm, peak in MB, triangles, volume in mm3, number of solids."""

    cold: float
    warm: tuple[float, ...]
    peak: float
    triangles: int
    volume: float
    solids: int


@dataclass(frozen=True)
class Row:
    """One piece, raw and by posy (None while posy has no text for it)."""

    name: str
    raw: Timing
    posy: Timing | None

    @property
    def ratio(self) -> float | None:
        """Posy's warm median over raw's."""
        return median(self.posy.warm) / median(self.raw.warm) if self.posy else None

    @property
    def volume_off(self) -> float | None:
        """Posy's volume less raw's, as a part of raw's: do both build the same piece?"""
        return self.posy.volume / self.raw.volume - 1 if self.posy else None


def compare(name: str, raw: Job, posy: Job | None, repeats: int = 5) -> Row:
    """Time both jobs, each in a fresh process."""
    return Row(name, measure(raw, repeats), measure(posy, repeats) if posy else None)


def measure(job: Job, repeats: int = 5) -> Timing:
    """Time one job in a fresh process; RuntimeError if that process dies."""
    ours, theirs = mp.get_context("spawn").Pipe()
    start = perf_counter()
    child = mp.get_context("spawn").Process(target=_work, args=(job, repeats, theirs))
    child.start()
    theirs.close()
    try:
        facts = ours.recv()
        cold = perf_counter() - start
        warm, peak = ours.recv()
    except EOFError:
        raise RuntimeError(f"the process timing {job} died") from None
    finally:
        child.join()
    return Timing(cold, tuple(warm), peak, *facts)


def _work(job: Job, repeats: int, pipe: Any) -> None:
    solids = job()
    volume = sum(solid.volume() for solid in solids)
    pipe.send((sum(solid.num_tri() for solid in solids), volume, len(solids)))
    del solids
    warm = []
    for _ in range(repeats):
        start = perf_counter()
        job()
        warm.append(perf_counter() - start)
    pipe.send((warm, _peak()))


def _peak() -> float:
    """Most memory this process held, MB (ru_maxrss is in kB on Linux, bytes on macOS)."""
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / (1e6 if sys.platform == "darwin" else 1e3)


def posy_job(name: str, tolerance: float) -> Job | None:
    """Posy's job for a row of the table, with an empty memo; None where posy has no text for it."""
    kind, _, rest = name.partition(" of ")
    number = int(rest.split(",")[0])
    if kind == "row":
        source = posy_row.text(raw_row.RowFigures(stones=number))
    elif kind == "field":
        source = posy_field.text(FIELDS[number])
    else:
        return None
    return partial(posy_row.posy_build, source, tolerance)


def warm_edits(tolerance: float, naive: float, stones: int = 200, repeats: int = 5) -> str:
    """Seconds to build again after one figure changed, in a process that keeps its memo, and
    as a part of the ``naive`` seconds of the raw script."""
    figures = raw_row.RowFigures(stones=stones)
    session = posy_row.Session()
    first = posy_row.text(figures)
    posy_row.posy_build(first, tolerance, session)
    lines = []
    for what in ("bead", "wire", "comment"):
        times = []
        for turn in range(repeats):
            if what == "bead":
                source = posy_row.text(figures, figures.bead - 0.01 * (turn + 1))
            elif what == "wire":
                changed = dataclasses.replace(figures, wire=figures.wire - 0.01 * (turn + 1))
                source = posy_row.text(changed)
            else:
                source = first + f"# {turn}\n"
            start = perf_counter()
            posy_row.posy_build(source, tolerance, session)
            times.append(perf_counter() - start)
        share = median(times) / naive
        lines.append(f"warm, {stones} stones, {what} changed: {median(times):.3f} s, {share:.3f} of raw")
    return "\n".join(lines)


def rows(tolerance: float) -> dict[str, Job]:
    """Raw job of every row by name."""
    jobs: dict[str, Job] = {}
    for stones in (5, 50, 200):
        figures = raw_row.RowFigures(stones=stones)
        jobs[f"row of {stones}"] = partial(raw_row.build, tolerance, figures)
    for stones, field in FIELDS.items():
        name = f"field of {stones}, {len(field.prongs()):,} prongs"
        jobs[name] = partial(raw_field.build, tolerance, field)
    return jobs


def table(found: list[Row]) -> str:
    """Markdown table of the rows."""
    heads = "piece|side|triangles|volume mm3|cold s|warm s (spread)|peak MB|ratio|volume off"
    names = heads.split("|")
    lines = [_line(names), _line(["---"] * len(names))]
    for row in found:
        lines.append(_line([row.name, *_cells("raw", row.raw), "1", ""]))
        if row.posy:
            ratio, off = f"{row.ratio:.2f}", f"{100 * (row.volume_off or 0):+.4f} %"
            lines.append(_line([row.name, *_cells("posy", row.posy), ratio, off]))
    return "\n".join(lines)


def _cells(side: str, t: Timing) -> list[str]:
    warm = f"{median(t.warm):.3f} ({min(t.warm):.3f} to {max(t.warm):.3f})"
    return [
        side,
        f"{t.triangles:,}",
        f"{t.volume:.3f}",
        f"{t.cold:.2f}",
        warm,
        f"{t.peak:.0f}",
    ]


def _line(cells: list[str]) -> str:
    return "| " + " | ".join(cells) + " |"


def main() -> int:
    """Run the rows asked for and print the table."""
    asked = argparse.ArgumentParser(description="time posy against raw kernel scripts")
    asked.add_argument("--only", default="", help="rows whose name contains this")
    asked.add_argument("--repeats", type=int, default=5)
    asked.add_argument("--tolerance", type=float, default=0.005, help="chord error, mm")
    asked.add_argument("--out", type=Path, help="also write the table to this file")
    args = asked.parse_args()
    found = []
    for name, raw in rows(args.tolerance).items():
        if args.only in name:
            posy = posy_job(name, args.tolerance)
            found.append(compare(name, raw, posy, max(1, args.repeats)))
    kernel = importlib.metadata.version("manifold3d")
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
    where = f"manifold3d {kernel}, Python {platform.python_version()}, {os.cpu_count()} CPUs"
    naive = [median(row.raw.warm) for row in found if row.name == "row of 200"]
    warm = warm_edits(args.tolerance, naive[0]) if naive else "(warm edits go with the row of 200)"
    checks = rules_row.table(args.tolerance, args.repeats) if args.only in ("", "rules") else ""
    text = f"{table(found)}\n\n{warm}\n\n{checks}\n\n"
    text += f"chord error {args.tolerance} mm; {where}, load {load:.1f}\n"
    print(text, end="")
    if args.out:
        args.out.write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
