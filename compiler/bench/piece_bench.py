"""The bench: makes features of checked lines, and so writes the plan. Implements
lang.bench.Bench."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import astuple, field, replace
from typing import Any

import numpy as np

from ...lang.bench import NAMELESS, Call, Missing
from ...lang.faults import Fault
from ...lang.lean import dataclass
from ...lang.loader import Files
from ...lang.values import Point, Quantity, Sequence
from ...lang.words import Word
from ..geometry import frames as fr
from ..geometry.bend import Bend
from ..geometry.line import Line
from .bent_feature import reshape
from .feature import ANGLES, Feature, Lines, Places, angle, length, number
from .path import path_offers
from .placement import placed
from .plan import Plan, Shape, Step
from .stone_kind import StoneKind
from .stone_rows import STONE_ASKS, StoneSet, again, merged

ALL_COPIES_LIMIT = 60_000
# Words whose stones are those of other lines: bundles, and cuts made for stones.
NO_ROWS = ("word", "group", "seat")
BORROWERS = ("seat",)


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
        self._scopes = [_Scope()]
        self._bodies = 0
        self._copies = 0

    # -- what the evaluator asks -------------------------------------------------------------

    def core_words(self) -> Mapping[str, Word]:
        """The words made by the compiler."""
        return self._words

    def make(self, call: Call) -> tuple[Feature | None, list[Fault]]:
        """Do one line of work."""
        made, faults = call.word.made_by(self, call)
        if made is not None and self._copies > ALL_COPIES_LIMIT:
            return None, [
                *faults,
                call.fault(
                    "too-many-copies",
                    "the piece has too many copies of things",
                    seen=str(self._copies),
                    limit=str(ALL_COPIES_LIMIT),
                    remedy="make fewer",
                ),
            ]
        return made, faults

    def open_group(self, call: Call) -> list[Fault]:
        """Begin a part built by itself."""
        self._scopes.append(_Scope())
        return []

    def close_group(self, call: Call) -> tuple[Feature | None, list[Fault]]:
        """Solder the innermost group in, at each of its places."""
        inner = self._scopes.pop()
        frames, faults = placed(call)
        if frames is not None and call.given("for"):
            frames, more = _about_stones(call, frames)
            faults = faults + more
        if frames is None:
            return None, faults
        group = self.new_feature(call, frames)
        if inner.steps:
            group.body = self._new_body()
            shape = Shape("part", steps=tuple(inner.steps))
            self._scopes[-1].steps.append(
                Step("add", shape, frames, group.body, "", None, group.index)
            )
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
        return group, faults

    def set_out(self, call: Call) -> tuple[Places | None, list[Fault]]:
        """The places that the placing clauses of a line come to, each `at` moved about itself."""
        before: Any = call.get("at")
        if not isinstance(before, Places):
            return None, []
        frames, faults = placed(call)
        if frames is None:
            return None, faults
        each = len(frames) // max(len(before), 1)
        figures = {key: np.repeat(values, each) for key, values in before.figures.items()}
        return Places(frames, figures), faults

    def bundle(self, name: str, members: Mapping[str, Any]) -> Feature:
        """A feature that stands for all a word made."""
        features = [m for m in members.values() if isinstance(m, Feature)]
        frames = [f.frames for f in features if len(f.frames)]
        bundle = Feature(name, "word", -1, np.concatenate(frames) if frames else fr.identity())
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
        if attribute == "places":
            return thing.places(), None
        value = thing.look(attribute)
        if value is not None:
            return value, None
        for name, member in thing.members.items():  # a word's own named parts answer for it
            if name.startswith(NAMELESS) or not isinstance(member, Feature):
                continue
            if attribute in member.offers:
                return member.look(attribute), None
        return None, _offered(thing)

    def as_kind(self, thing: Any, kind: str) -> Any:
        """``thing`` read as places, a line, a feature or stones."""
        if isinstance(thing, (Point, Sequence)):
            return _spelled(thing) if kind == "places" else None
        if isinstance(thing, Places) and kind != "places":
            thing = thing.stone()
        if kind == "feature":
            return thing if isinstance(thing, Feature) else None
        if kind == "stones":
            return self.stones_in(thing) if isinstance(thing, Feature) else None
        if kind == "places":
            if isinstance(thing, Feature):
                whole = None if thing.word == "group" else self.stones_in(thing)
                return thing.places() if whole is None else whole.places()
            return thing if isinstance(thing, Places) else None
        if kind == "line":
            if isinstance(thing, Feature):
                names = ("path", "rim", "around", "girdle")  # a feature's own line
                return next((found for name in names if (found := thing.look(name))), None)
            return thing if isinstance(thing, Lines) else None
        return None

    def stones_in(self, feature: Feature) -> Feature | None:
        """All stones of a feature as one line of stones: its own, its parts', its copies'."""
        if feature.stones and feature.source is None and feature.word not in NO_ROWS:
            return feature
        if feature.source is not None:
            whole = self.stones_in(feature.source)
            return None if whole is None else again(whole, feature.frames)
        rows = [
            row
            for member in feature.members.values()
            if isinstance(member, Feature)
            and member.word not in BORROWERS
            and (row := self.stones_in(member)) is not None
        ]
        return merged(feature, rows) if rows else None

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

    def describe(self, thing: Any) -> str:
        """A few words on an opaque thing."""
        if isinstance(thing, Feature):
            return f"{thing.name} ({thing.word})"
        if isinstance(thing, Places):
            return f"{len(thing)} place{'s' * (len(thing) != 1)}"
        if isinstance(thing, Lines):
            return "a line" if len(thing.lines) == 1 else f"{len(thing.lines)} lines"
        return "something else"

    def metals(self) -> tuple[str, ...]:
        """Names of the alloys a piece can be of."""
        from ...stdlib.alloys import ALLOYS

        return tuple(ALLOYS)

    def check_metal(self, name: str) -> str | None:
        """The alloy's own name for a name or trade synonym; None if there is no such alloy."""
        from ...stdlib.alloys import find_alloy

        alloy = find_alloy(name)
        return None if alloy is None else alloy.name

    def rules(self) -> tuple[str, ...]:
        """The names of the bench rules, for `waive`."""
        return self._rule_names

    # -- what the makers use -----------------------------------------------------------------

    def new_feature(self, call: Call, frames: np.ndarray) -> Feature:
        """A feature for this line, standing at ``frames``."""
        feature = Feature(call.name, call.word.name, len(self.features), frames)
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
        self._scopes[-1].steps.append(
            Step("add", shape, frames, feature.body, metal or "", None, feature.index)
        )

    def cut(
        self, feature: Feature, shape: Shape, frames: np.ndarray, into: tuple[int, ...] | None
    ) -> None:
        """Remove ``shape`` at each frame from the bodies ``into`` (None: all in this part so
        far)."""
        frames = fr.rounded(frames)
        self._scopes[-1].steps.append(Step("cut", shape, frames, -1, "", into, feature.index))

    def set_stones(self, feature: Feature, setting: StoneKind, frames: np.ndarray) -> None:
        """Stones at each frame."""
        self._scopes[-1].stones.append(StoneSet(feature.index, setting, frames))

    def has_metal(self) -> bool:
        """Whether anything above in this part added metal."""
        return any(step.work == "add" for step in self._scopes[-1].steps)

    def repeat(self, made: Feature, source: Feature, frames: np.ndarray) -> bool:
        """Add the metal of ``source``, as it stands, again at each frame, with its stones."""
        scope = self._scopes[-1]
        bodies = source.bodies()
        steps = tuple(_own_steps(scope.steps, bodies))
        stones = [s for s in scope.stones if self._belongs(s, source)]
        if not steps and not stones:
            return False
        if steps:
            made.body = self._new_body()
            shape = Shape("part", steps=steps)
            scope.steps.append(Step("add", shape, frames, made.body, "", None, made.index))
        for each in stones:
            again = fr.rounded(fr.compose(frames, each.frames))
            scope.stones.append(StoneSet(made.index, each.setting, again))
        made.source = source
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


def _about_stones(call: Call, frames: np.ndarray) -> tuple[np.ndarray | None, list[Fault]]:
    """The frames of a setting moved about the stones it is for, not about the piece's middle."""
    stones: Any = call.get("for")
    if not isinstance(stones, Feature):
        return frames, []
    grounds = [fr.inverse(ground)[None] for ground in stones.frames]
    about = [
        fr.rounded(fr.compose(fr.compose(ground[None], frames), back))
        for ground, back in zip(stones.frames, grounds, strict=True)
    ]
    if any(np.abs(one - about[0]).max() > 1e-6 for one in about[1:]):
        return None, [
            call.fault(
                "several-stones",
                f"{call.name} is for {len(stones.frames)} stones, each of which it would move "
                "about another place",
                next((key for key in _MOVES if call.given(key)), None),
                seen=f"{len(stones.frames)} stones",
                limit="1",
                remedy="set each by itself: each one in the row, and the word for one",
            )
        ]
    return about[0], []


_MOVES = ("turn", "tilt", "lean", "spin", "right", "left", "up", "down", "out", "inward", "at")


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
        if len(values) and float(np.ptp(values)) > 1e-9:
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
    return None, Missing("a line", tuple(offers))


def _offered(feature: Feature) -> Missing:
    members = [name for name in feature.members if not name.startswith(NAMELESS)]
    names = [*members, *feature.offers]
    if _has_stones(feature):
        names += [name for name in STONE_ASKS if name not in names]
    return Missing(feature.name, tuple(names))
