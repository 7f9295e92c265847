"""What stands on the bench so far, as the makers of further lines ask of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from ...lang.bench import Call
from ...lang.words import Word
from ..geometry import frames as fr
from . import things
from .by_girdles import falls, wall_round
from .feature import Feature
from .hung import LEVEL
from .lumps import metal_of
from .names import Names
from .near_places import below
from .plan import Step, casting_of, labels_of
from .roles import Role
from .scope import Scope
from .settled import left_below
from .sides import before_axis
from .stone_rows import StoneSet
from .stone_solid import stone_mesh
from .worked import strikes

OVER = 0.4  # of what stands below a loop at the upper end of metal, the most that stands above

CASTING = "casting"  # the word of a block of lines that is cast by itself


def innermost(blocks: Sequence[str], name: str) -> str:
    """That of the ``blocks``, each with its stop, that a line of a ``name`` stands in; "" outside of all."""
    return max(filter(name.startswith, blocks), key=len, default="")


class Laid(Names):
    """Lines done, what they made, and the part under way: the innermost of ``_scopes``."""

    def __init__(self, words: Mapping[str, Word], rule_names: tuple[str, ...]) -> None:
        super().__init__(words, rule_names)
        self.lines: list[Call] = []  # by feature index
        self.features: list[Feature] = []
        self.hosts: frozenset[str] = frozenset()  # names of what the text hangs something in
        self._scopes = [Scope()]

    def stones_here(self) -> list[StoneSet]:
        """Stones laid in this part so far."""
        return self._scopes[-1].stones

    @property
    def in_group(self) -> bool:
        """Whether a part built by itself is under way."""
        return len(self._scopes) > 1

    def has_metal(self) -> bool:
        """Whether anything above in this part added metal."""
        return any(step.work == "add" for step in self._scopes[-1].steps)

    def falls(self, frames: np.ndarray, rounds: list[np.ndarray], reach: float) -> np.ndarray:
        """See ``by_girdles.falls``, of all metal added so far in this part; a texture lies as deep as it is
        cut."""
        strokes = np.zeros(len(frames))
        for line in (one for one in self.lines if Role.TEXTURE in one.roles and one.given("in")):
            begins = self.below(line.get("in"), frames)[:, 0]
            strokes = np.maximum(strokes, np.where(np.abs(begins) < reach, line.get("deep", 0.0), 0.0))
        return falls(self._scopes[-1].steps, frames, rounds, reach) + strokes

    def wall_round(self, frame: np.ndarray, girdle: np.ndarray) -> float:
        """See ``by_girdles.wall_round``, of all metal added so far in this part."""
        return wall_round(self._scopes[-1].steps, frame, girdle)

    def below(self, feature: Feature, frames: np.ndarray, as_cut: bool = False) -> np.ndarray:
        """How far inward from each frame the metal of ``feature`` begins and ends, as it was added, or
        ``as_cut`` since; see ``near_places.below``. Of what goes round a finger, no farther than the finger's
        middle: never the inside of its back."""
        steps, frames = self._from_home(feature, frames)
        wanted = things.indices(feature)
        ends = left_below(steps, wanted, frames) if as_cut else below(metal_of(steps, wanted), frames)
        if feature.surface is not None and feature.surface.goes_round:
            ends[ends[:, 0] > before_axis(feature.frames[0], frames)] = np.nan
        return ends

    def seen_from(self, feature: Feature, frame: np.ndarray) -> np.ndarray:
        """Triangles (n, 3, 3) of the metal of ``feature``, as it was added, seen from a place (3, 4); of what
        goes round a finger, none behind the finger's middle."""
        steps, home = self._from_home(feature, frame[None])
        metal = [np.zeros((0, 3, 3)), *(one for _, one in metal_of(steps, things.indices(feature)))]
        own = fr.apply(fr.inverse(home[0]), np.concatenate(metal).reshape(-1, 3)).reshape(-1, 3, 3)
        if feature.surface is not None and feature.surface.goes_round:
            own = own[own[:, :, 2].max(axis=1) > -before_axis(feature.frames[0], home)[0]]
        return own

    def from_here(self, thing: Feature, frames: np.ndarray) -> np.ndarray:
        """Frames on what stands outside the block under way, as they lie from the place of that block."""
        outside = (k for k, scope in enumerate(self._scopes) if thing in scope.features)
        for scope in self._scopes[next(outside, len(self._scopes)) + 1 :]:
            frames = frames if scope.home is None else fr.compose(scope.home[None], frames)
        return frames

    def _from_home(self, feature: Feature, frames: np.ndarray) -> tuple[list[Step], np.ndarray]:
        """The steps of the block a thing was made in, and frames of the innermost one as seen from there; of
        the innermost itself where it is not known where that stands."""
        seen = frames
        for scope in reversed(self._scopes):
            if feature in scope.features:
                return scope.steps, seen
            if scope.home is None:
                break
            seen = fr.compose(fr.inverse(scope.home)[None], seen)
        return self._scopes[-1].steps, frames

    def ring(self, of: Feature | None) -> Feature | None:
        """What a part is of what goes round a finger: itself, else the last made above; None without any."""
        if of is not None and of.shank is not None:
            return of
        made = (one for scope in reversed(self._scopes) for one in reversed(scope.features))
        return next((one for one in made if one.shank is not None), None)

    def finger(self, of: Feature | None) -> tuple[np.ndarray, float] | None:
        """Where the finger or wrist stands that a part is of (3, 4), its y along it, and its radius, mm: that
        of its ``ring``, else of the last path made about one; None without any."""
        if (ring := self.ring(of)) is not None:
            return self.from_here(ring, ring.frames)[0], ring.shank.inside / 2
        made = (one for scope in reversed(self._scopes) for one in reversed(scope.features))
        return next(((self.from_here(one, one.frames)[0], one.about / 2) for one in made if one.about), None)

    def beside(self, feature: Feature) -> np.ndarray:
        """Triangles (n, 3, 3) of all that is cast as one with ``feature``, and of the stones laid there."""
        home = next(scope for scope in reversed(self._scopes) if feature in scope.features)
        labels = [set(map(casting_of, labels_of([step]))) for step in home.steps]
        own = {step.body: casts for step, casts in zip(home.steps, labels, strict=True) if step.work == "add"}
        castings = set[str]().union(*(own.get(body, ()) for body in feature.bodies()))
        steps = [step for step, casts in zip(home.steps, labels, strict=True) if casts & castings]
        found = [corners for _, corners in metal_of(steps, {step.feature for step in steps})]
        for stones in home.stones:
            points, triangles = stone_mesh(stones.setting.figures)
            found += [fr.apply(frame, points)[triangles] for frame in stones.frames]
        return np.concatenate(found)

    def strikes(self, feature: Feature, frames: np.ndarray, radius: float, deep: float) -> np.ndarray:
        """Which blows (n, 3, 4) upon a feature strike the walls of what was sunk in it, see ``worked``."""
        if not feature.worked:
            return np.zeros(len(frames), dtype=bool)
        metal = [corners for _, corners in metal_of(self._scopes[-1].steps, {feature.index})]
        home = fr.inverse((feature.frames if feature.ground is None else feature.ground)[0])
        own = fr.apply(home, np.concatenate(metal).reshape(-1, 3)).reshape(-1, 3, 3)
        return strikes(feature.worked, own, fr.compose(home[None], frames), radius, deep)

    def block_of(self, name: str) -> str:
        """The innermost block of lines cast by itself that a line of that name stands in, with its stop; ""
        outside of all."""
        return innermost(self.blocks, name)

    @property
    def blocks(self) -> list[str]:
        """The names of the blocks of lines that are cast by themselves, each with its stop."""
        return [f"{one.name}." for one in self.features if one.word == CASTING]

    def topmost(self, loop: Feature, at: np.ndarray) -> bool:
        """Whether a loop that stands at ``at`` (3, 4) is the upper end of the casting it is of, by its metal
        so far but for what hangs, and no other loop of it stands higher: what goes through it then stands
        above."""
        blocks = self.blocks
        home = innermost(blocks, loop.name)
        mine = {
            k for k, call in enumerate(self.lines)
            if innermost(blocks, call.name) == home and (k == loop.index or not call.given("hangs-in"))
        }  # fmt: skip
        loops = (one for one in self.features if one.opening is not None and one.index in mine)
        if any(np.any(one.frames[:, 1, 3] > at[1, 3] + LEVEL) for one in loops):
            return False
        metal = metal_of(self._scopes[-1].steps, mine)
        heights = np.concatenate([np.zeros(0), *(corners[..., 1].ravel() for _, corners in metal)]) - at[1, 3]
        return bool(len(heights) and heights.max() < OVER * -heights.min())

    def half_way(self, frame: np.ndarray) -> Callable[[], float]:
        """How far inward from a frame (1, 3, 4) the middle lies of the metal that stands behind it now."""
        steps = list(self._scopes[-1].steps)

        def found() -> float:
            begins, ends = below(metal_of(steps, {step.feature for step in steps}), frame)[0]
            return float(np.nan_to_num(begins + ends)) / 2

        return found
