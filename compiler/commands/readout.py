"""What `posy watch` shows after every save: on a terminal, in a pipe, or as JSON lines."""

from __future__ import annotations

import argparse
import json
import shutil
import sys
import textwrap
import time
from typing import Any

from ..files.digits import shown
from ..messages import (
    finding_record,
    findings_text,
    tally,
    tinted,
    waiver_record,
    waivers_text,
    wants_colour,
)
from ..weigh import Weights
from .build import shown_size
from .child import Crash, Report

CLEAR = "\x1b[2J\x1b[H"


class Readout:
    """Prints reports; remembers the last good one to compare weights with."""

    def __init__(self, options: argparse.Namespace) -> None:
        self._options = options
        self._live = sys.stdout.isatty() and options.format == "human"
        self._colour = wants_colour(sys.stdout, options.no_colour)
        self._good: tuple[Report, str] | None = None

    def begin(self) -> None:
        """Say what is watched, before the first build."""
        if self._options.format != "json":
            self._print([self._title(), "making it …"] if self._live else [self._title()])

    def report(self, report: Report) -> None:
        """Show what came of a save."""
        if self._options.format == "json":
            self._print([json.dumps(_record(report), ensure_ascii=False)])
            return
        stamp = time.strftime("%H:%M:%S")
        good = report.made and report.weights is not None
        lines = self._good_lines(report, stamp) if good else self._bad_lines(report, stamp)
        self._print([self._title(), *lines] if self._live else lines)
        if good:
            self._good = (report, stamp)

    def crash(self, crash: Crash) -> None:
        """Show that a build failed through no fault of the text."""
        if self._options.format == "json":
            self._print([json.dumps({"posy": 1, "command": "watch", "failed": crash.note})])
            return
        lines = [f"{time.strftime('%H:%M:%S')}  posy: {crash.note}", *self._last_good()]
        self._print([self._title(), *lines] if self._live else lines)

    def _title(self) -> str:
        return tinted(f"watching {self._options.piece}, Ctrl-C ends it", "dim", self._colour)

    def _print(self, lines: list[str]) -> None:
        """One go, so that a reader of a pipe never sees half a report."""
        text = "\n".join(lines) + "\n"
        sys.stdout.write((CLEAR if self._live else "") + text)
        sys.stdout.flush()

    def _good_lines(self, report: Report, stamp: str) -> list[str]:
        """The weight with its change, all alloys, stones, files, findings."""
        weights = report.weights
        assert weights is not None
        head = f"{report.title}, {report.metal}: {_grams(weights)} g"
        change = self._change(report)
        stones = _stones(weights)
        return [
            f"{stamp}  made in {_took(report)}{_steps(report)}",
            tinted(head, "bold", self._colour) + (f"  {change}" if change else ""),
            *self._alloys(weights),
            *([f"  {stones}"] if stones else []),
            *(f"  wrote {path}  {shown_size(size)}" for path, size in report.written.items()),
            *self._findings(report),
            *waivers_text(report.waivers).splitlines(),
        ]

    def _bad_lines(self, report: Report, stamp: str) -> list[str]:
        """Findings first, then what still stands."""
        head = tinted(f"{tally(report.faults)}", "red", self._colour)
        return [
            f"{stamp}  not made, {_took(report)}: {head}",
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
            f"{report.title}, {report.metal} {_grams(report.weights)} g"
        ]

    def _change(self, report: Report) -> str:
        """Weight against the last good result in the same metal, signed."""
        if self._good is None or self._good[0].metal != report.metal:
            return ""
        new, old = report.weights, self._good[0].weights
        assert new is not None
        assert old is not None
        more = new.grams - old.grams
        text = shown(abs(more), max(new.grams_error, old.grams_error))
        if not float(text):
            return "unchanged"
        sign, tint = ("+", "yellow") if more > 0 else ("-", "green")
        return tinted(sign + text, tint, self._colour)

    def _alloys(self, weights: Weights) -> list[str]:
        """Every alloy in as few lines as fit."""
        items = [f"{row.name} {row.grams:.2f}" for row in weights.alloys]
        text = " · ".join(item.replace(" ", "\u00a0") for item in items)
        width = shutil.get_terminal_size((96, 24)).columns if self._live else 96
        lines = textwrap.wrap(
            text, max(40, width - 2), break_long_words=False, break_on_hyphens=False
        )
        return [f"  {line}".replace("\u00a0", " ") for line in lines]

    def _findings(self, report: Report) -> list[str]:
        """The findings as lines, with a count when there are any."""
        if not report.faults:
            return []
        form = self._options.format
        text = findings_text(report.faults, report.texts, form, self._colour)
        return [
            *text.rstrip("\n").split("\n"),
            *([tally(report.faults)] if report.made else []),
        ]


def _grams(weights: Weights) -> str:
    return shown(weights.grams, weights.grams_error)


def _took(report: Report) -> str:
    """How long the build took."""
    if report.seconds < 0.995:
        return f"{max(1, round(report.seconds * 1000))} ms"
    return f"{report.seconds:.1f} s"


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
        "seconds": round(report.seconds, 3),
        **weight_record(report.weights),
        "files": [{"path": path, "bytes": size} for path, size in report.written.items()],
        "findings": [finding_record(fault) for fault in report.faults],
        "waivers": [waiver_record(waiver) for waiver in report.waivers],
    }
