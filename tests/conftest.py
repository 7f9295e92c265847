"""Lets tests import each other's helpers (texts, exact) by plain name."""

import sys
from pathlib import Path

HERE = Path(__file__).parent
for folder in (HERE, HERE / "outside", HERE / "bench", HERE / "rules", HERE / "wear"):
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))
