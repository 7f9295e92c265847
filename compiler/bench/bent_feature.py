"""A feature whose metal was bent: it stands and offers what comes of that."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np

from ..geometry import frames as fr
from ..geometry.bend import Bend
from ..geometry.surfaces import Carried
from .feature import Feature, Lines, Offer, Places
from .worked import FaceCut, real


def reshape(feature: Feature, bend: Bend, base: np.ndarray, outer: np.ndarray) -> None:
    """Carry a feature along whose metal was bent as it lies seen from the (1, 3, 4) frame
    ``base``: it stands and offers what comes of that, as seen from the ``outer`` frames. Stones
    stay as they are cut, and so does what they offer."""
    back = fr.inverse(base[0])[None]
    flat = fr.compose(back, feature.frames if feature.ground is None else feature.ground)
    feature.frames = fr.compose(outer, bend.frames(fr.compose(back, feature.frames)))
    if feature.stones:
        return

    def again(offer: Offer) -> Offer:
        def bent() -> object:
            value = offer()
            if isinstance(value, Places | Lines):
                value = value.seen_from(flat)
            return _carried(bend, value)

        return bent

    feature.offers = {name: again(offer) for name, offer in feature.offers.items()}
    if feature.surface is not None:
        carry = bend.frames if not feature.worked else partial(_sunk, bend, flat, feature.worked)
        feature.surface, feature.worked = Carried(feature.surface, flat, carry), []
    feature.ground, feature.outline = outer, None


def _sunk(bend: Bend, flat: np.ndarray, cuts: list[FaceCut], frames: np.ndarray) -> np.ndarray:
    """Frames of a flat face as its cuts left it, carried along."""
    own = real(cuts, fr.compose(fr.inverse(flat[0])[None], frames))
    return np.asarray(bend.frames(fr.compose(flat[:1], own)))


def _carried(bend: Bend, value: object) -> object:
    """Places and lines carried along; other answers as they are."""
    if isinstance(value, Places):
        return Places(bend.frames(value.frames), value.figures)
    if isinstance(value, Lines):
        return replace(value, lines=tuple(bend.line(line) for line in value.lines))
    return value
