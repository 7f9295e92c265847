"""Exit codes, and the reading of values that commands share."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence

from ..files.formats import MOST_SHRINK
from .forms import Misuse

DONE = 0
FAULTS = 1
WRONG_USE = 2
FILE_TROUBLE = 3
OUR_BUG = 4
INTERRUPTED = 130
PIPE_CLOSED = 141

# Faults about files rather than the text in them.
FILE_CODES = frozenset({"file-not-read", "file-not-written", "file-exists"})

_FIGURE = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+))\s*([^\d\s]*)\s*")
FINEST, COARSEST = 0.0005, 0.2


def setting(text: str) -> tuple[str, str]:
    """``name=value`` as a pair."""
    name, equals, value = text.partition("=")
    if not equals or not name.strip() or not value.strip():
        raise Misuse(f"'{text}' should be NAME=VALUE, as in across=2.8mm")
    return name.strip(), value.strip()


def settings_of(pairs: Sequence[tuple[str, str]]) -> Mapping[str, str]:
    """The --set pairs as a mapping; Misuse when a measure is set twice."""
    settings: dict[str, str] = {}
    for name, value in pairs:
        if name in settings:
            raise Misuse(f"--set gives {name} twice: {settings[name]} and {value}")
        settings[name] = value
    return settings


def length(text: str, like: str, finest: float, coarsest: float) -> float:
    """A length such as ``like`` in mm, within its range."""
    from ...lang.values import LENGTH, factors_to

    found = _FIGURE.fullmatch(text)
    factors = factors_to(LENGTH)
    if not found or found[2] not in factors:
        bare = found is not None and not found[2]
        hint = f"; write {text.strip()}mm" if bare else ""
        raise Misuse(f"'{text}' is not a length such as {like}{hint}")
    size = float(found[1]) * factors[found[2]]
    if not finest <= size <= coarsest:
        raise Misuse(f"{text} is out of range: from {finest} mm to {coarsest} mm")
    return size


def tolerance(text: str) -> float:
    """A length such as ``0.005mm`` in mm, within what makes sense."""
    return length(text, "0.005mm", FINEST, COARSEST)


def share(text: str) -> float:
    """A shrinkage such as ``1.25%`` as a share."""
    found = _FIGURE.fullmatch(text)
    if not found or found[2] != "%":
        hint = f"; write {text.strip()}%" if found and not found[2] else ""
        raise Misuse(f"'{text}' is not in per cent, as 1.25% is{hint}")
    value = float(found[1]) / 100.0
    if not 0.0 <= value <= MOST_SHRINK:
        raise Misuse(f"{text} is out of range: from 0% to {MOST_SHRINK * 100:g}%")
    return value


def whole(said: str, most: int, least: int = 1) -> Callable[[str], int]:
    """Reads a whole number from ``least`` to ``most``; Misuse says of any other text what it is."""

    def read_number(text: str) -> int:
        if not (text.isascii() and text.isdigit() and len(text) < 10 and least <= int(text) <= most):
            raise Misuse(f"'{text}' is {said}")
        return int(text)

    return read_number


count = whole("not a whole number from 1 to 500", 500)


def metal(text: str) -> str:
    """The table's own name of a metal; Misuse for one it does not have or that may be several."""
    from ...stdlib.alloys import alloys_called, metal_hint

    found = alloys_called(text)
    if len(found) == 1:
        return found[0].name
    what = "may be several metals" if found else "is no metal posy knows"
    raise Misuse(f"'{text}' {what}; {metal_hint(text)}")


def alloys(text: str) -> tuple[str, ...]:
    """``18k,platinum`` as names of the table, in its order: each as people call it, a family, or ``all``."""
    from ...stdlib.alloys import ALLOYS, alloys_called, metal_hint

    chosen: set[str] = set()
    for name in filter(None, (one.strip() for one in text.split(","))):
        found = ALLOYS.values() if name == "all" else alloys_called(name)
        if not found:
            raise Misuse(f"'{name}' is no metal posy knows; {metal_hint(name)}")
        chosen |= {row.name for row in found}
    return tuple(name for name in ALLOYS if name in chosen)


def day(text: str) -> str:
    """A date as ISO 8601 has it; "today" asks the clock."""
    import datetime

    if text.strip() == "today":
        return datetime.date.today().isoformat()
    try:
        return datetime.date.fromisoformat(text.strip()).isoformat()
    except ValueError:
        raise Misuse(f"'{text}' is no date such as 2025-03-31") from None


def described(choices: Mapping[str, str]) -> str:
    """Choices with what they mean, in a sentence."""
    return "; ".join(f"{name}: {what}" for name, what in choices.items())
