"""``python -m posy.compiler`` is the command `posy`."""

from .command import program

if __name__ == "__main__":
    program()
