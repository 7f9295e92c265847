"""The bench: makes features of checked lines, and so writes the plan. Implements lang.bench.Bench."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from ...lang.bench import Argument, Call, Missing, Refused
from ...lang.faults import Fault
from ...lang.loader import Files
from ...lang.placing import LAID_OUT, PLACING_BY_NAME
from ...lang.words import Word
from ..geometry import frames as fr
from . import asked, asked_metal, things
from .about_stones import about_stones
from .along import on_its_face
from .chain_ends import turned_ends
from .feature import Drawn, Feature, Lines, Places
from .hung import all_hung
from .linked import LINK_ENDS
from .placement import all_heard, placed, says_its_turn
from .plan import Plan, Shape, Step
from .roles import Role
from .scope import Scope
from .stone_rows import StoneSet, by_copy, told_each_copy
from .workbench import Workbench
from .worked import is_broad, is_face_work
from .worn import stood

ALL_COPIES_LIMIT = 60_000
DRAWN = "outline-corners",  # of a stone, where it is drawn and not where it stands
FACES = "face", "back"
NOT_YET = "for", "hangs-in"  # a block so placed finds its place by what is in it


class PieceBench(Workbench):
    """One piece being laid out. ``words`` are the core words by name, ``rule_names`` those of the
    bench rules, ``files`` where drawings and fonts are read from. ``metal`` is the piece's own
    alloy; steps of it name none, so that another alloy does not make another plan."""

    def __init__(
        self, words: Mapping[str, Word], rule_names: tuple[str, ...] = (), *, metal: str = "silver-925",
        files: Files | None = None, path: str = "",
    ) -> None:
        super().__init__(words, rule_names)
        self.metal = metal
        self.files, self.path = files, path
        self.files_read: list[str] = []
        self._hung_in: list[str] = []  # names of what something hangs in so far

    # -- what the evaluator asks -------------------------------------------------------------

    def make(self, call: Call) -> tuple[Feature | None, list[Fault]]:
        """Do one line of work."""
        self.fit_chains(call)
        try:
            call = self._by_its_own(call, lambda one: call.word.made_by(self, one) if call.roles else None)
            made = call.word.made_by(self, on_its_face(call))
            all_heard(call)
            if self._copies > ALL_COPIES_LIMIT:
                call.refuse(
                    "too-many-copies", "the piece has too many copies of things", seen=str(self._copies),
                    limit=str(ALL_COPIES_LIMIT), remedy="make fewer",
                )
        except Refused as refused:
            follows = self._scopes[-1].lacks and refused.fault.code == "no-metal"
            self._scopes[-1].lacks = True
            return None, [] if follows else [refused.fault]
        return made, []

    def open_group(self, call: Call, apart: bool = False) -> list[Fault]:
        """Begin a part built by itself; ``apart`` or in a word, outer places are as seen from there."""
        home = None if apart or call.within else _home(call)
        turned = not apart and (self._scopes[-1].turned or says_its_turn(call))
        self._scopes.append(Scope(home=home, turned=turned, lacks=self._scopes[-1].lacks))
        return []

    def turned_as(self, call: Call, drawn: Drawn) -> float:
        """How far what is drawn as another part is turned with that, degrees: as the part the line stands
        under, or, where neither it nor what it is built in says a turn, as the part it is drawn as."""
        if call.given("under"):
            return fr.turn_of(call.get("under").standing())
        by_itself = call.within or self._scopes[-1].turned or says_its_turn(call)
        return 0.0 if by_itself else drawn.turned

    def close_group(self, call: Call, done: bool = True) -> tuple[Feature | None, list[Fault]]:
        """Solder the innermost group in, at each of its places; a casting is left apart. Unless all its lines
        were ``done``, what it lacks for that is not told."""
        inner = self._scopes.pop()
        inner.lacks |= not done
        self._scopes[-1].lacks |= inner.lacks
        self.fit_chains(call)
        try:
            call = self._by_its_own(call, lambda plain: self._grouped(plain, inner, fr.identity()))
            call = _pitched(call, inner.features)
            hangs = call.given("hangs-in")
            frames = all_hung(call, inner.features, self) if hangs else placed(call)
            frames = frames if hangs else stood(self, call, inner.features, frames)
            if call.given("for"):
                frames = about_stones(call, frames)
            all_heard(call)
            for one in inner.features:
                told_each_copy(call, one, len(frames))
        except Refused as refused:
            return None, [] if inner.lacks and refused.fault.code == "no-loop" else [refused.fault]
        group = self._grouped(call, inner, frames)
        for stones in inner.stones:
            self._scopes[-1].stones += by_copy(stones, inner.features, frames)
        for member in inner.features:
            member.moved(frames)
            if member.body is not None:
                member.body = group.body
            self._scopes[-1].features.append(member)
        return group, []

    def _grouped(self, call: Call, inner: Scope, frames: np.ndarray) -> Feature:
        """What was built by itself as one part, at each frame."""
        group = self.new_feature(call, frames)
        if inner.steps:
            group.body = self._new_body()
            own = call.name if call.word.name == "casting" else ""
            self._stand(group, tuple(inner.steps), frames, {"": own})
        own = f"{call.name}."  # what a word made is asked of it, see asked.look
        group.members = {name: m for m in inner.features if "." not in (name := m.name.removeprefix(own))}
        return group

    def _by_its_own(self, call: Call, build: Callable[[Call], Feature | None]) -> Call:
        """The line, its `set-by` as the place it names of the part, which is built for that and taken away
        again."""
        if not call.given("set-by"):
            return call
        own = {take.name for take in call.word.takes}
        kept = {key: one for key, one in call.arguments.items() if key in own or key not in PLACING_BY_NAME}
        known, bodies, copies = len(self.features), self._bodies, self._copies
        self._scopes.append(Scope(lacks=True))
        try:
            place, _ = self.look(build(replace(call, arguments=kept)), call.get("set-by"))
        finally:
            self._scopes.pop()
            del self.features[known:], self.lines[known:]
            self._bodies, self._copies = bodies, copies
        if not isinstance(place, Places) or not len(place):
            call.refuse(
                "not-offered", f"{call.word.name} makes nothing that has a {call.get('set-by')} to be set by",
                "set-by", remedy="leave set-by out",
            )
        by = replace(call.arguments["set-by"], value=place, read=False)
        return replace(call, arguments={**call.arguments, "set-by": by})

    def set_out(self, call: Call) -> tuple[Places | Lines | None, list[Fault]]:
        """The places that the placing clauses of a line come to, each `at` moved about itself, or laid out
        `upon` or `along`; of a path moved along the face it lies on, the path."""
        before: Any = call.get("at")
        try:
            moved = on_its_face(call)
            if moved is not call and set(moved.arguments) == {"along"}:
                return moved.get("along"), []
            if not isinstance(before, Places):
                own = {take.name for take in call.word.takes}
                laid = before is None and any(call.given(key) for key in LAID_OUT if key not in own)
                return (Places(placed(call)) if laid else None), []
            frames = placed(call)
        except Refused as refused:
            return None, [refused.fault]
        sides = 2 if call.get("both-sides") else 1
        each = len(frames) // max(sides * len(before), 1)

        def again(rows: np.ndarray) -> np.ndarray:
            return np.concatenate([np.repeat(rows, each, axis=0)] * sides)

        stood = again(before.frames) if before.ends else None
        figures = {key: again(values) for key, values in before.figures.items()}
        axes = (0, 2) if before.ends else (0, 1, 2)  # along its edge an end may be mirrored
        if not np.allclose(frames[:, :, axes], again(before.frames)[:, :, axes], atol=1e-9):
            return Places(frames, figures, stood=stood), []
        # An end that is moved, and looks as it did, is an end still.
        was = before.frames if before.found is None else before.found
        found = again(was) if before.ends else None
        return replace(before, frames=frames, figures=figures, ones=None, found=found, stood=stood), []

    def bundle(
        self, name: str, members: Mapping[str, Any], stand: Any = None,
        figures: Mapping[str, Any] | None = None,
    ) -> Feature:
        """A feature that stands for all a word made: at the places or stones its line was given,
        else where its metal stands; its ``figures`` are asked of it by name."""
        features = [m for m in members.values() if isinstance(m, Feature)]
        places = self.as_kind(stand, "places")
        given = places is not None
        if places is None:
            metal = [f for f in features if f.bodies()] or features
            frames = [f.frames for f in metal if len(f.frames)] or [fr.identity()]
            places = Places(np.concatenate(frames))
        bundle = Feature(name, "word", -1, places.frames)
        bundle.stands, bundle.at_end = given, isinstance(stand, Places) and stand.ends
        bundle.members, bundle.figures = dict(members), dict(figures or {})
        for one in (one for one in features if one.word == "spots"):
            one.figures = {**bundle.figures, **one.figures}
        bundle.stones = tuple(s for f in features for s in f.stones)
        self._scopes[-1].features.append(bundle)
        return bundle

    # What is asked of a thing by itself.
    spots = staticmethod(things.spots)
    between = staticmethod(things.between)
    combined = staticmethod(things.together)
    describe = staticmethod(things.describe)

    def as_kind(self, thing: Any, kind: str) -> Any:
        """See ``things.as_kind``; a part's own path as its metal is now."""
        found = self._as_seen(thing, things.as_kind(thing, kind))
        if isinstance(found, Lines) and isinstance(thing, Feature):
            return asked_metal.on_metal(found, thing, self._made)
        return found

    def look(self, thing: Any, attribute: str) -> tuple[Any, Missing | None]:
        """``attribute of thing``."""
        found, missing = asked.look(thing, attribute, self._made)
        found = found if attribute in DRAWN else self._as_seen(thing, found)
        if isinstance(found, Places) and (found.ends or attribute in FACES) and isinstance(thing, Feature):
            found = replace(found, asked=f"{attribute} of {thing.name}")
        return found, missing

    def _as_seen(self, thing: Any, found: Any) -> Any:
        """Places on what stands outside the block under way, where they lie from the place of that block."""
        if not (isinstance(found, Places) and isinstance(thing, Feature) and self._stands(thing)):
            return found
        return replace(found, frames=self.from_here(thing, found.frames))

    def _stands(self, thing: Feature) -> bool:
        """Whether a thing is somewhere in the piece, and no pattern to lay out anywhere."""
        said = thing.index >= 0 and any(map(self.lines[thing.index].given, ("at", "on", "upon", "under")))
        return said or bool(thing.bodies() or thing.stones)

    def parts(self, thing: Any, kind: str) -> list[str]:
        """The names of those of its parts that can be read as ``kind``."""
        return asked.parts(thing, kind, self._made)

    def upright(self, frames: np.ndarray, any_place: bool = False) -> np.ndarray:
        """See ``asked_metal.upright``."""
        return asked_metal.upright(frames, self._made, any_place)

    @property
    def _made(self) -> asked.Made:
        steps = [scope.steps for scope in self._scopes]

        def broad(test: Callable[[Call, Shape], bool]) -> Callable[[Step], bool]:
            return lambda step: test(self.lines[step.feature], step.shape)

        return asked.Made(
            steps, broad(is_face_work), broad(is_broad), self._swivels, self._scopes[-1].stones, self._cast
        )

    def _cast(self, step: Step) -> Feature | None:
        call = self.lines[step.feature]
        return None if Role.FINDING in call.roles or call.get("bought") else self.features[step.feature]

    def _swivels(self) -> Iterator[tuple[np.ndarray, float, float]]:
        for stones in (one for scope in self._scopes for one in scope.stones):
            said = self.lines[stones.feature].get
            aside = said("tilt") or said("lean") or said("circle")
            swivel, turn = (float(said(key) or 0.0) for key in ("swivel", "turn"))
            if swivel or (turn and not aside):
                yield stones.frames, swivel, 0.0 if aside else turn

    def fit_chains(self, before: Call | None = None) -> None:
        """Turn the ends of chains to fit the loops they meet: ``before`` a line that hangs the first thing in
        one, and once all stands."""
        hung = before.arguments.get("hangs-in") if before is not None else None
        host = hung.value.name if hung is not None and isinstance(hung.value, Feature) else None
        if before is None or (host is not None and host not in self._hung_in):
            scope = self._scopes[0]
            scope.steps = turned_ends(self.features, self.lines, scope.steps, self._hung_in)
            self._hung_in += [host] if host is not None else []

    # -- what the build takes away -------------------------------------------------------------

    def plan(self) -> Plan:
        """The order of work so far."""
        return Plan(tuple(self._scopes[0].steps))

    def stones(self) -> list[StoneSet]:
        """All stones, in the order of the text."""
        return list(self._scopes[0].stones)


def _home(call: Call) -> np.ndarray | None:
    """From outside a block to where it is first put (3, 4); None where that is not known yet."""
    if any(map(call.given, NOT_YET)):
        return None
    try:
        return fr.inverse(placed(call)[0])
    except Refused:  # told when it is closed
        return None


def _pitched(call: Call, inner: Iterable[Feature]) -> Call:
    """A row of links told no spacing, 'every' the pitch of the joint inside."""
    if not call.given("row") or call.given("every"):
        return call
    joints = (one.figures for one in inner if one.members.keys() & set(LINK_ENDS))
    pitch = next((one["pitch"].value for one in joints if "pitch" in one), None)
    if pitch is None:
        return call
    every = Argument((pitch,), call.arguments["row"].span, False)
    return replace(call, arguments={**call.arguments, "every": every})
