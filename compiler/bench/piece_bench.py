"""The bench: makes features of checked lines, and so writes the plan. Implements
lang.bench.Bench."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import astuple, field, replace
from typing import Any

import numpy as np

from ...lang.bench import NAMELESS, Call, Missing, Refused
from ...lang.faults import Fault
from ...lang.lean import dataclass
from ...lang.loader import Files
from ...lang.values import Point, Quantity, Sequence
from ...lang.words import Word
from ..geometry import frames as fr
from ..geometry.bend import Bend
from ..geometry.joined_outlines import combined
from ..geometry.line import Line
from ..geometry.outlines import trace
from .bent_feature import reshape
from .feature import ANGLES, Feature, Lines, Places, angle, joined, length, number
from .path import path_offers
from .placement import placed
from .plan import Plan, Shape, Step, casting_of, labelled, labels_of, relabelled
from .roles import SAID
from .sides import SIDES, before_axis, below, falls, metal_of, side, wall_round
from .stone_kind import StoneKind
from .stone_rows import STONE_ASKS, StoneSet, again, merged

ALL_COPIES_LIMIT = 60_000


@dataclass
class _Scope:
    """A part being built: the piece itself, or an open group."""

    steps: list[Step] = field(default_factory=list)
    stones: list[StoneSet] = field(default_factory=list)
    features: list[Feature] = field(default_factory=list)


class PieceBench:
    """One piece being laid out. ``words`` are the core words by name, ``rule_names`` those of the
    bench rules, ``files`` where drawings and fonts are read from. ``metal`` is the piece's own
    alloy; steps of it name none, so that another alloy does not make another plan."""

    def __init__(
        self,
        words: Mapping[str, Word],
        rule_names: tuple[str, ...] = (),
        *,
        metal: str = "silver-925",
        files: Files | None = None,
        path: str = "",
    ) -> None:
        self._words, self._rule_names = words, rule_names
        self.metal = metal
        self.files, self.path = files, path
        self.files_read: list[str] = []
        self.lines: list[Call] = []  # by feature index
        self.features: list[Feature] = []
        self.bought: dict[str, int] = {}  # bought parts by name, with the feature of each
        self._scopes = [_Scope()]
        self._bought_bodies: set[int] = set()
        self._bodies = 0
        self._copies = 0

    # -- what the evaluator asks -------------------------------------------------------------

    def core_words(self) -> Mapping[str, Word]:
        """The words made by the compiler."""
        return self._words

    def make(self, call: Call) -> tuple[Feature | None, list[Fault]]:
        """Do one line of work."""
        try:
            made = call.word.made_by(self, call)
            if self._copies > ALL_COPIES_LIMIT:
                call.refuse(
                    "too-many-copies",
                    "the piece has too many copies of things",
                    seen=str(self._copies),
                    limit=str(ALL_COPIES_LIMIT),
                    remedy="make fewer",
                )
        except Refused as refused:
            return None, [refused.fault]
        return made, []

    def open_group(self, call: Call) -> list[Fault]:
        """Begin a part built by itself."""
        self._scopes.append(_Scope())
        return []

    def close_group(self, call: Call) -> tuple[Feature | None, list[Fault]]:
        """Solder the innermost group in, at each of its places; a casting is left apart."""
        inner = self._scopes.pop()
        try:
            frames = placed(call)
            if call.given("for"):
                frames = _about_stones(call, frames)
        except Refused as refused:
            return None, [refused.fault]
        group = self.new_feature(call, frames)
        if inner.steps:
            group.body = self._new_body()
            own = call.name if call.word.name == "casting" else ""
            self._stand(group, tuple(inner.steps), frames, {"": own})
        for member in inner.features:
            member.moved(frames)
            if member.body is not None:
                member.body = group.body
            self._scopes[-1].features.append(member)
        for stones in inner.stones:
            self._scopes[-1].stones.append(
                replace(stones, frames=fr.rounded(fr.compose(frames, stones.frames)))
            )
        group.members = {m.name.rsplit(".", 1)[-1]: m for m in inner.features}
        return group, []

    def set_out(self, call: Call) -> tuple[Places | None, list[Fault]]:
        """The places that the placing clauses of a line come to, each `at` moved about itself."""
        before: Any = call.get("at")
        if not isinstance(before, Places):
            return None, []
        try:
            frames = placed(call)
        except Refused as refused:
            return None, [refused.fault]
        each = len(frames) // max(len(before), 1)
        figures = {key: np.repeat(values, each) for key, values in before.figures.items()}
        return Places(frames, figures), []

    def bundle(self, name: str, members: Mapping[str, Any], stand: Any = None) -> Feature:
        """A feature that stands for all a word made: at the places or stones its line was given,
        else where its metal stands."""
        features = [m for m in members.values() if isinstance(m, Feature)]
        places = self.as_kind(stand, "places")
        given = places is not None
        if places is None:
            metal = [f for f in features if f.bodies()] or features
            frames = [f.frames for f in metal if len(f.frames)] or [fr.identity()]
            places = Places(np.concatenate(frames))
        bundle = Feature(name, "word", -1, places.frames)
        bundle.stands = given
        bundle.members = dict(members)
        bundle.stones = tuple(s for f in features for s in f.stones)
        return bundle

    def look(self, thing: Any, attribute: str) -> tuple[Any, Missing | None]:
        """``attribute of thing``."""
        if isinstance(thing, Quantity):
            return None, Missing(why="a figure has no parts")
        if isinstance(thing, Places):
            stone = thing.stone()
            value = None if stone is None else stone.look(attribute)
            return _look_places(thing, attribute) if value is None else (value, None)
        if isinstance(thing, Lines):
            return _look_line(thing.lines[0], attribute)
        if not isinstance(thing, Feature):
            return None, Missing(self.describe(thing))
        if attribute in thing.members:
            return thing.members[attribute], None
        if attribute in STONE_ASKS and _has_stones(thing):
            found = STONE_ASKS[attribute](self.stones_in(thing) or thing)
            return (None, Missing(why=found)) if isinstance(found, str) else (found, None)
        if attribute == "wall" and _has_stones(thing):
            return length(self._wall_round(self.stones_in(thing) or thing)), None
        if attribute == "places":
            return self._places_of(thing)
        value = thing.look(attribute)
        if value is not None:
            return value, None
        for name, member in thing.members.items():  # a word's own named parts answer for it
            if name.startswith(NAMELESS) or not isinstance(member, Feature):
                continue
            if attribute in member.offers:
                return member.look(attribute), None
        value = self._of_nameless(thing, attribute) or self._side(thing, attribute)
        return (None, _offered(thing)) if value is None else (value, None)

    def _of_nameless(self, thing: Feature, attribute: str) -> Any:
        """What the metal parts without a name, of each turn of an `each`, offer together: the first
        that offers it, with its like of the other turns."""
        found: dict[str, list[Any]] = {}
        for name, member in thing.members.items():
            if name.startswith(NAMELESS) and isinstance(member, Feature) and member.bodies():
                value = None if attribute in SIDES else self.look(member, attribute)[0]
                if isinstance(value, Places | Lines):
                    found.setdefault(re.sub(r" \d+$", "", member.name), []).append(value)
        return joined(next(iter(found.values()))) if found else None

    def _wall_round(self, stones: Feature) -> float:
        """How far the widest wall round one of the stones stands out from its girdle, mm."""
        outlines = [trace(stones.kind(k).outline, 0.02) for k in range(len(stones.frames))]
        return max(
            wall_round(scope.steps, frame, outline)
            for scope in self._scopes
            for frame, outline in zip(stones.frames, outlines, strict=True)
        )

    def _side(self, thing: Feature, attribute: str) -> Places | None:
        """A side of a feature's metal, as it was added; None if it has none."""
        if attribute not in SIDES:
            return None
        if attribute == "origin":
            return thing.places()
        for scope in reversed(self._scopes):
            metal = metal_of(scope.steps, _indices(thing))
            if metal:
                nowhere = thing.is_bundle and not thing.stands
                frames = fr.identity() if nowhere else self._upright(thing.frames)
                return side(attribute, metal, frames, in_turn=thing.source is not None)
        return None

    def _upright(self, frames: np.ndarray) -> np.ndarray:
        """Frames (n, 3, 4) where settings stand, without the `swivel` of their stones: the top of a halo is
        above, whichever way its stone was swivelled."""
        upright = frames.copy()
        for stones in (one for scope in self._scopes for one in scope.stones):
            swivel = self.lines[stones.feature].get("swivel") or 0.0
            for k in range(len(frames)) if swivel else ():
                if (np.abs(stones.frames - frames[k]).max(axis=(1, 2)) < 1e-9).any():
                    upright[k] = fr.compose(frames[k : k + 1], fr.turned(2, -swivel))[0]
        return upright

    def as_kind(self, thing: Any, kind: str) -> Any:
        """``thing`` read as places, a line, a feature or stones."""
        if isinstance(thing, (Point, Sequence)):
            return _spelled(thing) if kind == "places" else None
        if isinstance(thing, Places) and kind != "places":
            thing = thing.stone()
        if kind == "part":
            return thing if isinstance(thing, Feature) else None
        if kind == "stones":
            return self.stones_in(thing) if isinstance(thing, Feature) else None
        if kind == "places":
            if isinstance(thing, Feature):
                group = bool(thing.members) and thing.index >= 0  # it stands at its own places
                whole = None if group else self.stones_in(thing)
                return (whole or thing).places()
            return thing if isinstance(thing, Places) else None
        if kind == "path":
            if isinstance(thing, Feature):
                names = ("path", "rim", "around", "girdle")  # a feature's own line
                return next((found for name in names if (found := thing.look(name))), None)
            return thing if isinstance(thing, Lines) else None
        return None

    def stones_in(self, feature: Feature) -> Feature | None:
        """All stones of a feature as one line of stones: its own, its parts', its copies'."""
        if feature.stone_offers is not None and feature.source is None:
            return feature
        if feature.source is not None:
            return None if feature.row is None else again(feature.row, feature.frames)
        rows = [
            row
            for member in feature.members.values()
            if isinstance(member, Feature) and (row := self.stones_in(member)) is not None
        ]
        return merged(feature, rows) if rows else None

    def parts(self, thing: Any, kind: str) -> list[str]:
        """The names of those of its parts that can be read as ``kind``."""
        if not isinstance(thing, Feature):
            return []
        return [
            name
            for name in _offered(thing).offers
            if self.as_kind(self.look(thing, name)[0], kind) is not None
        ]

    def _places_of(self, feature: Feature) -> tuple[Any, Missing | None]:
        """``places of feature``."""
        places = feature.places()
        why = f"{feature.name} has no place of its own; ask one of its parts"
        return (None, Missing(why=why)) if places is None else (places, None)

    def spots(self, thing: Any) -> list[Places] | None:
        """Single places of a list of places."""
        places = self.as_kind(thing, "places")
        return None if places is None else [places.one(k) for k in range(len(places))]

    def between(self, first: Any, second: Any) -> Places | None:
        """The place half way between two places, facing as the first does."""
        a, b = self.as_kind(first, "places"), self.as_kind(second, "places")
        if a is None or b is None or len(a) != 1 or len(b) != 1:
            return None
        frames = a.frames.copy()
        frames[:, :, 3] = (a.frames[:, :, 3] + b.frames[:, :, 3]) / 2
        return Places(frames)

    def combined(self, first: Any, operator: str, second: Any) -> Lines | None:
        """Closed lines in one plane put together, or taken from one another."""
        a, b = self.as_kind(first, "path"), self.as_kind(second, "path")
        if not isinstance(a, Lines) or not isinstance(b, Lines):
            return None
        lines = combined(a.lines, operator, b.lines)
        return Lines(lines) if lines else None

    def describe(self, thing: Any) -> str:
        """A few words on an opaque thing."""
        if isinstance(thing, Feature):
            return f"{thing.name} ({thing.word})"
        if isinstance(thing, Places):
            return f"{len(thing)} place{'s' * (len(thing) != 1)}"
        if isinstance(thing, Lines):
            return "a path" if len(thing.lines) == 1 else f"{len(thing.lines)} paths"
        return "something else"

    def metals(self) -> tuple[str, ...]:
        """Names of the alloys a piece can be of, and what else the trade calls them."""
        from ...stdlib.alloys import ALLOYS

        return (*ALLOYS, *(also for alloy in ALLOYS.values() for also in alloy.also))

    def check_metal(self, name: str) -> str | None:
        """The alloy's own name for a name or trade synonym; None if none or several are called so."""
        from ...stdlib.alloys import metal_called

        return metal_called(name)

    def metal_hint(self, name: str) -> str:
        """What to say of a metal there is not."""
        from ...stdlib.alloys import metal_hint

        return metal_hint(name)

    def roles(self) -> tuple[str, ...]:
        """What a word written in posy may say it serves as."""
        return SAID

    def rules(self) -> tuple[str, ...]:
        """The names of the bench rules, for `waive`."""
        return self._rule_names

    # -- what the makers use -----------------------------------------------------------------

    def new_feature(self, call: Call, frames: np.ndarray) -> Feature:
        """A feature for this line, standing at ``frames``."""
        feature = Feature(call.name, call.word.name, len(self.features), frames)
        feature.stands = call.word.stands
        self.features.append(feature)
        self.lines.append(call)
        self._scopes[-1].features.append(feature)
        self._copies += len(frames)
        return feature

    def tally(self, copies: int) -> None:
        """Count copies that are no frames of their feature (the letters of a text)."""
        self._copies += copies

    def add(
        self, feature: Feature, shape: Shape, frames: np.ndarray, metal: str | None
    ) -> None:
        """Metal of ``shape`` at each frame; lines of several solids share one body."""
        if feature.body is None:
            feature.body = self._new_body()
        call = self.lines[feature.index]
        bought = call.get("bought") or ""
        if bought:
            bought = call.name if bought is True else bought
            self.bought.setdefault(bought, feature.index)
            self._bought_bodies.add(feature.body)
        label = labelled(metal or "", bought)
        self._scopes[-1].steps.append(
            Step("add", shape, frames, feature.body, label, None, feature.index)
        )

    def _stand(
        self, made: Feature, steps: tuple[Step, ...], frames: np.ndarray, names: Mapping[str, str]
    ) -> None:
        """``steps`` as one part of ``made``, at each frame. Castings among them are called as
        ``names`` says, and where they stand several times, by number too."""
        parts = self._scopes[-1].steps

        def put(inside: tuple[Step, ...], where: np.ndarray) -> None:
            shape = Shape("part", steps=inside)
            parts.append(Step("add", shape, where, made.body or 0, "", None, made.index))

        castings = {casting_of(label) for label in labels_of(steps)}.difference(self.bought)
        if not any(names.get(casting, casting) for casting in castings):
            put(steps, frames)
            return
        for k in range(len(frames)):
            number = f" {k + 1}" if len(frames) > 1 else ""

            def called(casting: str, number: str = number) -> str:
                name = names.get(casting, casting)
                return name + number if name and casting not in self.bought else name

            put(tuple(relabelled(step, called) for step in steps), frames[k : k + 1])

    def cut(
        self, feature: Feature, shape: Shape, frames: np.ndarray, into: tuple[int, ...] | None
    ) -> None:
        """Remove ``shape`` at each frame from the bodies ``into`` (None: all in this part so
        far but what is bought, which is put on later)."""
        frames = fr.rounded(frames)
        if into is None and self._bought_bodies:
            made = (step.body for step in self._scopes[-1].steps if step.work == "add")
            into = tuple(dict.fromkeys(b for b in made if b not in self._bought_bodies))
        self._scopes[-1].steps.append(Step("cut", shape, frames, -1, "", into, feature.index))

    def set_stones(self, feature: Feature, setting: StoneKind, frames: np.ndarray) -> None:
        """Stones at each frame."""
        self._scopes[-1].stones.append(StoneSet(feature.index, setting, frames, feature.index))

    def has_metal(self) -> bool:
        """Whether anything above in this part added metal."""
        return any(step.work == "add" for step in self._scopes[-1].steps)

    def falls(self, frames: np.ndarray, rounds: list[np.ndarray], reach: float) -> np.ndarray:
        """See ``sides.falls``, of all metal added so far in this part."""
        return falls(self._scopes[-1].steps, frames, rounds, reach)

    def below(self, feature: Feature, frames: np.ndarray) -> np.ndarray:
        """How far inward from each frame the metal of ``feature`` begins and ends; see ``sides.below``. Of
        what goes round a finger, no farther than the finger's middle: never the inside of its back."""
        ends = below(metal_of(self._scopes[-1].steps, _indices(feature)), frames)
        if feature.surface is not None and feature.surface.goes_round:
            ends[ends[:, 0] > before_axis(feature.frames[0], frames)] = np.nan
        return ends

    def repeat(self, made: Feature, source: Feature, frames: np.ndarray) -> bool:
        """Add the metal of ``source``, as it stands, again at each frame, with its stones; of a
        thing that only cuts, make its cuts again."""
        scope = self._scopes[-1]
        bodies = source.bodies()
        steps = tuple(_own_steps(scope.steps, bodies))
        stones = [s for s in scope.stones if self._belongs(s, source)]
        if not bodies:
            own = _indices(source)
            cuts = [s for s in scope.steps if s.work == "cut" and s.feature in own]
            for cut in cuts:
                self.cut(made, cut.shape, fr.compose(frames, cut.frames), cut.into)
            made.source, made.stood = source, source.standing()
            if cuts and not stones:
                self._copies += sum(len(cut.frames) for cut in cuts) * len(frames)
                return True
        if not steps and not stones:
            return False
        if steps:
            made.body = self._new_body()
            inside = [casting_of(label) for label in labels_of(steps)]
            castings = [name for name in dict.fromkeys(inside) if name and name not in self.bought]
            alone = len(castings) == 1 and "" not in inside
            names = {name: made.name if alone else f"{made.name}.{name}" for name in castings}
            self._stand(made, steps, frames, names)
        for each in stones:
            again = fr.rounded(fr.compose(frames, each.frames))
            scope.stones.append(StoneSet(made.index, each.setting, again, each.line))
        made.source, made.stood = source, source.standing()
        row = self.stones_in(source)
        made.row = None if row is None else replace(row)
        if stones:
            made.stones = source.stones
        self._copies += sum(len(s.frames) for s in stones) * len(frames)
        return True

    def steps_of(self, source: Feature) -> list[Step]:
        """The steps of this part that made the metal of ``source`` what it is now."""
        return _own_steps(self._scopes[-1].steps, source.bodies())

    def bend(
        self,
        made: Feature,
        source: Feature,
        bend: Bend,
        frames: np.ndarray,
        base: np.ndarray,
        ready: Callable[[list[Step]], tuple[Step, ...]] = tuple,
    ) -> bool:
        """Bend the metal of ``source`` as it lies seen from the (1, 3, 4) frame ``base``, with all
        that stands on it, in its place; it comes to stand at ``frames``. ``ready`` is what is done
        to its steps before."""
        scope, bodies = self._scopes[-1], source.bodies()
        steps = ready(self.steps_of(source))
        if not steps:
            return False
        made.body = self._new_body()
        scope.steps = [*_other_steps(scope.steps, bodies)]
        back = fr.inverse(base[0])[None]
        lying = tuple(replace(s, frames=fr.rounded(fr.compose(back, s.frames))) for s in steps)
        shape = Shape("bent", astuple(bend), lying)
        scope.steps.append(Step("add", shape, frames, made.body, "", None, made.index))
        inside = _indices(source)
        for feature in scope.features:
            if feature is not made and (feature.index in inside or feature.body in bodies):
                reshape(feature, bend, base, frames)
                feature.body = made.body if feature.body in bodies else feature.body
        source.body = made.body if source.body is not None else None
        for k, stones in enumerate(scope.stones):
            if stones.feature in inside:
                flat = fr.compose(back, stones.frames)
                moved = fr.rounded(fr.compose(frames, bend.frames(flat)))
                scope.stones[k] = replace(stones, frames=moved)
        return True

    def _belongs(self, stones: StoneSet, source: Feature) -> bool:
        return stones.feature in _indices(source)

    def _new_body(self) -> int:
        self._bodies += 1
        return self._bodies - 1

    # -- what the build takes away -------------------------------------------------------------

    def plan(self) -> Plan:
        """The order of work so far."""
        return Plan(tuple(self._scopes[0].steps))

    def stones(self) -> list[StoneSet]:
        """All stones, in the order of the text."""
        return list(self._scopes[0].stones)


def _about_stones(call: Call, frames: np.ndarray) -> np.ndarray:
    """The frames of a setting moved about the stones it is for, not about the piece's middle.
    Raises Refused when each of them would have it moved about another place."""
    stones: Any = call.get("for")
    if not isinstance(stones, Feature):
        return frames
    grounds = [fr.inverse(ground)[None] for ground in stones.frames]
    about = [
        fr.rounded(fr.compose(fr.compose(ground[None], frames), back))
        for ground, back in zip(stones.frames, grounds, strict=True)
    ]
    if any(np.abs(one - about[0]).max() > 1e-6 for one in about[1:]):
        call.refuse(
            "several-stones",
            f"{call.name} is for {len(stones.frames)} stones, each of which it would move "
            "about another place",
            next((key for key in _MOVES if call.given(key)), None),
            seen=f"{len(stones.frames)} stones",
            limit="1",
            remedy="set each by itself: each one in the row, and the word for one",
        )
    return about[0]


_MOVES = ("turn", "tilt", "lean", "swivel", "right", "left", "up", "down", "out", "inward", "at")


def _indices(feature: Feature) -> set[int]:
    found = {feature.index}
    for member in feature.members.values():
        if isinstance(member, Feature):
            found |= _indices(member)
    return found


def _has_stones(feature: Feature) -> bool:
    return bool(feature.stones) or any(
        isinstance(member, Feature) and _has_stones(member)
        for member in feature.members.values()
    )


def _own_steps(steps: list[Step], bodies: tuple[int, ...]) -> list[Step]:
    """The steps that made ``bodies`` what they are now, cuts narrowed to them."""
    wanted, own = set(bodies), []
    for step in steps:
        if step.work == "add" and step.body in wanted:
            own.append(step)
        elif step.work == "cut":
            into = bodies if step.into is None else tuple(b for b in step.into if b in wanted)
            known = {s.body for s in own}
            into = tuple(b for b in into if b in known)
            if into:
                own.append(replace_into(step, into))
    return own


def _other_steps(steps: list[Step], bodies: tuple[int, ...]) -> Iterator[Step]:
    """All but the steps that made ``bodies``; cuts narrowed to the rest."""
    gone, known = set(bodies), []
    for step in steps:
        if step.work == "add":
            if step.body not in gone:
                known.append(step.body)
                yield step
            continue
        into = tuple(b for b in (known if step.into is None else step.into) if b not in gone)
        if into:
            yield replace_into(step, tuple(dict.fromkeys(into)))


def replace_into(step: Step, into: tuple[int, ...]) -> Step:
    """The same cut, working on ``into`` only."""
    return Step(step.work, step.shape, step.frames, step.body, step.metal, into, step.feature)


def _spelled(spots: Point | Sequence) -> Places | None:
    """Places spelled out as spots: (1, 2 mm), or several joined by `to`, facing the
    onlooker."""
    points = spots.members if isinstance(spots, Sequence) else (spots,)
    if not all(isinstance(point, Point) for point in points):
        return None
    rows = [fr.shifted(*(part.value for part in point.parts)) for point in points]  # type: ignore[attr-defined]
    return Places(np.concatenate(rows))


def _look_places(places: Places, attribute: str) -> tuple[Any, Missing | None]:
    if attribute == "count":
        return number(len(places)), None
    if attribute in places.figures:
        values = places.figures[attribute]
        if len(values) > 1 and float(np.ptp(values)) > 1e-9:
            why = f"the {attribute} differs from place to place; ask it of one, with pick()"
            return None, Missing(why=why)
        return (angle if attribute in ANGLES else length)(values[0]), None
    for name, axis in (("right", 0), ("up", 1), ("out", 2)):
        if attribute == name and len(places) == 1:
            return length(places.frames[0, axis, 3]), None
    if attribute in ("right", "up", "out"):
        return None, Missing(why=f"there are {len(places)} places; ask one of them, with pick()")
    return None, Missing("a place", (*places.figures, "count", "right", "up", "out"))


def _look_line(line: Line, attribute: str) -> tuple[Any, Missing | None]:
    offers = path_offers(line)
    if attribute in offers:
        return offers[attribute](), None
    return None, Missing("a path", tuple(offers))


def _offered(feature: Feature) -> Missing:
    members = [name for name in feature.members if not name.startswith(NAMELESS)]
    names = [*members, *feature.offers]
    if _has_stones(feature):
        names += [name for name in STONE_ASKS if name not in names]
    if feature.bodies():
        names += [name for name in SIDES if name not in names]
    return Missing(feature.name, tuple(names))
