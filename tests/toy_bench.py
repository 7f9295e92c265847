"""A bench without metal: it makes records of what it was asked, for tests of the language."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from posy.lang.bench import Call, Missing
from posy.lang.faults import Fault
from posy.lang.suggest import did_you_mean
from posy.lang.values import LENGTH, Point, Quantity, Sequence
from posy.lang.words import Take, Word

METALS = "silver-925", "gold-14k-yellow", "gold-18k-yellow", "platinum-950"
ROLES = "setting", "prong", "ear-post"
RULES = "thin-wall", "stone-held", "hangs-level", "prong-thin"


@dataclass(eq=False)
class Toy:
    """A feature: its call, its parts, how many places it has."""

    call: Call | None
    name: str
    parts: dict[str, Any] = field(default_factory=dict)
    count: int = 1

    def stones(self) -> bool:
        return self.call is not None and self.call.word.name == "stone"


@dataclass(eq=False)
class Spots:
    """A list of places."""

    names: tuple[str, ...]


@dataclass(eq=False)
class Line:
    """A line."""

    name: str


# Words of the real bench, in short, and two it has not: kinds of clause that it has not, or not yet.
_ROWS = json.loads(Path(__file__).with_name("toy_words.json").read_text("utf-8"))
WORDS = {
    row["name"]: Word(
        row["name"], row["help"], row["group"], tuple(map(Take.of, row["takes"])),
        tuple(map(tuple, row.get("one_of", ()))), places=row.get("places", True),
    )
    for row in _ROWS
}  # fmt: skip


class ToyBench:
    """Implements lang.bench.Bench; ``calls`` is what it was asked, in order."""

    def __init__(self) -> None:
        self.calls: list[Call] = []
        self.open: list[Call] = []
        self.log: list[str] = []

    def core_words(self) -> Mapping[str, Word]:
        return WORDS

    def make(self, call: Call) -> tuple[Any, list[Fault]]:
        self.calls.append(call)
        self.log.append(f"make {call.name}")
        if call.word.name == "ball" and call.get("across") > 50:
            return None, [call.fault("ball-too-large", "this ball is too large", "across")]
        count = call.get("row", 1) * call.get("circle", 1)
        if call.given("grid"):
            count *= call.get("grid")[0] * call.get("grid")[1]
        return Toy(call, call.name, count=count), []

    def open_group(self, call: Call, apart: bool = False) -> list[Fault]:
        self.open.append(call)
        self.log.append(f"open {call.name}")
        return []

    def close_group(self, call: Call, done: bool = True) -> tuple[Any, list[Fault]]:
        assert self.open.pop() is call
        self.log.append(f"close {call.name}")
        parts = {
            c.name.rsplit(".", 1)[-1]: Toy(c, c.name)
            for c in self.calls
            if c.name.startswith(call.name + ".")
        }
        return Toy(call, call.name, parts), []

    def bundle(
        self, name: str, members: Mapping[str, Any], stand: Any = None, figures: Mapping[str, Any] | None = None
    ) -> Any:
        self.log.append(f"bundle {name}")
        return Toy(None, name, dict(members))

    def look(self, thing: Any, attribute: str) -> tuple[Any, Missing | None]:
        if isinstance(thing, Toy):
            if attribute in thing.parts:
                return thing.parts[attribute], None
            if attribute in ("ends", "corners"):
                return Spots(tuple(f"{thing.name}.{attribute}{k}" for k in (1, 2))), None
            if attribute == "gaps":
                return Spots(tuple(f"gap{k}" for k in range(thing.count - 1))), None
            if attribute == "rim":
                return Line(thing.name), None
            if attribute in ("long", "across"):
                return Quantity(21.0, LENGTH), None
            return None, Missing(thing.name, ("ends", "corners", "gaps", "rim", "long", "across"))
        return None, Missing("this")

    def as_kind(self, thing: Any, kind: str) -> Any:
        if kind == "places":
            if isinstance(thing, Toy):
                return Spots((thing.name,) * thing.count)
            if isinstance(thing, Point):
                return Spots(("point",))
            if isinstance(thing, Sequence):
                return Spots(("point",) * len(thing.members))
            return thing if isinstance(thing, Spots) else None
        if kind == "path":
            return (
                Line(thing.name)
                if isinstance(thing, Toy)
                else (thing if isinstance(thing, Line | Sequence) else None)
            )
        if not isinstance(thing, Toy):
            return None
        return thing if kind == "part" or thing.stones() else None

    def parts(self, thing: Any, kind: str) -> list[str]:
        return []

    def spots(self, thing: Any) -> list[Any] | None:
        return [Spots((name,)) for name in thing.names] if isinstance(thing, Spots) else None

    def describe(self, thing: Any) -> str:
        if isinstance(thing, Toy):
            return f"{thing.name} (a {thing.call.word.name if thing.call else 'word'})"
        if isinstance(thing, Spots):
            return f"{len(thing.names)} places"
        return "a line"

    def between(self, first: Any, second: Any) -> Any:
        if isinstance(first, Spots) and isinstance(second, Spots):
            return Spots((f"{first.names[0]}~{second.names[0]}",))
        return None

    def combined(self, first: Any, operator: str, second: Any) -> Any:
        return None

    def metals(self) -> tuple[str, ...]:
        return METALS

    def check_metal(self, name: str) -> str | None:
        return {"sterling": "silver-925"}.get(name, name if name in METALS else None)

    def metal_hint(self, name: str) -> str:
        return did_you_mean(name, METALS) or f"one of {', '.join(METALS)}"

    def roles(self) -> tuple[str, ...]:
        """What a word may serve as."""
        return ROLES

    def rules(self) -> tuple[str, ...]:
        return RULES
