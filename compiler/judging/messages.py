"""Findings on their way out: for people in a terminal, for editors and for programs."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any, TextIO

from ...lang.faults import Fault, Level
from ...lang.outcome import Waiver
from ...lang.snippet import Snippets, json_record, short, told_at
from .found import Found

SET_ASIDE = 3  # findings told in full below the line that waives them
_COLOURS = {"bold": "1", "dim": "2", "red": "31", "green": "32", "yellow": "33", "cyan": "36"}


def finding_record(fault: Fault) -> dict[str, Any]:
    """A finding as plain data; see lang/snippet.py for its keys.

    Findings of bench rules have five more: ``figure`` and ``bound`` (bare numbers in mm,
    degrees, g or shares of one), ``count`` (at how many places), ``waived`` (the reason the
    text gives for setting it aside, else null) and ``mend`` (key and value of a clause that
    would answer it).
    """
    record = json_record(fault)
    if isinstance(fault, Found):
        edit = fault.edit
        record |= {
            "figure": fault.figure,
            "bound": fault.bound,
            "count": fault.count,
            "waived": fault.waived,
            "mend": None if edit is None else {"key": edit.key, "value": edit.value},
        }
    return record


def waiver_record(waiver: Waiver) -> dict[str, Any]:
    """A rule set aside, as plain data."""
    return {
        "rule": waiver.rule,
        "feature": waiver.feature,
        "because": waiver.because,
        "path": waiver.span.path,
        "line": waiver.span.line,
    }


def waivers_text(waivers: Iterable[Waiver], faults: Iterable[Fault] = ()) -> str:
    """The rules set aside, a line each, and below each what of ``faults`` it sets aside, the first
    few told in full: whoever sees a result sees them."""
    told = [fault for fault in faults if isinstance(fault, Found) and is_waived(fault)]
    lines = []
    for one in waivers:
        whose = f" on {one.feature}" if one.feature else ""
        place = f"{one.span.path}:{one.span.line}"
        lines.append(f"waived: {one.rule}{whose}, because {one.because} ({place})\n")
        mine = [
            fault for fault in told
            if (fault.code, fault.waived) == (one.rule, one.because) and one.covers(fault.feature)
        ]  # fmt: skip
        lines += [f"  {_set_aside(fault)}\n" for fault in mine[:SET_ASIDE]]
        if len(mine) > SET_ASIDE:
            lines.append(f"  and {len(mine) - SET_ASIDE} more\n")
    return "".join(lines)


def is_waived(fault: Fault) -> bool:
    """Whether the text sets a finding aside."""
    return isinstance(fault, Found) and fault.waived is not None


def _with_reason(fault: Fault) -> Fault:
    """The fault as it is told: a waived one says why it is."""
    if not isinstance(fault, Found) or fault.waived is None:
        return fault
    return replace(fault, message=f"{fault.message}; waived: {fault.waived}")


def _set_aside(fault: Fault) -> str:
    """A waived finding in one line."""
    span = told_at(fault)
    where = f"line {span.line}: " if span is not None else ""
    return f"{where}{fault.message}: {fault.seen}, limit {fault.limit}"


def findings_text(
    faults: Iterable[Fault],
    texts: Mapping[str, str],
    form: str,
    colour: bool,
    notes: bool = False,
    waived: bool = False,
) -> str:
    """All findings as text, ending in a newline when there are any.

    ``form`` is "human" (faults and warnings with the line they stand in, carets and a blank
    line after each; then the notes, a line each, or like the others with ``notes``) or "short"
    (one line each). ``texts`` hold the sources by path. What is waived is left out but with
    ``waived``: ``waivers_text`` tells it with the reasons.
    """
    told = [_with_reason(fault) for fault in faults if waived or not is_waived(fault)]
    if form == "short":
        return "".join(f"{short(fault)}\n" for fault in told)
    snippets = Snippets(texts, colour)
    quiet = [] if notes else [fault for fault in told if fault.level is Level.NOTE]
    frames = "".join(f"{snippets.full(one)}\n\n" for one in told if one not in quiet)
    return frames + notes_text(quiet, colour)


def notes_text(notes: Sequence[Fault], colour: bool, more: bool = True) -> str:
    """Notes, a line each: code, line of the text, message; then, with ``more``, where they are
    told in full."""
    if not notes:
        return ""
    paths = {span.path for note in notes if (span := told_at(note)) is not None}
    places = [_note_place(note, len(paths) > 1) for note in notes]
    wide, far = max(len(note.code) for note in notes), max(map(len, places))
    lines = [
        f"{tinted('note', 'cyan', colour)}  {note.code:<{wide}}  "
        f"{place:<{far}}  {note.message}\n"
        for note, place in zip(notes, places, strict=True)
    ]
    if more:
        which = "the note" if len(notes) == 1 else "the notes"
        hint = f"  --notes shows {which} in full; why it matters: posy explain {notes[0].code}"
        lines.append(tinted(hint, "dim", colour) + "\n")
    return "".join(lines)


def _note_place(note: Fault, named: bool) -> str:
    """The line a note is about, with its file when the notes are about several."""
    span = told_at(note)
    if span is None:
        return ""
    return f"{span.path}:{span.line}" if named else f"line {span.line}"


def wants_colour(stream: TextIO, refused: bool) -> bool:
    """Whether to colour what goes to ``stream``: only a terminal, and not against NO_COLOR."""
    if refused or os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        return False
    return stream.isatty()


def tinted(text: str, tint: str, colour: bool) -> str:
    """``text`` in a colour of the terminal's own palette, if colour is wanted."""
    return f"\x1b[{_COLOURS[tint]}m{text}\x1b[0m" if colour and text else text


def tally(faults: Sequence[Fault]) -> str:
    """How many findings of each level, in words: "1 fault, 2 warnings", "no findings, 1 waived"."""
    parts = []
    open_ones = [fault for fault in faults if not is_waived(fault)]
    for level in Level:
        count = sum(fault.level is level for fault in open_ones)
        if count:
            parts.append(f"{count} {level.value}{'s' if count > 1 else ''}")
    parts = parts or ["no findings"]
    if len(open_ones) < len(faults):
        parts.append(f"{len(faults) - len(open_ones)} waived")
    return ", ".join(parts)
