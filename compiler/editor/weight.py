"""What the piece weighs, made beside the editor and told at its first line."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from ...lang import tree
from ...lang.faults import Fault
from ..files.digits import shown
from ..making.pipeline import build
from ..making.session import Session
from ..making.weights import weigh
from .look import Look


@dataclass(frozen=True)
class Weighed:
    """What came of a text: its weight in a line ("" where there is none), all its remarks."""

    text: str
    told: str
    remarks: tuple[Fault, ...]


def weighed(look: Look, session: Session, go_on: Callable[[], bool]) -> Weighed:
    """The piece made, weighed and judged on its metal."""
    built = build(look.path, files=look.files, session=session, go_on=go_on, rest=True)
    weights, _ = weigh(built)
    if weights is None:
        return Weighed(look.text, "", built.faults)
    parts = [f"{grams:.2f} g of {metal}" for metal, grams, _ in weights.metals]
    count = len(built.stones)
    if count:
        parts.append(f"{count} stone{'s' if count > 1 else ''} {shown(weights.carats, most=2)} ct")
    return Weighed(look.text, ", ".join(parts), built.faults)


def line_of(look: Look) -> int:
    """Where the weight is told: the end of the piece's line, else of the first line."""
    for line in look.program.tree.lines:
        if isinstance(line, tree.Piece):
            return line.span.end
    end = look.text.find("\n")
    return len(look.text) if end < 0 else end
