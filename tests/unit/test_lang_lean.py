"""Lean dataclasses behave as those of the standard library, which is the reference here."""

from __future__ import annotations

import copy
import dataclasses
import pickle
from dataclasses import FrozenInstanceError, field

import pytest

from posy.lang.faults import Span
from posy.lang.lean import dataclass as lean

KINDS = [
    {},
    {"eq": False},
    {"slots": True},
    {"frozen": True},
    {"frozen": True, "eq": False},
    {"frozen": True, "slots": True},
    {"frozen": True, "slots": True, "order": True},
]


def _class(make, options):
    """A class with every sort of field the project uses."""

    @make(**options)
    class Bead:
        """A bead."""

        set: str
        across: float = 1.0
        spots: list = field(default_factory=list)
        digest: str = field(default="", init=False, compare=False)
        hidden: int = field(default=3, repr=False)

        def __post_init__(self) -> None:
            object.__setattr__(self, "digest", f"{self.set}!")

    @make(**options)
    class Grain(Bead):
        """A bead with one more field."""

        more: int = 7

    return Bead, Grain


@pytest.fixture(params=KINDS, ids=str)
def both(request):
    return _class(lean, request.param), _class(dataclasses.dataclass, request.param), request.param


def test_made_and_shown_alike(both):
    ours, theirs, _ = both
    for mine, reference in zip(ours, theirs, strict=True):
        for given, named in [(("a",), {}), (("a", 2.0), {"hidden": 4}), ((), {"set": "b", "spots": [1]})]:
            one, other = mine(*given, **named), reference(*given, **named)
            assert repr(one) == repr(other)
            assert dataclasses.astuple(one) == dataclasses.astuple(other)
            changed = dataclasses.replace(one, across=5.0)
            assert (changed.across, changed.set, changed.digest) == (5.0, one.set, one.digest)
        assert mine("a").spots is not mine("a").spots
        for wrong in [(), ("a", 1.0, [], 3, 4, 5, 6)]:
            with pytest.raises(TypeError):
                mine(*wrong)
            with pytest.raises(TypeError):
                reference(*wrong)
        match mine("m", 3.0):
            case mine(name, wide):
                assert (name, wide) == ("m", 3.0)


def test_compared_alike(both):
    (mine, grain), (reference, other_grain), options = both
    for one, two in [(("a",), ("a",)), (("a",), ("b",)), (("a", 1.0), ("a", 2.0))]:
        assert (mine(*one) == mine(*two)) == (reference(*one) == reference(*two))
        if options.get("order"):
            for compare in ("__lt__", "__le__", "__gt__", "__ge__"):
                assert getattr(mine(*one), compare)(mine(*two)) == getattr(reference(*one), compare)(reference(*two))
    assert (mine("a") == grain("a")) == (reference("a") == other_grain("a"))
    assert (mine.__hash__ is None) == (reference.__hash__ is None)
    if options.get("order"):
        with pytest.raises(TypeError):
            mine("a") < grain("b")  # noqa: B015


def test_hashed_by_value_when_frozen(both):
    (mine, _), (reference, _), options = both
    if not options.get("frozen") or not options.get("eq", True):
        pytest.skip("no hash of its fields")
    assert hash(mine("a", 2.0, ())) == hash(mine("a", 2.0, ()))
    for made in (mine, reference):
        with pytest.raises(TypeError):
            hash(made("a"))  # a list is among the fields


def test_frozen_alike(both):
    (mine, grain), _, options = both
    for made in (mine("a"), grain("a")):
        if options.get("frozen"):
            with pytest.raises(FrozenInstanceError):
                made.across = 2.0
            with pytest.raises(FrozenInstanceError):
                del made.across
        else:
            made.across = 2.0
            assert made.across == 2.0
        if options.get("slots"):
            with pytest.raises((AttributeError, TypeError)):
                made.unheard = 1
        assert copy.copy(made).set == "a"


def test_pickled_whole():
    span = Span("p.posy", 1, 2, 3, 4)
    assert pickle.loads(pickle.dumps(span)) == span


def test_own_methods_stay():
    @lean(frozen=True)
    class Own:
        """Has methods of its own."""

        value: int

        def __repr__(self) -> str:
            return "own"

        def __eq__(self, other: object) -> bool:
            return True

        def __hash__(self) -> int:
            return 5

    assert (repr(Own(1)), Own(1) == Own(2), hash(Own(1))) == ("own", True, 5)
