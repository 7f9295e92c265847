"""What posy cast may be told; see manual."""

from __future__ import annotations

from ..terminal import options as shared
from ..terminal.forms import Command, Option

MOST = 1000
FINEST, COARSEST = 0.05, 2.0


def pitch(text: str) -> float:
    """How wide the cells are, mm."""
    return shared.length(text, "0.2mm", FINEST, COARSEST)


CAST = Command(
    "cast",
    "Plans the casting: where to pour, how it will freeze, how many go in the flask, what to weigh out",
    "Heat is followed from the metal into the mould until all is solid: what freezes after the metal that "
    "feeds it may be left with holes. Sprues are those of the text (lines 'sprue'); without any, posy "
    "proposes some. Figures of your caster and your flask stand in bench.toml, below [pour] and [flask]. "
    "Before that, the print: which way up, its layers, what begins in mid air, props, resin and time; the "
    "printer stands below [printer]. It is worked out, not tried: metal, flask and hand decide.",
    shared.PIECES,
    "The plan in figures; a page and a drawing of it, NAME-cast.html and NAME-cast.svg; the piece as it "
    "stands on the printer and its props, NAME-print.stl and NAME-props.stl; in the folder out beside "
    "each piece unless --into names another.",
    ("posy cast ring.posy", "posy cast ring.posy --waxes 6 --into plans", "posy cast ring.posy --series"),
    (
        shared.SET, shared.METAL, shared.INTO,
        Option("--waxes", "How many waxes stand in one flask.", "NUMBER", "6", "as many as go in",
               shared.whole(f"no number of pieces from 1 to {MOST}", MOST)),
        Option("--grid", f"How wide the cells are that it is worked out on, in mm ({FINEST} to {COARSEST}): "
               "finer takes longer.", "LENGTH", "0.2mm", "as fine as some seconds allow", pitch),
        shared.SERIES,
        *shared.COMMON,
    ),
)  # fmt: skip
