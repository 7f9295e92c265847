"""The plan of each example, to pour and to print: its freezing grid, its time by the clock (and of the
processor), what freezes late without and with the sprues. Without pieces named: all of the gallery.

python tests/bench/casting.py [PIECE.posy ...]"""

import sys
import time
from pathlib import Path

from posy.compiler.casting.plan import plan_of
from posy.compiler.making.pipeline import build
from posy.compiler.printing.plan import print_plans
from posy.compiler.printing.printer import printer_of

EXAMPLES = Path(__file__).parents[2] / "examples"
MOST = 20.0  # s for the plan of a piece on two cores


def main(paths):
    print("piece, casting               grid mm     cells  steps  sprues  late mm3 without / with"
          "   pour s  print s  all s (cpu)")  # fmt: skip
    slow = []
    for path in paths:
        done = []

        def pour(built, piece, done=done):
            start = time.perf_counter()
            plan = plan_of(built, piece)
            poured = time.perf_counter()
            print_plans(built, printer_of(built.house))
            done.append((plan, poured - start, time.perf_counter() - poured))
            return tuple(one.pour for one in plan.casts)

        start, work = time.perf_counter(), time.process_time()
        build(str(path), tolerance=0.02, pour=pour)
        whole, work = time.perf_counter() - start, time.process_time() - work
        if not done:
            print(f"{path.stem}: not made")
            continue
        ((plan, poured, printed),) = done
        slow += [path.stem] if whole > MOST else []
        for k, one in enumerate(plan.casts):
            grid, frozen = one.pouring.frozen.grid, one.pouring.frozen
            times = f"{poured:8.1f} {printed:8.1f} {whole:6.1f} ({work:.1f})" if k == 0 else ""
            print(
                f"{path.stem + ', ' + one.called:<28.28} {grid.pitch:7.3f} {grid.cells:9,}  {frozen.steps:5}"
                f"  {len(one.sprues):6}  {one.proposal.before.lost:8.1f} / {one.pouring.lost:<6.1f}"
                f" ({len(one.proposal.before.pools)} / {len(one.pouring.pools)}) {times}",
                flush=True,
            )
    print(f"over {MOST:g} s: {', '.join(slow) or 'none'}")


if __name__ == "__main__":
    main([Path(one) for one in sys.argv[1:]] or sorted(EXAMPLES.glob("*.posy")))
