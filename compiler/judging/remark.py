"""A bench finding as all outputs show it: a fault with the bare figures behind it."""

from __future__ import annotations

from ...lang.faults import Fault, Span
from ...lang.lean import dataclass


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
    """A bench finding: a Fault with the bare figures behind it.

    ``figure`` and ``bound`` are in mm, degrees, g or shares of one; ``count`` is at how many
    places, ``waived`` the reason the text gives for setting it aside, ``edit`` a remedy that
    is a change of text.
    """

    figure: float | None = None
    bound: float | None = None
    count: int = 1
    waived: str | None = None
    edit: Edit | None = None
