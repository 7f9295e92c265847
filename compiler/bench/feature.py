"""Features as the bench keeps them while a text is walked: where they stand and what they offer."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from ...lang.values import ANGLE, LENGTH, MASS, NUMBER, Quantity
from ..geometry import frames as fr
from ..geometry.line import Line

# Figures of places that are angles, in degrees.
ANGLES = "opening", "lean", "lean-before", "lean-after", "veer", "lies"


BESIDE = "pavilion", "width"  # asked of one stone of a row with -before and -after, of those beside it


@dataclass(frozen=True, eq=False)
class Places:
    """Frames (n, 3, 4) where something can be put, with named figures per spot (mm each, degrees for those of
    ANGLES). ``ones`` gives the single stone at a spot, where stones stand there."""

    frames: np.ndarray
    figures: Mapping[str, np.ndarray] = field(default_factory=dict)
    ones: Callable[[int], Feature] | None = None
    # Whether these are ends of some metal, where x points away from it.
    ends: bool = False
    # Whether these are the ends of a line, which run through the middle of its wire.
    of_line: bool = False
    # Whether they lie on a face and look straight away from it.
    on_face: bool = False
    # Whether these are ends of an opening, where x points into it.
    inside: bool = False
    # Of ends moved since, where they were found (n, 3, 4): there it is looked which way leads out.
    found: np.ndarray | None = None
    # Of ends moved and turned since, where they were asked for (n, 3, 4).
    stood: np.ndarray | None = None
    # The end, the face or the back, and the full name of the part that a text asked for it: 'top of medal'.
    asked: str = ""
    # From how far up the edge of the metal an end of it stands on (n,), mm, to frames seen from there.
    edge: Callable[[np.ndarray], np.ndarray] | None = None
    # The features they were asked of: the metal of those tells which way leads out.
    own: frozenset[int] = frozenset()

    def __len__(self) -> int:
        return len(self.frames)

    def one(self, index: int) -> Places:
        """The single place at ``index``."""
        return Places(
            self.frames[index : index + 1],
            {name: values[index : index + 1] for name, values in self.figures.items()}, self._single(index),
            self.ends, self.of_line, self.on_face, self.inside,
            None if self.found is None else self.found[index : index + 1], own=self.own,
        )

    def _single(self, index: int) -> Callable[[int], Feature] | None:
        ones = self.ones
        return None if ones is None else lambda _: ones(index)

    def stone(self) -> Feature | None:
        """The one stone that stands here, if these are the places of stones and there is one."""
        return self.ones(0) if self.ones is not None and len(self) == 1 else None

    def seen_from(self, outer: np.ndarray) -> Places:
        """The places carried by each of the ``outer`` frames."""
        return Places(
            fr.compose(outer, self.frames),
            {name: np.tile(values, len(outer)) for name, values in self.figures.items()},
            of_line=self.of_line, inside=self.inside,
        )


@dataclass(frozen=True, eq=False)
class Lines:
    """One line or several alike (the rims of copies)."""

    lines: tuple[Line, ...]
    # Whether they are edges of metal: it lies to their inner side, air to the outer.
    edge: bool = False

    def seen_from(self, outer: np.ndarray) -> Lines:
        """The lines carried by each of the ``outer`` frames."""
        return replace(self, lines=tuple(line.moved(frame) for frame in outer for line in self.lines))


@dataclass(frozen=True, eq=False)
class Drawn(Lines):
    """Lines drawn on the ground: the same wherever the feature that offers them stands, which may be
    ``turned`` there, in degrees."""

    turned: float = 0.0

    def seen_from(self, outer: np.ndarray) -> Lines:
        """The lines as drawn."""
        return replace(self, turned=self.turned + fr.turn_of(outer))


@dataclass(frozen=True, eq=False)
class DrawnPlaces(Places):
    """Places drawn on the ground: the same wherever the feature that offers them stands."""

    def seen_from(self, outer: np.ndarray) -> Places:
        """The places as drawn."""
        return self


Offer = Callable[[], Any]


@dataclass(eq=False)
class Feature:
    """A line of work as made: its copies stand at ``frames`` (n, 3, 4); ``offers`` answers
    ``x of it`` in the feature's own frame (Places, Lines, Quantity or Feature).

    ``body`` numbers the metal it is part of (None for stones, cuts and lines). ``low``/``high``
    bound its own body along z, ``outline`` is its flat outline if it has one. The frames
    carry the group it was built in, once that group is soldered in."""

    name: str
    word: str
    index: int
    frames: np.ndarray
    offers: dict[str, Offer] = field(default_factory=dict)
    body: int | None = None
    low: float = 0.0
    high: float = 0.0
    outline: tuple[Any, ...] | None = None
    # Kinds of stones that stand at the frames; ``which`` tells the kind of each (None: the
    # first),
    # ``chains`` which are neighbours in a row: (first, last + 1, closed) ranges of frames.
    stones: tuple[Any, ...] = ()
    which: np.ndarray | None = None
    chains: tuple[tuple[int, int, bool], ...] = ()
    # Whether its one stone is of each of its kinds in turn, one to each copy of the part it is built in.
    by_copy: bool = False
    # Claws of another stone that pass these along the z of their frames (n, 3, 4), and how thick, mm.
    passing: tuple[np.ndarray, float] = (np.zeros((0, 3, 4)), 0.0)
    # The single stone that these were laid beside, right and left of it.
    beside: Feature | None = None
    stone_offers: Callable[[Any], dict[str, Offer]] | None = None
    # The line that laid the stone at each frame (n,); None: this one laid them all.
    rows: np.ndarray | None = None
    # The feature this one repeats (copy, mirror, turn): its own frames are where copies stand.
    source: Feature | None = None
    # Of a wheel at one place, where its hub stands (1, 3, 4), and the first of it, unless it was moved away
    # from that: its sides are those of the whole.
    hub: np.ndarray | None = None
    first: Feature | None = None
    # Where that stood when it was repeated, and its stones as one line, as they were then.
    stood: np.ndarray | None = None
    row: Feature | None = None
    # Where stones and spots can be spread upon it, in its own frame.
    surface: Any = None
    # The broad cuts made in it since: where its face is now, see ``worked``.
    worked: list[Any] = field(default_factory=list)
    # What was raised on it by engraving.
    raised: list[Feature] = field(default_factory=list)
    # The lines that made those cuts, before it was bent too.
    grounds: list[int] = field(default_factory=list)
    members: dict[str, Any] = field(default_factory=dict)
    # What the clauses and measures of the word came to that made it.
    figures: dict[str, Any] = field(default_factory=dict)
    # A loop's inside diameter and wire, mm: what a chain or a finger can hold the piece by.
    opening: tuple[float, float] | None = None
    # How thick a wire passes a loop where that is less, between the neighbours of a link of a chain, mm.
    passes: float | None = None
    # Whether it hangs free in another loop, so that its up is away from what hangs in it.
    hangs: bool = False
    # Of a hole drilled through: its diameter and how far in it is half way through the metal, mm: a ring
    # goes through it where there is no loop.
    eye: Callable[[], tuple[float, float]] | None = None
    # The inside diameter of the round finger or wrist that a line of it goes about, as written, mm.
    about: float | None = None
    # Figures of the table that it bears over a finger, which may be hollowed from there.
    table: tuple[Any, ...] = ()
    # The shank that it is, whose outside the foot of a head is fitted to.
    shank: Any = None
    # Whether it stands at its frames: a line, and what follows one, does not, nor does what a word
    # made that was given no places.
    stands: bool = True
    # Whether it stands at an end of some metal, and is turned by that alone.
    at_end: bool = False
    # The line of a word that stands it on edge, where that says so, and whether it does.
    may_stand: str = ""
    on_edge: bool = False
    # The places it, or the line of a word it is of, stands at, as the text asked for them.
    asked: str = ""
    # What its flat metal was bent or domed into, if it was.
    bent_into: str = ""
    # Where its offers are told from, when that is not where its copies stand (bent metal).
    ground: np.ndarray | None = None

    def look(self, name: str) -> Any:
        """The offer called ``name`` as seen in the piece, or None."""
        offer = self.offers.get(name)
        if offer is None:
            return None
        value = offer()
        if not isinstance(value, (Places, Lines)):
            return value
        if len(self.stones) > 1:  # each stone has its own corners and girdle
            return joined([self.single(k).look(name) for k in range(len(self.frames))])
        return value.seen_from(self.frames if self.ground is None else self.ground)

    def places(self) -> Places | None:
        """Where its copies stand; None where it has no place of its own: a line, or parts of a
        word at several places."""
        if self.is_bundle and self.stands:
            return Places(self.frames)
        if not self.is_bundle:
            standing = self.standing()
            ones = self.single if self.stones and standing is self.frames else None
            ends = self.word == "spots" and self.at_end  # moved from an end they are ends still
            return Places(standing, self._wire(), ones, ends) if len(standing) else None
        places = [standing for part in self.parts if len(standing := part.standing())]
        shared = bool(places) and all(
            one.shape == places[0].shape and np.allclose(one, places[0], atol=1e-9) for one in places
        )
        return Places(places[0]) if shared else None

    def _wire(self) -> dict[str, np.ndarray]:
        """The wire of what leaves room at these places, as a chain does, and the eye that it goes through."""
        keys = [key for key in ("wire", "eye-room") if key in self.figures]
        told = {key: self.figures[key].value for key in keys}
        return {key: np.full(len(self.standing()), value) for key, value in told.items()}

    @property
    def parts(self) -> list[Feature]:
        """The features among its members, in order."""
        return [member for member in self.members.values() if isinstance(member, Feature)]

    @property
    def is_bundle(self) -> bool:
        """Whether it stands for all that a word written in posy made."""
        return self.index < 0 and bool(self.members)

    def standing(self) -> np.ndarray:
        """The frames (n, 3, 4) of all of it that stands at places; none of a line."""
        if self.stood is not None:
            return fr.compose(self.frames, self.stood)
        if not self.is_bundle:
            return self.frames if self.stands else self.frames[:0]
        return np.concatenate([self.frames[:0], *(part.standing() for part in self.parts)])

    def kind(self, index: int) -> Any:
        """The kind of the stone at one frame."""
        return self.stones[0 if self.which is None else int(self.which[index])]

    def stone_rows(self) -> np.ndarray:
        """The line that laid the stone at each frame, (n,)."""
        return np.full(len(self.frames), self.index) if self.rows is None else self.rows

    def single(self, index: int) -> Feature:
        """One stone of a line of stones, as a feature of its own."""
        kind = self.kind(index)
        made = self.stone_offers
        offers = dict(self.offers if made is None else made(kind))
        for side, other in zip(("before", "after"), self.neighbours(index), strict=True):
            theirs = made(self.kind(other)) if made is not None else {}
            offers |= {f"{name}-{side}": theirs[name] for name in BESIDE if name in theirs}
        return Feature(
            self.name, self.word, self.index, self.frames[index : index + 1], offers, stones=(kind,),
            chains=((0, 1, False),), stone_offers=made, rows=self.stone_rows()[index : index + 1],
        )

    def neighbours(self, index: int) -> tuple[int, int]:
        """The stones before and after one in its row, itself where there is none."""
        for first, last, closed in self.chains:
            if first <= index < last:
                if closed:
                    count = last - first
                    return first + (index - 1 - first) % count, first + (index + 1 - first) % count
                return max(index - 1, first), min(index + 1, last - 1)
        return index, index

    def bodies(self) -> tuple[int, ...]:
        """The bodies its metal is in, its members' included, in order."""
        found = [] if self.body is None else [self.body]
        for part in self.parts:
            found.extend(part.bodies())
        return tuple(dict.fromkeys(found))

    def in_its_way(self) -> tuple[int, ...]:
        """The bodies a tool meets that is driven into it: its own, and those raised on it."""
        on_it = [one for part in (self, *self.parts) for one in part.raised]
        return tuple(dict.fromkeys((*self.bodies(), *(body for one in on_it for body in one.bodies()))))

    def moved(self, outer: np.ndarray) -> None:
        """Carry the feature (its group was soldered in at the ``outer`` frames)."""
        count = len(self.frames)
        self.frames = fr.compose(outer, self.frames)
        if self.ground is not None:
            self.ground = fr.compose(outer, self.ground)
        if self.hub is not None:
            self.hub = fr.compose(outer, self.hub) if len(outer) == 1 else None
        self.passing = fr.compose(outer, self.passing[0]), self.passing[1]
        if self.by_copy:
            self.which, self.by_copy = np.arange(len(outer)) % len(self.stones), False
        elif self.which is not None:
            self.which = np.tile(self.which, len(outer))
        if self.rows is not None:
            self.rows = np.tile(self.rows, len(outer))
        self.chains = tuple(
            (first + k * count, last + k * count, closed)
            for k in range(len(outer))
            for first, last, closed in self.chains
        )


def joined(parts: list[Any]) -> Any:
    """Places or lines of several things as one; other values: the first."""
    if not isinstance(parts[0], (Places, Lines)):
        return parts[0]
    if isinstance(parts[0], Lines):
        every = tuple(line for part in parts for line in part.lines)
        return Lines(every, all(part.edge for part in parts))
    names = [name for name in parts[0].figures if all(name in part.figures for part in parts)]
    figures = {name: np.concatenate([part.figures[name] for part in parts]) for name in names}
    return Places(np.concatenate([part.frames for part in parts]), figures)


def length(value: float) -> Quantity:
    """A figure in mm as a value of the language."""
    return Quantity(float(value), LENGTH)


def angle(value: float) -> Quantity:
    """A figure in degrees as a value of the language."""
    return Quantity(float(value), ANGLE)


def mass(value: float) -> Quantity:
    """A figure in g as a value of the language."""
    return Quantity(float(value), MASS)


def number(value: float) -> Quantity:
    """A plain figure as a value of the language."""
    return Quantity(float(value), NUMBER)


def spot(right: float = 0.0, up: float = 0.0, out: float = 0.0, turn: np.ndarray | None = None) -> Places:
    """One place in a feature's own frame, perhaps turned by a (1, 3, 4) frame."""
    frame = fr.shifted(right, up, out)
    return Places(frame if turn is None else fr.compose(frame, turn))
