"""A remark of a bench rule as all outputs show it: a fault with the bare figures behind it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from ...lang.faults import Fault, Level, Span
from ...lang.outcome import Waiver
from ...lang.tickets import json_record

LAYOUT = 1
"""The version of all that posy tells as JSON, told with the key ``posy``. It rises when a key
changes its meaning or goes; keys may be added without that."""


@dataclass(frozen=True, slots=True)
class Edit:
    """A change of text that would help: ``key`` of the line whose head is ``head`` becomes
    ``value``; ``side`` as in rules.model.Mend."""

    head: Span
    key: str
    value: str
    side: str


@dataclass(frozen=True, slots=True)
class Remark(Fault):
    """A remark of a bench rule: a Fault with the bare figures behind it.

    ``figure`` and ``bound`` are in mm, degrees, g or shares of one; ``count`` is at how many places,
    ``waived`` the reason the text gives for setting it aside, ``edit`` a remedy that is a change of text,
    ``parts`` the names of all it is about; ``made`` the heads of the text's own lines that did work in its
    piece; ``ask`` works out the remedy of one not told yet."""

    figure: float | None = None
    bound: float | None = None
    count: int = 1
    waived: str | None = None
    edit: Edit | None = None
    parts: frozenset[str] = frozenset()
    made: frozenset[Span] = field(default=frozenset(), repr=False, compare=False)
    ask: Callable[[], str] | None = None

    def told(self) -> Remark:
        """It with its remedy worked out."""
        return self if self.ask is None else replace(self, remedy=self.ask(), ask=None)


def with_remedies(faults: Iterable[Fault]) -> list[Fault]:
    """The faults, each with its remedy worked out."""
    return [one.told() if isinstance(one, Remark) else one for one in faults]


@dataclass(frozen=True, slots=True)
class LeftOut(Fault):
    """What stands before the remarks on the rest of a piece: which lines they are told without."""


def is_waived(fault: Fault) -> bool:
    """Whether the text sets a remark aside."""
    return isinstance(fault, Remark) and fault.waived is not None


def remark_record(fault: Fault) -> dict[str, Any]:
    """A remark as plain data; the table "Data for programs" in DEVELOPERS.md lists its keys.

    Remarks of bench rules have five more: ``figure`` and ``bound`` (bare numbers in mm, degrees, g or shares
    of one), ``count`` (at how many places), ``because`` (the reason the text gives for setting it aside, else
    null) and ``mend`` (clause and value that would cure it)."""
    record = json_record(fault)
    if isinstance(fault, Remark):
        edit = fault.edit
        record |= {
            "figure": fault.figure,
            "bound": fault.bound,
            "count": fault.count,
            "because": fault.waived,
            "mend": None if edit is None else {"clause": edit.key, "value": edit.value},
        }
    return record


def waiver_record(waiver: Waiver) -> dict[str, Any]:
    """A rule set aside, as plain data."""
    return {
        "name": waiver.rule,
        "part": waiver.feature,
        "because": waiver.because,
        "file": waiver.span.path,
        "line": waiver.span.line,
        "column": waiver.span.column,
    }


def tally(faults: Sequence[Fault], where: str = "") -> str:
    """How many remarks of each level, in words: "1 fault, 2 warnings", "nothing to report; 1 set
    aside". ``where`` was looked, if not everywhere."""
    parts = []
    faults = [fault for fault in faults if not isinstance(fault, LeftOut)]
    open_ones = [fault for fault in faults if not is_waived(fault)]
    for level in Level:
        count = sum(fault.level is level for fault in open_ones)
        if count:
            parts.append(f"{count} {level.value}{'s' if count > 1 else ''}")
    aside = len(faults) - len(open_ones)
    said = (", ".join(parts) or "nothing to report") + where
    return f"{said}; {aside} set aside" if aside else said
