"""The small piece that `posy start` begins with: a scenario of our own."""

from __future__ import annotations

_TEXT = """\
# {title}: a bar pendant with three stones, for the winner of a village garden show.
# Change a line, save, and see what it does. row, frame, claws and loops are names of your own.

piece "{title}"
  metal silver-925

measure across = 2.5 mm, from 2 mm to 3 mm, help "how large the stones are"
measure pitch = across + 0.3 mm, help "from stone to stone"

# The order of the lines is the order of work: a cut takes from what is there already.
stone row: round across, gem sapphire, line 3, every pitch
bar frame: size (3 * pitch + 2 mm) x (across + 2.4 mm) x 2.4 mm, corner 0.6 mm, under row
seat: for row, in frame
prong claws: for row, shared, wire 0.85 mm
bail loops: at ends of frame, up 1.6 mm, wire 1.1 mm, inside 2 mm
"""


def starter_text(title: str) -> str:
    """The text of a first piece under ``title``."""
    return _TEXT.format(title=" ".join(title.replace('"', " ").split()) or "First piece")
