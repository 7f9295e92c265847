"""Time the bench rules against the booleans of the same row pendant.

    python tests/bench/rules_row.py [--repeats 3] [--tolerance 0.005] [STONES ...]

For each number of stones one fresh process; in it, in turn, `repeats` times: posy's booleans
with an empty memo (plan to finished metal), the whole rule pass on that metal (plan and metal
phases, nothing kept from before), and the booleans of the hand-written kernel script. Medians of
seconds on the clock; processor seconds beside them, since the kernel works on all cores and the
rules on one. The promise is that the rules cost less than the booleans.
"""

from __future__ import annotations

import argparse
import multiprocessing as mp
from collections.abc import Callable
from dataclasses import dataclass
from statistics import median
from time import perf_counter, process_time

STONES = (5, 50, 200)


@dataclass(frozen=True)
class Cost:
    """Seconds on the clock and of the processors, a pair for each turn."""

    turns: tuple[tuple[float, float], ...]

    @property
    def clock(self) -> float:
        """Median seconds on the clock."""
        return median(clock for clock, _ in self.turns)

    @property
    def processor(self) -> float:
        """Median seconds of all processors together."""
        return median(processor for _, processor in self.turns)

    def __str__(self) -> str:
        return f"{self.clock:.3f} ({self.processor:.3f})"


def costs(stones: int, tolerance: float, repeats: int) -> tuple[Cost, Cost, Cost]:
    """Rules, posy's booleans and raw booleans of one row, in a fresh process."""
    with mp.get_context("spawn").Pool(1) as pool:
        return pool.apply(_costs, (stones, tolerance, repeats))


def _costs(stones: int, tolerance: float, repeats: int) -> tuple[Cost, Cost, Cost]:
    import posy_row
    import raw_row

    figures = raw_row.RowFigures(stones=stones)
    source = posy_row.text(figures)
    posy_row.posy_build(source, tolerance)  # imports, and what any second piece finds ready
    rules, ours, raw = [], [], []
    for _ in range(repeats):
        made, checked = _turn(source, tolerance)
        ours.append(made)
        rules.append(checked)
        raw.append(_timed(lambda: raw_row.build(tolerance, figures)))
    return Cost(tuple(rules)), Cost(tuple(ours)), Cost(tuple(raw))


def _turn(source: str, tolerance: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """Costs of one build from nothing and of all rules on it."""
    from posy.compiler.judging.judge import before_metal, on_metal
    from posy.compiler.making.pipeline import _laid_out
    from posy.compiler.making.session import Session, metal_parts
    from posy.compiler.rules import all_rules
    from posy.lang.loader import Texts

    _, piece = _laid_out("row.posy", {}, None, Texts({"row.posy": source}))
    session = Session()

    def make() -> None:
        piece.parts, _ = metal_parts(piece.bench, session, tolerance)

    made = _timed(make)
    piece.solids = session.solids
    return made, _timed(lambda: [*before_metal(piece, all_rules()), *on_metal(piece, all_rules())])


def _timed(work: Callable[[], object]) -> tuple[float, float]:
    clock, processor = perf_counter(), process_time()
    work()
    return perf_counter() - clock, process_time() - processor


def table(tolerance: float, repeats: int, stones: tuple[int, ...] = STONES) -> str:
    """Markdown table, a row for each number of stones."""
    lines = [
        "| stones | rules s (processor) | posy booleans s | raw booleans s | rules / posy | rules / raw |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    for count in stones:
        rules, ours, raw = costs(count, tolerance, repeats)
        ratios = f"{rules.clock / ours.clock:.2f} | {rules.clock / raw.clock:.2f}"
        lines.append(f"| {count} | {rules} | {ours} | {raw} | {ratios} |")
    return "\n".join(lines)


def main() -> None:
    """Print the table."""
    asked = argparse.ArgumentParser(description="time the bench rules against the booleans")
    asked.add_argument("stones", nargs="*", type=int, default=list(STONES))
    asked.add_argument("--repeats", type=int, default=3)
    asked.add_argument("--tolerance", type=float, default=0.005, help="chord error, mm")
    args = asked.parse_args()
    print(table(args.tolerance, max(1, args.repeats), tuple(args.stones)))


if __name__ == "__main__":
    main()
