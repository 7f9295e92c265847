"""Rule cases: posy files that say in comments what a rule finds in them.

``cases/RULE.posy`` (or ``RULE.variant.posy``) triggers the rule; the line a finding is shown at ends in ``#!
finds: RULE figure=0.60 limit=0.80 level=warning count=5`` (level and count as wanted). ``RULE.near.posy`` (or
``RULE.variant.near.posy``) is a near miss: the rule is silent. In both, no other rule finds anything of the
level warning or fault. Figures are compared to half of their last digit given.

Rules of the plan are run without metal; rules of the metal, and files with a first line
``#! on metal``, are built."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from posy.compiler.judging import judge
from posy.compiler.judging.remark import Remark
from posy.compiler.making.pipeline import build, check
from posy.compiler.rules import all_rules
from posy.lang.faults import Fault, Level
from posy.lang.loader import Texts

CASES = Path(__file__).parent / "cases"
_MARK = re.compile(r"#!\s*finds:\s*([a-z-]+)((?:\s+[a-z]+=\S+)*)")


@dataclass(frozen=True)
class Wanted:
    """One finding a case wants."""

    rule: str
    line: int
    said: dict[str, str]


@dataclass(frozen=True)
class Case:
    """One file: the rule it is about, whether it is a near miss, what it wants."""

    path: Path
    rule: str
    near: bool

    @property
    def name(self) -> str:
        return self.path.name.removesuffix(".posy")

    @property
    def text(self) -> str:
        return self.path.read_text("utf-8")

    @property
    def on_metal(self) -> bool:
        rule = all_rules()[self.rule]
        return rule.phase == "metal" or self.text.startswith("#! on metal")

    def wanted(self) -> list[Wanted]:
        found = []
        for number, line in enumerate(self.text.splitlines(), 1):
            for rule, rest in _MARK.findall(line):
                said = dict(pair.split("=", 1) for pair in rest.split())
                found.append(Wanted(rule, number, said))
        return found

    def findings(self, told: Iterable[Fault] | None = None) -> list[Fault]:
        """What is found of it, or among ``told`` of it, notes of other rules left out."""
        told = self.remarks() if told is None else told
        return [fault for fault in told if fault.level is not Level.HINT or fault.code == self.rule]

    def remarks(self, text: str | None = None) -> tuple[Fault, ...]:
        """All that is told of it, or of ``text`` in its place."""
        judge.STRICT = True
        path = str(self.path)
        return (build if self.on_metal else check)(path, files=text and Texts({path: text})).faults


@cache
def told(case: Case) -> tuple[Fault, ...]:
    """All that is told of a case as it stands, kept for every test that only looks at it."""
    return case.remarks()


def all_cases() -> list[Case]:
    """Every case file, in order of name."""
    found = []
    for path in sorted(CASES.glob("*.posy")):
        parts = path.name.removesuffix(".posy").split(".")
        found.append(Case(path, parts[0], parts[-1] == "near"))
    return found


def differences(case: Case, findings: list[Fault]) -> list[str]:
    """How the findings differ from what the case wants, in words; empty when they agree."""
    wanted = case.wanted()
    told = []
    for fault in findings:
        line = _line(fault)
        match = next((w for w in wanted if w.rule == fault.code and w.line == line), None)
        if match is None:
            told.append(f"not wanted: line {line} {fault.level.value}[{fault.code}] "
                        f"{fault.message}; seen {fault.seen}, limit {fault.limit}")
            continue
        wanted.remove(match)
        told += _figures(match, fault)
    told += [f"not found: line {w.line} {w.rule}" for w in wanted]
    return told


def _figures(wanted: Wanted, fault: Fault) -> list[str]:
    if not isinstance(fault, Remark):
        return [f"line {wanted.line}: {fault.code} is no bench finding"]
    have = {"figure": fault.figure, "limit": fault.bound, "count": fault.count}
    told = []
    for key, text in wanted.said.items():
        if key == "level":
            if fault.level.value != text:
                told.append(f"line {wanted.line}: level {fault.level.value}, wanted {text}")
        elif not _agrees(have[key], text):
            told.append(f"line {wanted.line}: {key} {have[key]}, wanted {text}")
    return told


def _agrees(value: float | None, text: str) -> bool:
    digits = len(text.partition(".")[2])
    return value is not None and abs(value - float(text)) <= 0.5 * 10.0**-digits + 1e-9


def _line(fault: Fault) -> int:
    return fault.span.line if fault.span is not None else 0
