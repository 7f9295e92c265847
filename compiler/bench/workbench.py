"""What the makers of words do on the bench: metal, cuts and stones of a feature, or of another again."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace

import numpy as np

from ...lang.bench import Call
from ...lang.words import Word
from ..geometry import frames as fr
from ..geometry.bend import Bend
from .carried import carried, held, yielding
from .feature import Feature, Places
from .hung import STAND
from .laid import Laid
from .patterns import TURNED
from .plan import BY_HAND, LET_IN, SEAT, Shape, Step, casting_of, labelled, labels_of
from .step_lists import of_alloy, own_steps, standing, without
from .stone_kind import StoneKind
from .stone_rows import StoneSet
from .things import indices, stones_in
from .worked import FaceCut, is_face_work


class Workbench(Laid):
    """The steps of the work as the words make them."""

    def __init__(self, words: Mapping[str, Word], rule_names: tuple[str, ...] = ()) -> None:
        super().__init__(words, rule_names)
        self.bought: dict[str, int] = {}  # bought parts by name, with the feature of each
        self._bought_bodies: set[int] = set()
        self._bodies = 0
        self._copies = 0
        self._cuts_again: dict[Step, int] = {}  # cuts that a copy made again, with its feature

    def new_feature(self, call: Call, frames: np.ndarray) -> Feature:
        """A feature for this line, standing at ``frames``."""
        feature = Feature(call.name, call.word.name, len(self.features), frames)
        feature.stands = call.word.stands
        said = {key: one.value for key, one in call.arguments.items() if one.given}
        at = said.get("at")
        feature.at_end = isinstance(at, Places) and at.ends and not any(map(said.get, TURNED))
        use = call.within[-1] if call.within else None
        if use is not None and any(take.name == STAND for take in use.word.takes):
            feature.may_stand, feature.on_edge = use.name, bool(call.figure(STAND))
        stood = use.arguments.get("at") if use is not None else None
        at = stood.value if stood is not None else at
        feature.asked = at.asked if isinstance(at, Places) else ""
        self.features.append(feature)
        self.lines.append(call)
        self._scopes[-1].features.append(feature)
        self._copies += len(frames)
        return feature

    def tally(self, copies: int) -> None:
        """Count copies that are no frames of their feature (the letters of a text)."""
        self._copies += copies

    def add(self, feature: Feature, shape: Shape, frames: np.ndarray, metal: str | None) -> None:
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
        self._scopes[-1].steps.append(Step("add", shape, frames, feature.body, label, None, feature.index))

    def _stand(
        self, made: Feature, steps: tuple[Step, ...], frames: np.ndarray, names: Mapping[str, str]
    ) -> None:
        """``steps`` as one part of ``made``, at each frame; see ``step_lists.standing``."""
        for inside, where in standing(steps, frames, names, self.bought):
            shape = Shape("part", steps=inside)
            self._scopes[-1].steps.append(Step("add", shape, where, made.body or 0, "", None, made.index))

    def cut(
        self, feature: Feature, shape: Shape, frames: np.ndarray, into: tuple[int, ...] | None, how: str = "",
    ) -> None:
        """Remove ``shape`` at each frame from the bodies ``into`` (None: all in this part so far but what is
        bought, which is put on later); by hand if the line says so, or ``how`` is BY_HAND."""
        frames = fr.rounded(frames)
        if into is None and self._bought_bodies:
            made = (step.body for step in self._scopes[-1].steps if step.work == "add")
            into = tuple(dict.fromkeys(b for b in made if b not in self._bought_bodies))
        self._face_work(feature, shape, frames, into)
        how = BY_HAND if self.lines[feature.index].get("by-hand") else how
        self._scopes[-1].steps.append(Step("cut", shape, frames, -1, how, into, feature.index))

    def _face_work(
        self, made: Feature, shape: Shape, frames: np.ndarray, into: tuple[int, ...] | None
    ) -> None:
        """Let the parts that have a face know of a cut that changes it."""
        faces = [
            one for one in self._scopes[-1].features
            if one.surface is not None and one.body is not None and (into is None or one.body in into)
        ]  # fmt: skip
        if faces and is_face_work(self.lines[made.index], shape):
            for one in faces:
                home = one.frames if one.ground is None else one.ground
                one.worked.append(FaceCut(shape, fr.compose(fr.inverse(home[0])[None], frames)))
                one.grounds.append(made.index)

    def fill(self, feature: Feature, into: tuple[int, ...] | None, alloy: str) -> None:
        """Metal of ``alloy`` wherever the cuts of a feature have just taken some from the bodies ``into``."""
        steps = self._scopes[-1].steps
        bodies = into or tuple(dict.fromkeys(step.body for step in steps if step.work == "add"))
        cuts = [step for step in steps if step.work == "cut" and step.feature == feature.index]
        own = own_steps([step for step in steps if step not in cuts], bodies)
        tools = tuple(Step("add", cut.shape, cut.frames, 0, alloy, None, feature.index) for cut in cuts)
        keep = Step("keep", Shape("part", steps=tools), fr.identity(), -1, "", None, feature.index)
        inlaid = Shape("part", LET_IN, (*of_alloy(own, alloy, feature.index), keep))
        feature.body = self._new_body()
        steps.append(Step("add", inlaid, fr.identity(), feature.body, "", None, feature.index))

    def set_stones(self, feature: Feature, setting: StoneKind, frames: np.ndarray) -> None:
        """Stones at each frame."""
        self._scopes[-1].stones.append(StoneSet(feature.index, setting, frames, feature.index))

    def repeat(self, made: Feature, source: Feature, frames: np.ndarray) -> bool:
        """Add the metal of ``source``, as it stands, again at each frame, with its stones; of a
        thing that only cuts, make its cuts again."""
        scope = self._scopes[-1]
        bodies = source.bodies()
        steps = tuple(own_steps(scope.steps, bodies))
        own = indices(source)
        stones = [s for s in scope.stones if s.feature in own]
        # Its cuts, but those into its own metal, which is repeated as they left it.
        cuts = [
            s for s in scope.steps if s.work == "cut" and self._cuts_again.get(s, s.feature) in own
            and (not bodies or not set(bodies).intersection(s.into or bodies))
        ]  # fmt: skip
        if not steps and not stones and not cuts:
            return False
        along = carried(scope, self.lines, made, source, [*steps, *cuts], frames)
        self._cut_again(made, cuts, frames, bool(bodies or stones or along))
        if steps:
            made.body = self._new_body()
            self._stand(made, steps, frames, self._named_again(made, steps))
        again = [
            StoneSet(made.index, each.setting, fr.rounded(fr.compose(frames, each.frames)), each.line)
            for each in stones
        ]
        for each in again:
            scope.stones = [yielding(one, each.frames[:, :, 3]) for one in scope.stones]
        scope.stones += [*again, *along]
        made.source, made.stood = source, source.standing()
        row = stones_in(source)
        made.row = None if row is None else replace(row)
        if stones:
            made.stones = source.stones
        self._copies += sum(len(s.frames) for s in (*again, *along))
        return True

    def _cut_again(self, made: Feature, cuts: Sequence[Step], frames: np.ndarray, own_lines: bool) -> None:
        """Make cuts again at each frame; a seat, or what goes with stones, is judged by its own line."""
        for cut in cuts:
            line = self.features[cut.feature] if own_lines or cut.shape.kind == SEAT else made
            self.cut(line, cut.shape, fr.compose(frames, cut.frames), cut.into, cut.metal)
            self._cuts_again[self._scopes[-1].steps[-1]] = made.index
        self._copies += sum(len(cut.frames) for cut in cuts) * len(frames)

    def _named_again(self, made: Feature, steps: Sequence[Step]) -> dict[str, str]:
        """What the castings in some steps are called as ``made`` has them again."""
        inside = [casting_of(label) for label in labels_of(steps)]
        castings = [name for name in dict.fromkeys(inside) if name and name not in self.bought]
        alone = len(castings) == 1 and "" not in inside
        return {name: made.name if alone else f"{made.name}.{name}" for name in castings}

    def steps_of(self, source: Feature) -> list[Step]:
        """The steps of this part that made the metal of ``source`` what it is now."""
        return own_steps(self._scopes[-1].steps, source.bodies())

    def bend(
        self, made: Feature, source: Feature, bend: Bend, frames: np.ndarray, base: np.ndarray,
        ready: Callable[[list[Step]], tuple[Step, ...]] = tuple,
    ) -> bool:  # fmt: skip
        """Bend the metal of ``source`` as it lies seen from the (1, 3, 4) frame ``base``, with all
        that stands on it, in its place; it comes to stand at ``frames``. ``ready`` is what is done
        to its steps before."""
        steps = ready(self.steps_of(source))
        if not steps:
            return False
        made.body = self._new_body()
        scope = self._scopes[-1]
        along = held(scope, self.lines, source, steps)
        scope.bend(made, source, steps, bend, frames, base, {s.feature for s, there in along if there.all()})
        return True

    def _new_body(self) -> int:
        self._bodies += 1
        return self._bodies - 1

    def leave_out(self, features: Collection[int]) -> None:
        """Take the metal, the cuts and the stones of ``features`` out again."""
        scope = self._scopes[0]
        scope.steps = list(without(scope.steps, features))
        scope.stones = [stones for stones in scope.stones if stones.feature not in features]
