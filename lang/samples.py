"""How a clause's value is asked for: what is due, a sample of it, the choices there are."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from .bounds import Refusal
from .suggest import did_you_mean
from .words import Kind, Take


def sample(take: Take, example: str = "") -> str | None:
    """A clause as one would write it: "across 2.5 mm"; with the figure that an ``example`` of its word has,
    if any; None where that depends on the piece."""
    usual = re.search(rf"[:,] {take.name} (\d[^,\n]*)", example)
    like = take.like or (usual and usual[1]) or take.default or ""
    if take.like or like[:1].isdigit() or like[:1] == '"':
        return f"{take.name} {like}"
    if take.kind in (Kind.SIZE, Kind.STONE_SIZE):
        said = re.search(r"\d[\d.]*(?: x \d[\d.]*)+ mm", take.help)
        if said:
            return f"{take.name} {said.group()}"
        count = take.parts[-1] if take.parts else 2 if take.kind is Kind.SIZE else 1
        return f"{take.name} {' x '.join(('8', '6', '3')[:count]) if count > 1 else '2.5'} mm"
    return None if take.kind.like is None else f"{take.name} {take.kind.like}"


def choice_hint(name: str, take: Take, further: Iterable[str] = ()) -> str | None:
    """What to write in the place of a choice there is not; ``further`` names would do too."""
    if take.hint is not None:
        return did_you_mean(name, further) or take.hint(name)
    parts = [one for one in take.choices if one in name.split("-")]
    near = f"write {parts[0]}" if len(parts) == 1 else did_you_mean(name, (*take.choices, *further))
    return near or choices_shown(take.choices)


def choices_shown(choices: Sequence[str]) -> str | None:
    """The remedy that lists a few choices."""
    if not choices:
        return None
    more = ", …" if len(choices) > 8 else ""
    return "one of " + ", ".join(choices[:8]) + more


def unknown_choice(name: str, take: Take) -> Refusal:
    """The refusal of a name that is none of the choices."""
    return Refusal("unknown-choice", f"{take.name} cannot be '{name}'", choice_hint(name, take), name)
