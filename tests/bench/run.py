"""Time posy beside the plainest kernel script over the same solids.

    python tests/bench/run.py [--only WORD ...] [--tolerance 0.005] [--out FILE]

Prints a Markdown table of processor seconds (all threads together; steadier than the clock on a
shared machine), medians of warm turns, every piece in a fresh process: the script (script.py),
then posy from an empty memo by stages: text and plan, metal, rules, files. Below it the build
again after one figure of the row of 200 was changed, in a process that keeps its memo."""

from __future__ import annotations

import argparse
import gc
import importlib.metadata
import multiprocessing as mp
import os
import platform
from collections.abc import Callable
from pathlib import Path
from statistics import median
from time import process_time
from typing import Any

import pieces

STAGES = "text and plan", "metal", "rules", "files"
SECONDS = 6.0  # after so many a piece gets no further turn
TURNS = 5


def measure(name: str, text: str, tolerance: float) -> dict[str, float]:
    """Median seconds of each stage and of the script; ``off`` is how far the volumes differ, a
    share, ``triangles`` how many the finished piece has."""
    with mp.get_context("spawn").Pool(1) as pool:
        return pool.apply(_measured, (text, tolerance))


def _measured(text: str, tolerance: float) -> dict[str, float]:
    gc.set_threshold(200_000, 20, 20)  # as every command does
    posy_turn(pieces.titled("stone one: round 2 mm, gem garnet\nbezel cup: for one\n"), 0.05)  # imports, tables
    turns: list[dict[str, float]] = []
    start = process_time()
    while len(turns) < TURNS and (not turns or process_time() - start < SECONDS):
        turns.append(posy_turn(text, tolerance) | _script_turn(text, tolerance))
    found = {key: median(turn[key] for turn in turns) for key in turns[0]}
    found["whole"] = sum(found[stage] for stage in STAGES)
    found["off"] = found.pop("posy volume") / found.pop("script volume") - 1
    return found


def posy_turn(text: str, tolerance: float, session: Any = None) -> dict[str, float]:
    """Seconds of each stage of one build."""
    from posy.compiler.files.formats import Wanted
    from posy.compiler.files.outputs import files_of
    from posy.compiler.judging.judge import before_metal, on_metal
    from posy.compiler.making.pipeline import _laid_out, build
    from posy.compiler.making.session import Session, metal_parts
    from posy.compiler.rules import all_rules
    from posy.lang.loader import Texts

    given = Texts({**pieces.PARTS, "piece.posy": text})
    session = session or Session()
    seconds: dict[str, float] = {}
    laid, piece = _timed(seconds, "text and plan", lambda: _laid_out("piece.posy", {}, None, given))
    parts, faults = _timed(seconds, "metal", lambda: metal_parts(piece.bench, session, tolerance))
    assert parts and not faults, [*laid.faults, *faults]
    piece.tolerance, piece.parts = tolerance, parts
    piece.mesh_of = session.memo.mesh
    _timed(seconds, "rules", lambda: [*before_metal(piece, all_rules()), *on_metal(piece, all_rules())])
    built = build("piece.posy", files=given, tolerance=tolerance, check_metal=False, session=session)
    _timed(seconds, "files", lambda: files_of(built, "piece", Wanted(), None))
    triangles = sum(len(part.triangles) for part in parts)
    volume = sum(part.mesh_volume for part in parts)
    return seconds | {"triangles": triangles, "posy volume": volume}


def _script_turn(text: str, tolerance: float) -> dict[str, float]:
    import script

    from posy.compiler.making.pipeline import _laid_out
    from posy.compiler.metal.memo import Memo
    from posy.compiler.metal.solids import Workshop
    from posy.compiler.metal.through import Through
    from posy.lang.loader import Texts

    _, piece = _laid_out("piece.posy", {}, None, Texts({**pieces.PARTS, "piece.posy": text}))
    # The script is told how deep each hole goes; posy finds it as part of its metal.
    shop = Workshop(Memo(), tolerance, piece.bench.metal)
    steps = Through(shop.memo, tolerance, shop._whole).steps(piece.bench.plan().steps)
    seconds: dict[str, float] = {}
    solids = _timed(seconds, "script", lambda: script.build(steps, piece.bench.metal, tolerance))
    return seconds | {"script volume": sum(solid.volume() for solid in solids)}


def _timed(seconds: dict[str, float], name: str, work: Callable[[], Any]) -> Any:
    start = process_time()
    value = work()
    seconds[name] = process_time() - start
    return value


def table(found: dict[str, dict[str, float]]) -> str:
    """Markdown table of all pieces, and the medians and worst of their ratios."""
    heads = ["piece", "triangles", "script s", *STAGES, "whole", "metal / script",
             "whole / script", "rules / metal", "volume off"]  # fmt: skip
    lines = [heads, ["---"] * len(heads)]
    ratios = []
    for name, row in found.items():
        raw, metal = row["script"], row["metal"]
        ratios.append((metal / raw, row["whole"] / raw, row["rules"] / metal))
        seconds = [f"{row[key]:.3f}" for key in ("script", *STAGES, "whole")]
        shares = [f"{ratio:.2f}" for ratio in ratios[-1]]
        lines.append([name, f"{row['triangles']:,.0f}", *seconds, *shares, f"{row['off']:+.0e}"])
    for word, of in (("median", median), ("worst", max)):
        shares = [f"{of(column):.2f}" for column in zip(*ratios, strict=True)]
        lines.append([word, *[""] * (len(STAGES) + 3), *shares, ""])
    return "\n".join("| " + " | ".join(cells) + " |" for cells in lines)


def warm_edits(tolerance: float, script: float, stones: int = 200) -> str:
    """Processor seconds of text, plan and metal after one figure changed, and as a part of the script's."""
    from posy.compiler.making.session import Session

    session = Session()
    posy_turn(pieces.titled(pieces.row(stones)), tolerance, session)
    lines = []
    for what in ("bead", "wire", "remark"):
        times = []
        for turn in range(TURNS):
            size = {"bead": 0.49 - 0.01 * turn, "wire": 0.89 - 0.01 * turn, "remark": turn}
            text = pieces.titled(pieces.row(stones, **{what: size[what]}))  # type: ignore[arg-type]
            found = posy_turn(text, tolerance, session)
            times.append(found["text and plan"] + found["metal"])
        lines.append(
            f"row of {stones}, {what} changed: {median(times):.3f} s, {median(times) / script:.3f}"
            " of the script"
        )
    return "\n".join(lines)


def main() -> None:
    """Time the pieces asked for and print the table."""
    asked = argparse.ArgumentParser(description="time posy beside plain kernel scripts")
    asked.add_argument("--only", nargs="*", default=[""], help="pieces whose name has one of these")
    asked.add_argument("--tolerance", type=float, default=0.005, help="chord error, mm")
    asked.add_argument("--out", type=Path, help="also write the table to this file")
    args = asked.parse_args()
    found = {
        name: measure(name, text, args.tolerance)
        for name, text in pieces.texts().items()
        if any(word in name for word in args.only)
    }
    lines = [table(found), ""]
    if "row of 200" in found:
        lines += [warm_edits(args.tolerance, found["row of 200"]["script"]), ""]
    kernel, load = importlib.metadata.version("manifold3d"), os.getloadavg()[0]
    lines.append(
        f"chords {args.tolerance} mm; manifold3d {kernel}, Python {platform.python_version()}, "
        f"{os.cpu_count()} CPUs, load {load:.1f}"
    )
    print("\n".join(lines))
    if args.out:
        args.out.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
