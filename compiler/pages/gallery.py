"""A page that lists what the rules found in some pieces, below what is written there by hand.

``posy check --page examples/REMARKS.md examples/*.posy`` makes it; a test wants it fresh."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from ...lang.faults import Fault, Level
from ...lang.tickets import told_at
from ..judging.remark import Remark, is_waived, tally
from ..making.result import Built

REFRESH = "posy check --page examples/REMARKS.md examples/*.posy"
MARK = "<!-- All below is generated: posy check --page FILE PIECES -->"
_HEAD = ("level", "name", "line", "remark", "now", "wanted")
_FIGURE = re.compile(r"-?\d+(?:\.\d+)?")
NEAR = 0.02  # what figures may differ by (share, or mm) between versions of numpy and the kernel


def page_of(held: str, pieces: Sequence[Built]) -> str:
    """The page: what stands above the mark in ``held``, the mark, and a list for each piece."""
    hand = held.partition(MARK)[0].rstrip() or "# What the rules found"
    parts = [hand, MARK, _summary(pieces), *(_piece(built) for built in pieces)]
    return "\n\n".join(parts) + "\n"


def alike(first: str, second: str) -> bool:
    """Whether two pages say the same, figures within `NEAR` of one another."""
    if _FIGURE.sub("#", first) != _FIGURE.sub("#", second):
        return False
    pairs = zip(_FIGURE.findall(first), _FIGURE.findall(second), strict=True)
    return all(abs(float(a) - float(b)) <= NEAR * max(1.0, abs(float(a))) for a, b in pairs)


def _summary(pieces: Sequence[Built]) -> str:
    every = [fault for built in pieces for fault in built.faults]
    clear = sum(not built.faults for built in pieces)
    return (
        f"{len(pieces)} pieces, rules of the plan and of the metal, chords of "
        f"{1000 * min((built.tolerance for built in pieces), default=0.005):g} microns: "
        f"{tally(every)}; {clear} with no remarks at all. `posy why NAME` tells why each "
        "matters and where its limit comes from."
    )


def _piece(built: Built) -> str:
    metals = " and ".join(built.metals)
    head = f"## {Path(built.path).name}\n\n{built.title}, {metals}: {tally(built.faults)}."
    if not built.faults:
        return head
    rows = [_HEAD, tuple("---" for _ in _HEAD), *(_row(fault) for fault in built.faults)]
    return head + "\n\n" + "\n".join(f"| {' | '.join(row)} |" for row in rows)


def _row(fault: Fault) -> tuple[str, ...]:
    """One remark; one that is set aside with its reason."""
    span = told_at(fault)
    because = fault.waived if isinstance(fault, Remark) else None
    level = "set aside" if is_waived(fault) else fault.level.value
    message = fault.message + (f"; set aside because: {because}" if because else "")
    feature = f"`{fault.feature}`: " if isinstance(fault, Remark) and fault.feature else ""
    cells = (
        level if fault.level is not Level.FAULT else "**fault**",
        f"`{fault.code}`",
        str(span.line) if span is not None else "",
        f"{feature}{message}",
        fault.seen or "",
        fault.limit or "",
    )
    return tuple(cell.replace("|", "\\|") for cell in cells)
