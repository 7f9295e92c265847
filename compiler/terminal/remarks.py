"""Remarks (faults, warnings and hints) on their way out to people: tickets, lines, what was set
aside, and the colours and the width they are shown with."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import TextIO

from ...lang.faults import Fault, Level
from ...lang.folding import fold
from ...lang.outcome import Waiver
from ...lang.tickets import NARROWEST, USUAL, WIDEST, Tickets, by_file, in_a_line, told_at
from ..judging.remark import LeftOut, Remark, is_waived
from .forms import Arguments

NO_TEXTS: Mapping[str, str] = MappingProxyType({})
SET_ASIDE = 3  # remarks told below the line that sets them aside
_COLOURS = {"bold": "1", "dim": "2", "red": "31", "green": "32", "yellow": "33", "cyan": "36"}


def width_for(stream: TextIO) -> int:
    """Columns for what goes to ``stream``: its terminal's, from 40 to 120; 80 where it is none."""
    if not stream.isatty():
        return USUAL
    try:
        columns = os.get_terminal_size(stream.fileno()).columns
    except (OSError, ValueError):
        columns = 0
    return min(max(columns or USUAL, NARROWEST), WIDEST)


def waivers_text(waivers: Iterable[Waiver], faults: Iterable[Fault] = (), width: int = USUAL) -> str:
    """The rules set aside with the reasons, and below each the first few of ``faults`` it sets aside."""
    told = [fault for fault in faults if isinstance(fault, Remark) and is_waived(fault)]
    lines: list[str] = []
    for one in waivers:
        whose = f" on {one.feature}" if one.feature else ""
        lines += fold(
            f"set aside by line {one.span.line}: {one.rule}{whose}, because {one.because}", width, "", "  ",
        )  # fmt: skip
        mine = [
            fault for fault in told
            if (fault.code, fault.waived) == (one.rule, one.because) and one.covers(fault.feature)
        ]  # fmt: skip
        for fault in mine[:SET_ASIDE]:
            lines += fold(_set_aside(fault), width, "  ", "    ")
        if len(mine) > SET_ASIDE:
            lines.append(f"  and {len(mine) - SET_ASIDE} more")
    return "".join(f"{line}\n" for line in lines)


def _set_aside(fault: Fault) -> str:
    span = told_at(fault)
    where = f"line {span.line}: " if span is not None else ""
    return f"{where}{fault.message}; now {fault.seen}, wanted {fault.limit}"


def remarks_text(
    faults: Iterable[Fault], texts: Mapping[str, str], show: str, colour: bool, hints: bool = False,
    waived: bool = False, width: int = USUAL, brief: bool = False,
) -> str:
    """All remarks as text, ending in a newline when there are any.

    ``show`` is "full" (a ticket for each fault and warning; then the hints, a line each, or
    like the others with ``hints``) or "lines" (one line each). ``texts`` hold the sources by
    path. What is set aside is left out but with ``waived``: ``waivers_text`` tells it. ``brief``: warnings
    are told a line each, too, as their remedies were not tried."""
    told = [fault for fault in faults if waived or not is_waived(fault)]
    if show == "lines":
        return "".join(f"{in_a_line(fault)}\n" for fault in told)
    for k, one in enumerate(told):
        if isinstance(one, LeftOut):
            before, after = (
                remarks_text(part, texts, show, colour, hints, True, width, brief)
                for part in (told[:k], told[k + 1 :])
            )
            said = "\n".join(tinted(row, "bold", colour) for row in fold(f"{one.message}:", width))
            return f"{before}{said}\n\n{after}"
    short = (Level.HINT, Level.WARNING) if brief else (Level.HINT,)
    quiet = [] if hints else [fault for fault in told if fault.level in short]
    loud = [fault for fault in told if fault not in quiet]
    tickets = Tickets(texts, colour, width).all(loud)
    return (f"{tickets}\n\n" if tickets else "") + hints_text(quiet, colour, width)


def fault_text(faults: Sequence[Fault], arguments: Arguments, texts: Mapping[str, str] = NO_TEXTS) -> None:
    """Faults on stderr, as the command was told to show them; ``texts`` hold the sources."""
    stream = sys.stderr
    colour, show = wants_colour(stream, arguments.no_colour), getattr(arguments, "show", "full")
    stream.write(remarks_text(faults, texts, show, colour, width=width_for(stream)))


def hints_text(hints: Sequence[Fault], colour: bool, width: int = USUAL, more: bool = True) -> str:
    """Hints and warnings, a sentence each; with ``more`` then how they are told in full."""
    if not hints:
        return ""
    named = len(by_file(hints)) > 1
    lines: list[str] = []
    for one in hints:
        level, warns = one.level.value, one.level is Level.WARNING
        rows = fold(f"{_hint_place(one, named)}{one.message} ({one.code})", width, f"{level:<9}")
        tint = "yellow" if warns else "cyan"
        lines += [tinted(rows[0][: len(level)], tint, colour) + rows[0][len(level) :], *rows[1:]]
    if more:
        it = "it" if len(hints) == 1 else "them"
        said = f"--hints shows {it} in full; why it matters: posy why {hints[0].code}"
        if any(one.level is Level.WARNING for one in hints):
            said = f"posy check tries what cures {it} and tells it; why it matters: posy why {hints[0].code}"
        lines += [tinted(row, "dim", colour) for row in fold(said, width, " " * 9)]
    return "".join(f"{line}\n" for line in lines)


def _hint_place(hint: Fault, named: bool) -> str:
    """The line a hint is about, with its file when the hints are about several."""
    span = told_at(hint)
    if span is None:
        return ""
    return f"{span.path} line {span.line}: " if named else f"line {span.line}: "


def wants_colour(stream: TextIO, refused: bool) -> bool:
    """Whether to colour what goes to ``stream``: only a terminal, and not against NO_COLOR."""
    if refused or os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        return False
    return stream.isatty()


def tinted(text: str, tint: str, colour: bool) -> str:
    """``text`` in a colour of the terminal's own palette, if colour is wanted."""
    return f"\x1b[{_COLOURS[tint]}m{text}\x1b[0m" if colour and text else text
