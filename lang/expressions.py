"""All kinds of expressions and how each gets its value, put together."""

from __future__ import annotations

from collections.abc import Callable, Set
from types import MappingProxyType

from .bench import Bench
from .comparisons import TESTS
from .faults import Fault
from .figures import FIGURES
from .questions import QUESTIONS
from .reckoner import Reckoner

_WAYS = MappingProxyType({**FIGURES, **TESTS, **QUESTIONS})


def reckoner(bench: Bench | None, choices: Set[str], tell: Callable[[Fault], None]) -> Reckoner:
    """A reckoner of every kind of expression."""
    return Reckoner(bench, choices, tell, _WAYS)
