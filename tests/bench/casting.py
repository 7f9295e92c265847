"""The casting plan of each example: its grid, its time in processor seconds, spots before and after.

python tests/bench/casting.py [PIECE.posy ...]
"""

import sys
import time
from pathlib import Path

from posy.compiler.casting.plan import plan_of
from posy.compiler.making.pipeline import build

EXAMPLES = Path(__file__).parents[2] / "examples"


def main(paths):
    print("piece, casting              make s  plan s  pitch mm    cells  steps  sprues  late mm3 without / with")
    for path in paths:
        seen = []

        def pour(built, piece, seen=seen):
            made = time.process_time()
            seen.append((made, plan_of(built, piece), time.process_time()))
            return tuple(one.pour for one in seen[0][1].casts)

        start = time.process_time()
        build(str(path), tolerance=0.02, pour=pour)
        if not seen:
            print(f"{path.stem}: not made")
            continue
        made, plan, end = seen[0]
        for k, one in enumerate(plan.casts):
            grid, frozen = one.pouring.frozen.grid, one.pouring.frozen
            times = f"{made - start:6.1f}  {end - made:6.1f}" if k == 0 else " " * 14
            print(
                f"{path.stem + ', ' + one.called:<28.28}{times}  {grid.pitch:8.2f}  {grid.cells:7,}  {frozen.steps:5}"
                f"  {len(one.sprues):6}  {one.proposal.before.lost:7.1f} / {one.pouring.lost:.1f}"
                f" ({len(one.proposal.before.pools)} / {len(one.pouring.pools)})",
                flush=True,
            )


if __name__ == "__main__":
    main([Path(one) for one in sys.argv[1:]] or sorted(EXAMPLES.glob("*.posy")))
