"""A part while it is built: its steps, stones and features so far."""

from __future__ import annotations

from dataclasses import astuple, dataclass, field, replace

import numpy as np

from ..geometry import frames as fr
from ..geometry.bend import Bend
from .bent_feature import reshape
from .feature import Feature
from .plan import Shape, Step
from .step_lists import other_steps
from .stone_rows import StoneSet
from .things import indices


@dataclass
class Scope:
    """A part being built: the piece itself, or an open group."""

    steps: list[Step] = field(default_factory=list)
    stones: list[StoneSet] = field(default_factory=list)
    features: list[Feature] = field(default_factory=list)
    home: np.ndarray | None = None  # (3, 4), from outside to where it is first put; or built apart
    turned: bool = False  # it says itself how it is turned, or what it is built in does
    lacks: bool = False  # a line of it could not be done, and was told: what lacks its work says nothing

    def bend(
        self, made: Feature, source: Feature, steps: tuple[Step, ...], bend: Bend, frames: np.ndarray,
        base: np.ndarray, along: set[int],
    ) -> None:  # fmt: skip
        """Put ``steps``, which are those of ``source``, bent into its place as the body of ``made``, with
        all that stands on it and the stones of the lines ``along``; see ``PieceBench.bend``."""
        bodies, inside = source.bodies(), indices(source) | along
        self.steps = [*other_steps(self.steps, bodies)]
        back = fr.inverse(base[0])[None]
        lying = tuple(replace(s, frames=fr.rounded(fr.compose(back, s.frames))) for s in steps)
        shape = Shape("bent", astuple(bend), lying)
        self.steps.append(Step("add", shape, frames, made.body or 0, "", None, made.index))
        for feature in self.features:
            if feature is not made and (feature.index in inside or feature.body in bodies):
                reshape(feature, bend, base, frames)
                feature.body = made.body if feature.body in bodies else feature.body
                feature.bent_into = made.name
        source.bent_into = made.name
        source.body = made.body if source.body is not None else None
        for k, stones in enumerate(self.stones):
            if stones.feature in inside:
                flat = fr.compose(back, stones.frames)
                moved = fr.rounded(fr.compose(frames, bend.frames(flat)))
                self.stones[k] = replace(stones, frames=moved)
