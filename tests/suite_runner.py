"""Runs the mistakes in tests/suite: posy files that say in comments which faults they expect.

    ball: across 2        #! unit-missing: has no unit
    #! 8-9 unit-missing: has no unit      (on its own line: the next line; 8-9 are the columns)

The text after the colon has to be part of the message or the remedy. Nothing may be missing and
nothing more be told. Header lines, before anything else:

    #! bench: real             runs against the compiler's bench (the toy bench without it)
    #! set: across=2.8 mm      as from the command line
    #! --set unit-missing: …   a fault about a setting"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from posy.lang.faults import Fault
from posy.lang.loader import Folder
from posy.lang.program import read_piece, run
from posy.lang.words import Word

SUITE = Path(__file__).parent / "suite"
_HEADER = re.compile(r"#! (bench|set|--set)(?:: | )(.*)$")
_EXPECTED = re.compile(r"#! (?:(\d+)-(\d+) )?([a-z][a-z0-9-]*)(?:: (.*?))?\s*(?=#! |$)")


@dataclass(frozen=True)
class Expected:
    """A fault a file says it has; ``columns`` are the first and the last, or None."""

    path: str
    line: int
    code: str
    part: str
    columns: tuple[int, int] | None = None

    def fits(self, fault: Fault) -> bool:
        """Whether ``fault`` is the one expected."""
        if fault.span is None or fault.code != self.code:
            return False
        if (fault.span.path, fault.span.line) != (self.path, self.line):
            return False
        if self.columns and (fault.span.column, fault.span.end_column - 1) != self.columns:
            return False
        return self.part in f"{fault.message} | {fault.remedy}"


@dataclass(frozen=True)
class Case:
    """One file of the suite."""

    path: Path
    real: bool
    settings: Mapping[str, str]
    header: tuple[Expected, ...]


def cases() -> list[Case]:
    """Every file of the suite (not those in its folders, which are there to be taken)."""
    return [_case(path) for path in sorted(SUITE.glob("*.posy"))]


def _case(path: Path) -> Case:
    settings: dict[str, str] = {}
    header: list[Expected] = []
    real = False
    for row in _text(path).split("\n"):
        found = _HEADER.match(row)
        if found is None:
            break
        key, rest = found.groups()
        if key == "bench":
            real = rest.strip() == "real"
        elif key == "set":
            name, value = rest.split("=", 1)
            settings[name.strip()] = value.rstrip()
        else:
            code, part = rest.split(": ", 1)
            header.append(Expected("--set", len(settings), code, part.strip()))
    return Case(path, real, settings, tuple(header))


def _text(path: Path) -> str:
    return path.read_bytes().decode("utf-8", "replace").replace("\r\n", "\n").replace("\r", "\n")


def expected_of(path: str) -> list[Expected]:
    """The faults a file says it has."""
    found: list[Expected] = []
    waiting: list[tuple[str, str, tuple[int, int] | None]] = []
    for number, row in enumerate(_text(Path(path)).split("\n"), 1):
        marks = (
            []
            if _HEADER.match(row)
            else [
                (code, part or "", (int(first), int(last)) if first else None)
                for first, last, code, part in _EXPECTED.findall(row)
            ]
        )
        if marks and row.lstrip().startswith("#!"):
            waiting += marks
            continue
        if row.strip() and not row.lstrip().startswith("# "):
            marks, waiting = waiting + marks, []
        found += [Expected(path, number, *mark) for mark in marks]
    return found


def faults_of(
    case: Case, bench: Any, standard: Mapping[str, Word] | None = None
) -> tuple[list[Fault], list[Expected]]:
    """All faults of a file, and those it expects, here and in the files it takes."""
    path = str(case.path)
    metals = tuple(bench.metals()) if hasattr(bench, "metals") else ()
    program = read_piece(path, Folder(path), bench.core_words(), standard, metals, bench.roles())
    faults = run(program, bench, case.settings).faults
    expected = list(case.header)
    for read in program.files_read:
        if Path(read).is_file():
            expected += expected_of(read)
    return faults, expected


def differences(
    case: Case, make_bench: Callable[[], Any], standard: Mapping[str, Word] | None = None
) -> list[str]:
    """What is missing and what is too much, in words; empty if all is as expected."""
    faults, expected = faults_of(case, make_bench(), standard)
    lines = []
    left = list(faults)
    for one in expected:
        match = next((fault for fault in left if one.fits(fault)), None)
        if match is None:
            lines.append(f"missing: line {one.line} {one.columns or ''} {one.code}: {one.part}")
        else:
            left.remove(match)
    for fault in left:
        span = fault.span
        place = f"{span.path}:{span.line} {span.column}-{span.end_column - 1}" if span else "-"
        lines.append(f"too much: {place} {fault.code}: {fault.message} | {fault.remedy}")
    return lines
