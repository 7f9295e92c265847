"""Wear posy hard: made-up pieces, and damaged texts, each with a cap of time and memory.

    python tests/wear/run.py [--pieces 300] [--damaged 2000] [--first 0] [--workers 2]

Each worker is a process of its own with at most 3 GB; a text that takes longer than its cap (of processor time) counts as a hang.
Prints what came of them and every failure with its seed; the seed makes the text again:
`python -c "from made_up import piece; print(piece(SEED))"`. Exits with 1 when anything failed."""

from __future__ import annotations

import argparse
import multiprocessing
import resource
import signal
import sys
import traceback
from collections import Counter
from pathlib import Path
from time import process_time

sys.path.insert(0, str(Path(__file__).parent))
MEMORY = 3_000_000_000
CAPS = {"piece": 90, "damaged": 20}  # seconds of processor time
EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.posy"))


class Hang(Exception):
    """It took too long."""


def _too_long(number: int, frame: object) -> None:
    raise Hang


def one(job: tuple[str, int]) -> tuple[str, int, str, float]:
    """One text; what came of it, and the seconds it took."""
    kind, seed = job
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    signal.signal(signal.SIGPROF, _too_long)
    signal.setitimer(signal.ITIMER_PROF, CAPS[kind])
    begun = process_time()
    try:
        came = _piece(seed) if kind == "piece" else _damaged(seed)
    except Hang:
        came = "FAILED: it hangs"
    except MemoryError:
        came = "FAILED: it takes too much memory"
    except BaseException:
        came = "FAILED: " + traceback.format_exc(limit=-3)
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
    return kind, seed, came, process_time() - begun


def _piece(seed: int) -> str:
    from made_up import piece
    from proof import held

    return held(piece(seed), piece(seed + 1) if seed % 4 == 0 else None)


def _damaged(seed: int) -> str:
    """A damaged text checked: it never raises, and tidying it never does."""
    from damage import damaged_bytes

    from posy.compiler.making.pipeline import check
    from posy.compiler.making.tidy import text_tidied
    from posy.lang.faults import is_fatal
    from posy.lang.loader import Texts
    from posy.lang.source import decode

    path = EXAMPLES[seed % len(EXAMPLES)]
    data = damaged_bytes(path.read_text("utf-8"), seed)
    built = check("d.posy", files=Texts({"d.posy": data}))
    text, faults = decode(data, "d.posy")
    if not faults:
        new, faults = text_tidied(text, "d.posy", Texts({}))
        assert new == text if faults else text_tidied(new, "d.posy", Texts({})) == (new, [])
    return "fault" if is_fatal(built.faults) else "right"


def main() -> None:
    """Run them all."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--pieces", type=int, default=300)
    options.add_argument("--damaged", type=int, default=2000)
    options.add_argument("--first", type=int, default=0)
    options.add_argument("--workers", type=int, default=2)
    said = options.parse_args()
    seeds = range(said.first, said.first + max(said.pieces, said.damaged))
    jobs = [("piece", k) for k in seeds[: said.pieces]] + [("damaged", k) for k in seeds[: said.damaged]]
    counts: Counter[str] = Counter()
    slowest: dict[str, tuple[float, int]] = {}
    failed = 0
    with multiprocessing.get_context("spawn").Pool(said.workers, maxtasksperchild=200) as pool:
        for kind, seed, came, seconds in pool.imap_unordered(one, jobs, chunksize=4):
            counts[f"{kind}: {came.partition(':')[0]}"] += 1
            slowest[kind] = max(slowest.get(kind, (0.0, 0)), (seconds, seed))
            if not sum(counts.values()) % 500:
                print(f"{sum(counts.values())} done", flush=True)
            if came.startswith("FAILED"):
                failed += 1
                print(f"{kind} {seed}: {came}", flush=True)
    for name, count in sorted(counts.items()):
        print(f"{name}: {count}")
    for kind, (seconds, seed) in slowest.items():
        print(f"slowest {kind}: {seconds:.1f} s, seed {seed}")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
