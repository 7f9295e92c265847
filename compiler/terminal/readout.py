"""What `posy watch` shows after every save: on a terminal, in a pipe, or as JSON lines.

A save is told in two goes: the weight as soon as there is metal, the findings of the rules that
measure it when they are done. A terminal is drawn anew each time, a pipe gets lines once.
"""

from __future__ import annotations

import argparse
import json
import shutil
import sys
import textwrap
import time
from collections.abc import Sequence
from typing import Any

from ...lang.faults import Fault, Level
from ..files.digits import metals_shown, shown
from ..judging.messages import (
    finding_record,
    findings_text,
    notes_text,
    tally,
    tinted,
    waiver_record,
    waivers_text,
    wants_colour,
)
from ..making.weights import Weights, in_other_metals
from .child import Crash, Report
from .output import shown_size

CLEAR = "\x1b[2J\x1b[H"


class Readout:
    """Prints reports; remembers the last good one to compare with."""

    def __init__(self, options: argparse.Namespace) -> None:
        self._options = options
        self._live = sys.stdout.isatty() and options.format == "human"
        self._colour = wants_colour(sys.stdout, options.no_colour)
        self._good: tuple[Report, str] | None = None  # the last that was made
        self._found: set[tuple[str, str, str]] | None = None  # in the last that was checked
        self._shown: Report | None = None  # the last of all
        self._change = ""  # in weight, of the save being told
        self._stamp = ""
        self._same = False  # whether the save being told changes nothing that is made

    def begin(self) -> None:
        """Say what is watched, before the first build."""
        if self._options.format != "json":
            self._print(["making it …"] if self._live else [self._title()])

    def report(self, report: Report) -> None:
        """Show what came of a save."""
        if self._options.format == "json":
            self._write(json.dumps(_record(report), ensure_ascii=False) + "\n")
            return
        if self._is_first_word(report):
            if self._shown is not None and self._shown.made:  # overtaken before its rules
                self._good = (self._shown, self._stamp)
            self._stamp, self._same = time.strftime("%H:%M:%S"), self._is_as_before(report)
            self._change = self._weight_change(report)
        if report.made and report.weights is not None:
            self._print(self._screen(report) if self._live else self._lines(report))
            if report.checked:
                self._good = (report, self._stamp)
                self._found = set(map(_gist, report.faults))
        else:
            self._print(self._bad_lines(report))
        self._shown = report

    def crash(self, crash: Crash) -> None:
        """Show that a build failed through no fault of the text."""
        if self._options.format == "json":
            record = {"posy": 1, "command": "watch", "failed": crash.note}
            self._write(json.dumps(record) + "\n")
            return
        self._print([f"{time.strftime('%H:%M:%S')}  posy: {crash.note}", *self._last_good()])
        self._shown = None

    def _title(self) -> str:
        return tinted(f"watching {self._options.piece}, Ctrl-C ends it", "dim", self._colour)

    def _print(self, lines: Sequence[str]) -> None:
        if lines or self._live:
            top = [self._title()] if self._live else []
            self._write((CLEAR if self._live else "") + "\n".join([*top, *lines]) + "\n")

    def _write(self, text: str) -> None:
        """In one go, so that a reader of a pipe never sees half a report."""
        sys.stdout.write(text)
        sys.stdout.flush()

    # --- a piece that was made

    def _screen(self, report: Report) -> list[str]:
        """All of it, for a terminal that was cleared."""
        return [
            self._head(report) + self._checked(report),
            *self._weight(report),
            *self._written(report),
            *self._fitting(report),
            *waivers_text(report.waivers, report.faults).splitlines(),
        ]

    def _lines(self, report: Report) -> list[str]:
        """What is new of it, for a pipe."""
        same, lines = self._same, []
        if self._is_first_word(report):
            lines = [self._head(report), *([] if same else self._weight(report))]
        if not report.checked:
            return lines
        lines += [] if same else self._written(report)
        if same and not self._news(report):
            return lines
        return [
            *lines,
            *self._findings(report),
            *waivers_text(report.waivers, report.faults).splitlines(),
            f"checked in {_took(report.check_seconds)}: {tally(report.faults)}",
        ]

    def _head(self, report: Report) -> str:
        """The line with the time of the save."""
        if self._same:
            return f"{self._stamp}  unchanged, {_took(report.seconds)}"
        return f"{self._stamp}  made in {_took(report.seconds)}{_steps(report)}"

    def _checked(self, report: Report) -> str:
        """How far the rules are, after the head on a terminal."""
        if not report.checked:
            return ", checking …"
        return f", checked in {_took(report.check_seconds)}: {tally(report.faults)}"

    def _weight(self, report: Report) -> list[str]:
        """The weight with its change, in other metals, and the stones."""
        weights = report.weights
        assert weights is not None
        head = f"{report.title}, {metals_shown(weights)}"
        stones = _stones(weights)
        return [
            tinted(head, "bold", self._colour) + (f"  {self._change}" if self._change else ""),
            *self._alloys(weights),
            *bought_lines(weights),
            *([f"  {stones}"] if stones else []),
        ]

    def _weight_change(self, report: Report) -> str:
        """Weight against the last good result in the same metal, signed."""
        if self._good is None or self._good[0].metal != report.metal:
            return ""
        new, old = report.weights, self._good[0].weights
        if new is None or old is None:
            return ""
        more = new.grams - old.grams
        text = shown(abs(more), max(new.grams_error, old.grams_error))
        if not float(text):
            return "" if self._same else "same weight"
        sign, tint = ("+", "yellow") if more > 0 else ("-", "green")
        return tinted(sign + text, tint, self._colour)

    def _alloys(self, weights: Weights) -> list[str]:
        """Other metals in as few lines as fit."""
        rows = in_other_metals(weights, self._options.alloys)
        text = " · ".join(f"{row.name}\u00a0{row.grams:.2f}" for row in rows)
        lines = textwrap.wrap(
            text, max(40, self._width() - 2), break_long_words=False, break_on_hyphens=False
        )
        return [f"  {line}".replace("\u00a0", " ") for line in lines]

    def _written(self, report: Report) -> list[str]:
        return [
            f"  wrote {path}  {shown_size(size)}" for path, size in report.written.items()
        ]

    # --- what is found

    def _findings(self, report: Report) -> list[str]:
        """Faults and warnings in full; notes only when they are new."""
        options = self._options
        if options.notes or options.format == "short":
            told, quiet = list(report.faults), []
        else:
            told = [one for one in report.faults if one.level is not Level.NOTE]
            quiet = self._new_notes(report)
        text = findings_text(told, report.texts, options.format, self._colour, options.notes)
        return (text + notes_text(quiet, self._colour, more=False)).splitlines()

    def _fitting(self, report: Report) -> list[str]:
        """The findings in full if the screen holds them, else a line each, as many as fit."""
        room = max(4, shutil.get_terminal_size((96, 24)).lines - 9)
        full = self._findings(report)
        if len(full) <= room:
            return full
        lines = findings_text(report.faults, {}, "short", self._colour).splitlines()
        more = len(lines) - room + 1
        if more > 1:
            lines = [*lines[: room - 1], f"… and {more} more; posy check shows them all"]
        return lines

    def _new_notes(self, report: Report) -> list[Fault]:
        """The notes that the last good result did not have; none of the first."""
        if self._found is None:
            return []
        return [
            one for one in report.faults
            if one.level is Level.NOTE and _gist(one) not in self._found
        ]  # fmt: skip

    def _news(self, report: Report) -> bool:
        """Whether other things are found than in the last good result."""
        return self._found != set(map(_gist, report.faults))

    def _is_as_before(self, report: Report) -> bool:
        """Whether all that is made is the same as in the last result, which was good."""
        if self._good is None or self._shown is None or not self._shown.made:
            return False
        return report.result == self._good[0].result

    def _is_first_word(self, report: Report) -> bool:
        """Whether nothing has been told of this save yet."""
        return self._shown is None or self._shown.number != report.number

    # --- a piece that was not

    def _bad_lines(self, report: Report) -> list[str]:
        """Findings first, then what still stands."""
        head = tinted(tally(report.faults), "red", self._colour)
        return [
            f"{self._stamp}  not made, {_took(report.seconds)}: {head}",
            *self._findings(report),
            *self._last_good(),
        ]

    def _last_good(self) -> list[str]:
        if self._good is None:
            return []
        report, stamp = self._good
        assert report.weights is not None
        return [
            f"the last good result stands, {stamp}: "
            f"{report.title}, {metals_shown(report.weights)}"
        ]

    def _width(self) -> int:
        return shutil.get_terminal_size((96, 24)).columns if self._live else 96


def _gist(fault: Fault) -> tuple[str, str, str]:
    """What makes a finding the same one after lines have moved."""
    return fault.code, fault.message, fault.seen or ""


def bought_lines(weights: Weights) -> list[str]:
    """What is bought and not cast, a line each."""
    return [
        f"  bought: {part.casting}, {part.count} in {part.metal}, "
        f"{shown(part.grams, part.grams_error)} g"
        for part in weights.bought
    ]


def _took(seconds: float) -> str:
    """How long something took."""
    if seconds < 0.995:
        return f"{max(1, round(seconds * 1000))} ms"
    return f"{seconds:.1f} s"


def _steps(report: Report) -> str:
    """How much of the work was done anew."""
    if not report.steps_total:
        return ""
    return f", {report.steps_rebuilt} of {report.steps_total} steps anew"


def _stones(weights: Weights) -> str:
    """The stones in one line."""
    count = sum(row.count for row in weights.stones)
    if not count:
        return ""
    return (
        f"{count} stone{'s' if count > 1 else ''}, {shown(weights.carats)} ct by formula, "
        f"{shown(weights.carats_volume)} ct by volume"
    )


def _record(report: Report) -> dict[str, Any]:
    """A report as plain data."""
    from ..files.summary import weight_record

    return {
        "posy": 1,
        "command": "watch",
        "path": report.path,
        "title": report.title,
        "metal": report.metal,
        "made": report.made,
        "checked": report.checked,
        "seconds": round(report.seconds, 3),
        "steps": {"total": report.steps_total, "anew": report.steps_rebuilt},
        **weight_record(report.weights),
        "files": [{"path": path, "bytes": size} for path, size in report.written.items()],
        "findings": [finding_record(fault) for fault in report.faults],
        "waivers": [waiver_record(waiver) for waiver in report.waivers],
    }
