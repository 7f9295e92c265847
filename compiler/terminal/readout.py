"""What `posy watch` shows after every save: on a terminal, in a pipe, or as JSON lines.

A save is told in two goes: the weight as soon as there is metal, the remarks of the rules that
measure it when they are done. A terminal is written over row by row, from the top, so that nothing
flickers; a pipe, or a terminal that cannot move its cursor, gets lines once."""

from __future__ import annotations

import json
import os
import shutil
import sys
import time
from collections.abc import Sequence
from typing import Any

from ...lang.faults import Fault, Level
from ...lang.folding import clean, fold
from ..files.digits import shown
from ..judging.remark import LAYOUT, LeftOut, remark_record, tally, waiver_record
from ..making.weights import Weights, in_other_metals
from .forms import Arguments
from .output import as_cast, bench_grams, bought_lines, drawing_of, shown_size, sized
from .remarks import hints_text, remarks_text, tinted, waivers_text, wants_colour, width_for
from .reports import Crash, Report
from .screen import CLEAR, joined, over


class Readout:
    """Prints reports; remembers the last good one to compare with."""

    def __init__(self, options: Arguments, page: str = "") -> None:
        self._options = options
        self._page = page  # where the live page is, if there is one
        moves = sys.stdout.isatty() and os.environ.get("TERM") != "dumb"  # its cursor
        self._live = moves and options.show == "full"
        self._colour = wants_colour(sys.stdout, options.no_colour)
        self._good: tuple[Report, str] | None = None  # the last that was made
        self._found: set[tuple[str, str, str]] | None = None  # in the last that was checked
        self._shown: Report | None = None  # the last of all
        self._change = ""  # in weight, of the save being told
        self._stamp = ""
        self._same = False  # whether the save being told changes nothing that is made

    def begin(self) -> None:
        """Say what is watched, before the first build."""
        if self._options.show != "data":
            self._write(CLEAR if self._live else "")
            self._print(["making it …"] if self._live else [self._title()])
        elif self._page:
            record = {"posy": LAYOUT, "command": "watch", "page": self._page}
            self._write(json.dumps(record) + "\n")

    def report(self, report: Report) -> None:
        """Show what came of a save."""
        if self._options.show == "data":
            self._write(json.dumps(_record(report), ensure_ascii=False) + "\n")
            return
        if self._is_first_word(report):
            if self._shown is not None and self._shown.made:  # overtaken before its rules
                self._good = self._shown, self._stamp
            self._stamp, self._same = time.strftime("%H:%M:%S"), self._is_as_before(report)
            self._change = self._weight_change(report)
        if report.made and report.weights is not None:
            self._print(self._screen(report) if self._live else self._lines(report))
            if report.checked:
                self._good = report, self._stamp
                self._found = set(map(_gist, report.faults))
        else:
            self._print(self._bad_lines(report))
        self._shown = report

    def crash(self, crash: Crash) -> None:
        """Show that a build failed through no fault of the text."""
        if self._options.show == "data":
            record = {"posy": LAYOUT, "command": "watch", "failed": crash.note}
            self._write(json.dumps(record) + "\n")
            return
        if self._shown is not None and self._shown.made:  # though its rules were not done
            self._good = self._shown, self._stamp
        said = f"not made at {time.strftime('%H:%M:%S')}: {crash.note}"
        self._print([*(self._folded(said) if self._live else [said]), *self._last_good()])
        self._shown = None

    def _title(self) -> str:
        options, width = self._options, width_for(sys.stdout)
        drawing = drawing_of(options.piece, options.into)
        follows = f"its drawing, anew at every save: open {drawing} in your browser"
        if self._page:
            follows = "to see it turn, open this page in your browser:"
        said = fold(f"watching {options.piece}; {follows}", width)
        said += [self._page] if self._page else []
        said += fold("Ctrl-C ends it", width)
        return "\n".join(tinted(line, "dim", self._colour) for line in said)

    def _folded(self, text: str, first: str = "", other: str | None = "    ") -> list[str]:
        """Text in the lines that a screen or a pipe gives it."""
        return fold(clean(text), width_for(sys.stdout), first, other)

    def _print(self, lines: Sequence[str]) -> None:
        if self._live:
            self._write(over([*self._title().splitlines(), *lines]))
        elif lines:
            self._write("\n".join(lines) + "\n")

    def _write(self, text: str) -> None:
        """In one go, so that a reader of a pipe never sees half a report."""
        sys.stdout.write(text)
        sys.stdout.flush()

    # --- a piece that was made

    def _screen(self, report: Report) -> list[str]:
        """All of it, for a terminal that was cleared."""
        return [
            *self._head(tally(report.faults) if report.checked else "checking …"),
            *self._weight(report),
            *self._freezing(report),
            *self._written(report),
            *self._fitting(report),
            *self._waivers(report),
        ]

    def _lines(self, report: Report) -> list[str]:
        """What is new of it, for a pipe."""
        same, lines = self._same, []
        if self._is_first_word(report):
            lines = [*self._head(), *([] if same else self._weight(report))]
        if not report.checked:
            return lines
        lines += [] if same else [*self._freezing(report), *self._written(report)]
        if same and self._found == set(map(_gist, report.faults)):  # nothing else is found than before
            return lines
        return [
            *lines,
            *self._remarks(report),
            *self._waivers(report),
            *self._folded(f"checked: {tally(report.faults)}"),
        ]

    def _head(self, more: str = "") -> list[str]:
        """The time of the save and what it changed in the weight."""
        done = "unchanged" if self._same else "made again" if self._good else "made"
        parts = [f"{done} at {self._stamp}", self._change, more]
        return joined([part for part in parts if part], " · ", width_for(sys.stdout))

    def _waivers(self, report: Report) -> list[str]:
        width = width_for(sys.stdout)
        return waivers_text(report.waivers, report.faults, width).splitlines()

    def _weight(self, report: Report) -> list[str]:
        """The weight, in other metals too, and the stones."""
        weights = report.weights
        assert weights is not None
        head = self._folded(f"{report.title}: {as_cast(weights)}")
        return [
            *(tinted(line, "bold", self._colour) for line in head),
            *self._alloys(weights),
            *(line for one in bought_lines(weights) for line in self._folded(one, "  ")),
            *(self._folded(stones, "  ") if (stones := _stones(weights)) else []),
        ]

    def _freezing(self, report: Report) -> list[str]:
        if not report.freezing:
            return []
        from ..casting.quick import quick_lines

        return [line for one in quick_lines(report.freezing) for line in self._folded(one, "  ")]

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
        return tinted(f"{sign}{text} g", tint, self._colour)

    def _alloys(self, weights: Weights) -> list[str]:
        """Other metals in as few lines as fit."""
        rows = in_other_metals(weights, self._options.alloys)
        text = " · ".join(f"{row.name}\u00a0{bench_grams(row.grams)}" for row in rows)
        return [line.replace("\u00a0", " ") for line in self._folded(text, "  ", "  ")]

    def _written(self, report: Report) -> list[str]:
        return [
            line for path, size in report.written.items()
            for line in self._folded(f"wrote {path}, {shown_size(size)}", "  ")
        ]  # fmt: skip

    # --- what is remarked

    def _remarks(self, report: Report) -> list[str]:
        """Faults and warnings in full; hints only when they are new."""
        options, width = self._options, width_for(sys.stdout)
        if options.hints or options.show == "lines":
            told, quiet = list(report.faults), []
        else:
            told = [one for one in report.faults if one.level is not Level.HINT or isinstance(one, LeftOut)]
            quiet = self._new_hints(report)
        text = remarks_text(told, report.texts, options.show, self._colour, options.hints, width=width)
        return (text + hints_text(quiet, self._colour, width, more=False)).splitlines()

    def _fitting(self, report: Report) -> list[str]:
        """The remarks in full if the screen holds them, else a sentence each, as many as fit."""
        room = max(4, shutil.get_terminal_size((80, 24)).lines - 9)
        full = self._remarks(report)
        if len(full) <= room:
            return full
        short = remarks_text(report.faults, {}, "lines", self._colour).splitlines()
        lines = [row for line in short for row in self._folded(line)]
        if len(lines) > room:
            lines = [*lines[: room - 1], "… posy check shows them all"]
        return lines

    def _new_hints(self, report: Report) -> list[Fault]:
        """The hints that the last good result did not have; none of the first."""
        if self._found is None:
            return []
        return [one for one in report.faults if one.level is Level.HINT and _gist(one) not in self._found]

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
        """Remarks first, then what still stands."""
        head = tinted(tally(report.faults), "red", self._colour)
        return [
            *joined([f"not made at {self._stamp}:", head], " ", width_for(sys.stdout)),
            *(self._fitting(report) if self._live else self._remarks(report)),
            *self._last_good(),
        ]

    def _last_good(self) -> list[str]:
        if self._good is None:
            return []
        report, stamp = self._good
        assert report.weights is not None
        return self._folded(
            f"the last good result stands, of {stamp}: {report.title}, {as_cast(report.weights)}"
        )


def _gist(fault: Fault) -> tuple[str, str, str]:
    """What makes a remark the same one after lines have moved."""
    return fault.code, fault.message, fault.seen or ""


def _stones(weights: Weights) -> str:
    from ..files.stone_weights import stones_said

    def carats(of: Weights) -> str:
        return f", {shown(of.carats)} ct by {of.carats_by}, {shown(of.carats_volume)} ct by volume"

    return stones_said(weights, carats)


def _record(report: Report) -> dict[str, Any]:
    from ..files.summary import weight_record

    return {
        "posy": LAYOUT, "command": "watch",
        "file": report.path, "title": report.title, "metal": report.metal,
        "made": report.made, "checked": report.checked,
        "seconds": round(report.seconds, 3),
        "steps": {"total": report.steps_total, "anew": report.steps_rebuilt},
        **weight_record(report.weights),
        "modulus": [
            {"casting": one.called, "whole": round(one.modulus.whole, 4), "most": round(one.modulus.most, 4),
             "at": [round(value, 3) for value in one.modulus.at], "freezes_within": round(one.time, 2)}
            for one in report.freezing
        ],
        "files": sized(report.written),
        "remarks": [remark_record(fault) for fault in report.faults],
        "waivers": [waiver_record(waiver) for waiver in report.waivers],
    }
