"""What a piece asks of a house, counted: metal by weight, stones, settings, work. No prices here."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from ...stdlib.alloys import ALLOYS, Alloy
from ...stdlib.cuts.tablet import spoken
from ...stdlib.gems import GEMS
from ..files.digits import grams as shown_grams
from ..files.digits import plain
from ..files.stone_weights import weight_said
from ..judging.settings import settings_of
from ..making.result import Built
from ..making.weights import Weights


@dataclass(frozen=True)
class Metal:
    """Cast metal of one alloy: grams as cast, to the digit that is shown, and in how many castings."""

    alloy: Alloy
    grams: Decimal
    castings: int


@dataclass(frozen=True)
class StoneKind:
    """Stones alike: gem, cut, size mm, how many, carats in all to 0.001 ct."""

    gem: str
    cut: str
    size: tuple[float, ...]
    count: int
    carats: Decimal

    @property
    def weight(self) -> str:
        """Of all together: "1.250 ct", of coins "3.990 g"."""
        return weight_said(self.gem, float(self.carats), "{:.3f}".format)

    @property
    def shown(self) -> str:
        """ "Garnet, almandine, round 2.5 mm"."""
        size = " x ".join(plain(one, 2) for one in self.size)
        return f"{GEMS[self.gem].title}, {spoken(self.cut)} {size} mm"


@dataclass(frozen=True)
class SettingKind:
    """Stones set alike: name and what it may be called in bench.toml, length of the stone mm, how many."""

    name: str
    called: frozenset[str]
    length: float
    count: int


@dataclass(frozen=True)
class Work:
    """All that a piece asks for. ``words`` counts what its lines of each word make."""

    metals: tuple[Metal, ...]
    stones: tuple[StoneKind, ...]
    settings: tuple[SettingKind, ...]
    bought: Mapping[str, int]
    words: Mapping[str, int]

    @property
    def castings(self) -> int:
        """How many castings there are."""
        return sum(metal.castings for metal in self.metals)


def work_of(built: Built, weights: Weights) -> Work:
    """What a piece that was made asks for."""
    built.adopt_tables()
    metals = []
    for name, grams, _ in weights.metals:
        castings = {part.casting for part in weights.parts if part.metal == name}
        metals.append(Metal(ALLOYS[name], Decimal(shown_grams(grams)), len(castings)))
    stones = tuple(
        StoneKind(row.gem, row.cut, row.size, row.count, Decimal(f"{row.carats:.3f}"))
        for row in weights.stones
    )
    bought: Counter[str] = Counter()
    for part in weights.bought:
        bought[part.own_name] += part.count
    return Work(tuple(metals), stones, _settings(built), dict(bought), _words(built))


def _settings(built: Built) -> tuple[SettingKind, ...]:
    """Settings of one kind together, in the order of the text."""
    if built.piece is None or not built.stones:
        return ()
    counts: Counter[tuple[str, frozenset[str], float]] = Counter()
    for setting, stone in zip(settings_of(built.piece), built.stones, strict=True):
        called = frozenset((setting.kind, setting.kind.removesuffix("s"), *setting.words))
        counts[setting.name, called, round(float(stone.size[0]), 4)] += 1
    return tuple(SettingKind(*key, count) for key, count in counts.items())


def _words(built: Built) -> dict[str, int]:
    """How many things the lines of each word make, copies of them counted: of a word made of words, as
    many as of the first solid in it."""
    if built.piece is None:
        return {}
    made = _solids(built)
    counts: Counter[str] = Counter()
    seen: set[int] = set()
    for index, call in enumerate(built.piece.bench.lines):
        if index not in made:
            continue
        counts[call.word.name] += made[index]
        for use in call.within:
            if id(use) not in seen:
                seen.add(id(use))
                counts[use.word.name] += made[index]
    return dict(counts)


def _solids(built: Built) -> dict[int, int]:
    """Line of work -> how many of its first solid there are in the piece."""
    assert built.piece is not None
    first: dict[int, tuple[object, ...]] = {}
    counts: Counter[int] = Counter()
    for one in built.piece.plan_solids:
        key = one.kind, one.figures
        if first.setdefault(one.feature, key) == key:
            counts[one.feature] += len(one.frames)
    return dict(counts)
