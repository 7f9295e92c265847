"""From a checked tree to solids, verdicts, weights and files: the compiler room."""

import os

# Products here are of many rows by three: a second thread of numpy's gains nothing by them, and spins while
# it waits. On busy cores that cost eight times as much (11 s for 1.4 s in a check of a thousand stones).
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
