"""A bench without metal: it makes records of what it was asked, for tests of the language."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from posy.lang.bench import Call, Missing
from posy.lang.faults import Fault
from posy.lang.suggest import did_you_mean
from posy.lang.values import LENGTH, Point, Quantity, Sequence
from posy.lang.words import Kind, Take, Word

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


def _takes() -> dict[str, Word]:
    metal = Take("metal", Kind.CHOICE, "an alloy of its own", choices=METALS)
    inside = Take("in", Kind.PART, "what it works on")
    words = (
        Word(
            "bar",
            "a bar",
            "shapes",
            (
                Take("size", Kind.SIZE, "long x wide x thick", True, parts=(3,), least=0.1, most=200),
                Take("corner", Kind.LENGTH, "rounding of its corners", default="0 mm", least=0),
                metal,
            ),
        ),
        Word(
            "disc",
            "a disc",
            "shapes",
            (
                Take("across", Kind.LENGTH, "its diameter", True, over=0),
                Take("thick", Kind.LENGTH, "its thickness", default="across / 10"),
            ),
        ),
        Word("ball", "a ball", "shapes", (Take("across", Kind.LENGTH, "its diameter", True),)),
        Word(
            "jump-ring", "a ring", "findings",
            (Take("wire", Kind.LENGTH, "its wire", True), Take("inside", Kind.LENGTH, "its inside", True)),
        ),
        Word(
            "wire",
            "a wire",
            "shapes",
            (
                Take("along", Kind.PATH, "the line it follows", True),
                Take("round", Kind.LENGTH, "round, so thick", least=0.2, most=6),
                Take("flat", Kind.SIZE, "flat", parts=(2,)),
            ),
            one_of=(("round", "flat"),),
        ),
        Word(
            "rod",
            "a rod",
            "shapes",
            (
                Take("wire", Kind.LENGTH, "its diameter", True),
                Take("tip", Kind.CHOICE, "its end", default="flat", choices=("flat", "round")),
            ),
        ),
        Word(
            "path", "a line of your own", "lines",
            (Take("through", Kind.POINTS, "its spots", True), Take("closed", Kind.FLAG, "closed")),
        ),
        Word(
            "stone",
            "stones",
            "stones",
            (
                Take("round", Kind.STONE_SIZE, "a round", parts=(1,)),
                Take("oval", Kind.STONE_SIZE, "an oval", parts=(2,)),
                Take("gem", Kind.CHOICE, "what it is", True, choices=("garnet", "diamond", "ruby")),
            ),
            one_of=(("round", "oval"),),
        ),
        Word(
            "hollow",
            "hollows a body",
            "work",
            (
                inside,
                Take("wall", Kind.LENGTH, "the wall left", True),
                Take("roof", Kind.LENGTH, "the roof left", True),
            ),
            places=False,
        ),
        Word(
            "seat",
            "cuts seats",
            "settings",
            (
                Take("for", Kind.STONES, "the stones", True),
                inside,
                Take("hole", Kind.PERCENT, "light hole", default="55 %"),
            ),
            places=False,
        ),
        Word("copy", "a copy", "work", (Take("of", Kind.PART, "what is copied", True),)),
        Word(
            "wheel",
            "turned copies",
            "work",
            (
                Take("of", Kind.PART, "what is turned", True),
                Take("times", Kind.COUNT, "how many", True, least=1),
                Take("by", Kind.ANGLE, "from one to the next"),
            ),
        ),
        # Not words of the real bench: kinds of clause that it has not, or not yet.
        Word(
            "letters", "engraved letters", "toy",
            (inside, Take("text", Kind.TEXT, "what it says", True), Take("heights", Kind.LENGTHS, "heights")),
        ),
        Word(
            "weigh",
            "weighs down",
            "toy",
            (
                Take("mass", Kind.MASS, "mass"),
                Take("factor", Kind.NUMBER, "factor"),
                Take("table", Kind.COUNTS, "counts", parts=(2, 3)),
            ),
        ),
        Word("workpiece", "a part built by itself", "blocks", (metal,)),
        Word("casting", "a casting of its own", "blocks", (metal,)),
    )
    return {word.name: word for word in words}


WORDS = _takes()


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

    def open_group(self, call: Call) -> list[Fault]:
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

    def bundle(self, name: str, members: Mapping[str, Any], stand: Any = None) -> Any:
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
