"""``python -m posy.compiler`` is the command `posy`."""

import sys

from .command import main

if __name__ == "__main__":
    sys.exit(main())
