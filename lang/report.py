"""The faults of one run, and the way through words written in posy that led to each."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Any

from . import tree
from .bench import Use
from .faults import MOST_FAULTS, Fault, Span
from .scope import Scope


class Enough(Exception):
    """The run stops here: a cap was met and has been reported. Never leaves the room."""


@dataclass(frozen=True, slots=True)
class Caller:
    """A line that uses a word written in posy, the scope it stands in, and what it says."""

    line: tree.Feature
    scope: Scope
    use: Use


class Report:
    """Keeps faults; of one kind, one for each place.

    ``callers`` are the lines whose words the run is inside of, the outermost first; ``trail``
    their heads, ``uses`` what they say."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []
        self.callers: tuple[Caller, ...] = ()
        self.trail: tuple[Span, ...] = ()
        self.uses: tuple[Use, ...] = ()
        self._told: set[tuple[object, ...]] = set()
        self._failed: Fault | None = None
        self.left_out: dict[Span, None] = {}  # the outermost lines that came to nothing
        self._unmet: set[tuple[Span, ...]] = set()  # the ways in to words whose 'expect' failed

    @contextmanager
    def within(self, caller: Caller) -> Iterator[None]:
        """While the run is inside the word that ``caller`` uses."""
        self._call((*self.callers, caller))
        yield
        self._call(self.callers[:-1])

    def failed(self, span: Span) -> None:
        """Note that the line at ``span`` came to nothing."""
        self.left_out[self.callers[0].line.span if self.callers else span] = None
        if self._failed is None:
            self._failed = Fault(
                "not-worked-out", "posy cannot work this out, and cannot say why", span, trail=self.trail,
                remedy="the slip is posy's own: please report it with this text, and say it another way",
            )

    def unsaid(self) -> tuple[Fault, ...]:
        """The first line that came to nothing: a fault, where no other tells of one."""
        return () if self._failed is None else (self._failed,)

    def _call(self, callers: tuple[Caller, ...]) -> None:
        self.callers = callers
        self.trail = tuple(caller.line.head for caller in callers)
        self.uses = tuple(caller.use for caller in callers)

    def tell(self, fault: Fault) -> None:
        """Keep ``fault`` with the trail that led to it; raises Enough at the hundredth."""
        if self.trail and not fault.trail:
            fault = replace(fault, trail=self.trail)
        span = fault.span
        # A line done many times tells a thing once, though its figures may differ.
        inside = fault.trail if fault.code == "expectation" else fault.trail[:1]
        keys = {(fault.code, span, inside, None if span else fault.message)}
        if fault.trail:  # and one word, in which several lines meet the same, too
            keys.add((fault.code, None, fault.trail[:1], fault.message))
        if fault.code == "expectation":
            self._unmet.add(fault.trail)
        elif any(fault.trail[:k] in self._unmet for k in range(1, len(fault.trail) + 1)):
            return  # a word that was given what it cannot do has said so
        elif fault.code == "not-offered" and fault.trail:
            self._unmet.add(fault.trail)
        follows = fault.code == "no-metal" and self._failed is not None  # that line would have made it
        told_before = follows or not self._told.isdisjoint(keys)
        self._told |= keys
        if told_before:
            return
        self.faults.append(fault)
        if len(self.faults) >= MOST_FAULTS:
            raise Enough

    def fault(self, code: str, message: str, span: Span, remedy: str | None = None, **more: Any) -> None:
        """Tell a fault made of these fields."""
        self.tell(Fault(code, message, span, remedy=remedy, **more))

    def enough(self, message: str, span: Span, limit: int, remedy: str) -> None:
        """Tell that a cap was met, and stop the run."""
        self.fault("too-much-work", message, span, remedy, limit=f"at most {limit:,}")
        raise Enough
