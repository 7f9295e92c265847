"""Building posy texts from memory in tests."""

from __future__ import annotations

from posy.compiler.bench.feature import Feature
from posy.compiler.making.pipeline import _laid_out, build
from posy.compiler.making.result import Built
from posy.lang.loader import Texts


def built(text: str, **options: object) -> Built:
    """The piece of ``text``, built; every fault fails the test that asked for it."""
    made = build("piece.posy", files=Texts({"piece.posy": text}), **options)  # type: ignore[arg-type]
    faults = [f"{f.code}: {f.message} {f.span}" for f in made.faults if f.level.value == "fault"]
    assert not faults, faults
    return made


def volume(text: str, **options: object) -> float:
    """Volume in mm3 of a piece of one alloy, corrected for faceting."""
    (part,) = built(text, **options).parts
    return part.volume


def laid(text: str, name: str) -> Feature:
    """The feature called ``name`` of a piece that is laid out, without metal."""
    made, piece = _laid_out("piece.posy", {}, None, Texts({"piece.posy": text}))
    assert not made.faults, made.faults
    return next(f for f in piece.bench.features if f.name == name)
