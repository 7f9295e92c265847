"""How functions get their values, and parts and figures of features, which the bench is asked."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from . import tree
from .faults import Span
from .functions import FUNCTIONS
from .reckoner import PLAIN_VALUES, Reckoner, Way
from .scope import Scope
from .shown import value_name
from .suggest import did_you_mean
from .values import BROKEN, LENGTH, NUMBER, Bare, Broken, Point, Quantity, Truth


def _invoke(reckoner: Reckoner, node: tree.Invoke, scope: Scope) -> Any:
    function = FUNCTIONS.get(node.function.name)
    if function is None:
        return BROKEN  # reported by resolve.py, as are wrong counts of arguments
    most = len(node.arguments) if function.most is None else function.most
    if not function.least <= len(node.arguments) <= most:
        return BROKEN
    if function.reckon is None:
        return _ASKED[function.name](reckoner, node, scope)
    figures = [reckoner.figure(argument, scope) for argument in node.arguments]
    good = [figure for figure in figures if isinstance(figure, Quantity)]
    if len(good) < len(figures):
        return BROKEN
    result, trouble = function.reckon(good)
    return result if trouble is None else reckoner.trouble(trouble, node.span)


def _given(reckoner: Reckoner, node: tree.Invoke, scope: Scope) -> Any:
    """Whether the line said a key; of what it said, whether that offers something."""
    key, given = node.arguments[0], scope.find_given()
    asked = key.names if isinstance(key, tree.Of) else ()
    key = key.thing if isinstance(key, tree.Of) else key
    if given is None or not isinstance(key, tree.Name):
        return BROKEN
    if key.name not in given or not asked or reckoner.bench is None:
        return Truth(key.name in given and not asked)
    value = reckoner.value(key, scope)
    for name in reversed(asked):
        value = None if isinstance(value, PLAIN_VALUES) else reckoner.bench.look(value, name.name)[0]
    return value if isinstance(value, Broken) else Truth(value is not None)


def _choose(reckoner: Reckoner, node: tree.Invoke, scope: Scope) -> Any:
    """Only the figure that is chosen is reckoned: the other may rest on what was not given."""
    holds = reckoner.test(node.arguments[0], scope)
    if isinstance(holds, Broken):
        return BROKEN
    return reckoner.value(node.arguments[1 if holds else 2], scope)


def _pick(reckoner: Reckoner, node: tree.Invoke, scope: Scope) -> Any:
    spots = reckoner.spots(node.arguments[0], scope)
    which = reckoner.figure(node.arguments[1], scope)
    if isinstance(spots, Broken) or isinstance(which, Broken):
        return BROKEN
    span = node.arguments[1].span
    if which.dimension != NUMBER or which.share or which.value != int(which.value):
        return reckoner.fault("not-whole", f"a count is needed here, not {value_name(which)}", span)
    if not 1 <= which.value <= len(spots):
        return reckoner.fault(
            "out-of-range", f"there is no place number {which.value:g} here", span, seen=f"{which.value:g}",
            limit=f"1 to {len(spots)}" if spots else "no places",
        )
    return spots[int(which.value) - 1]


def _between(reckoner: Reckoner, node: tree.Invoke, scope: Scope) -> Any:
    ends = [reckoner.spots(argument, scope) for argument in node.arguments]
    first, second = ends
    if isinstance(first, Broken) or isinstance(second, Broken):
        return BROKEN
    if len(first) != len(second) or not first:
        which = 0 if len(first) != 1 else 1
        return reckoner.fault(
            "wrong-kind", f"one place is needed here, not {len(second if which else first)}",
            node.arguments[which].span, "take one of them: pick(ends of frame, 2)",
        )
    middle: Any = None
    for one, two in zip(first, second, strict=True):
        more = _middle(reckoner, one, two)
        together = None if reckoner.bench is None else reckoner.bench.combined(middle, "+", more)
        middle = more if middle is None else together
        if middle is None:
            return reckoner.fault("wrong-kind", "there is no half way between these", node.span)
    return middle


def _middle(reckoner: Reckoner, first: Any, second: Any) -> Any:
    if isinstance(first, Point) and isinstance(second, Point):
        return _half_way(first, second)
    return None if reckoner.bench is None else reckoner.bench.between(first, second)


def _half_way(first: Point, second: Point) -> Point:
    """The point half way; a missing third member counts as zero."""
    pairs = itertools.zip_longest(first.parts, second.parts, fillvalue=Quantity(0.0, LENGTH))
    return Point(tuple(Quantity(math.fsum((a.value, b.value)) / 2, LENGTH) for a, b in pairs))


def _count(reckoner: Reckoner, node: tree.Invoke, scope: Scope) -> Any:
    spots = reckoner.spots(node.arguments[0], scope)
    return spots if isinstance(spots, Broken) else Quantity(float(len(spots)))


def _of(reckoner: Reckoner, node: tree.Of, scope: Scope) -> Any:
    wanted, reckoner.wanted = reckoner.wanted, None
    value, span = reckoner.value(node.thing, scope), node.thing.span
    if isinstance(node.thing, tree.Name) and value == Bare(node.thing.name):
        return BROKEN  # no name of a part: told where names are looked up
    for name in reversed(node.names):
        if isinstance(value, Broken):
            return value
        value = _part(reckoner, name, value, span, scope, wanted if name is node.names[0] else None)
        span = name.span.to(node.span)
    return value


def _part(
    reckoner: Reckoner, name: tree.Name, value: Any, span: Span, scope: Scope, wanted: str | None
) -> Any:
    """``name of value``, where ``value`` stands at ``span``; ``wanted`` is the kind it is to be."""
    if isinstance(value, PLAIN_VALUES) or reckoner.bench is None:
        return reckoner.fault(
            "wrong-kind", f"{name.name} of … asks a part, not {reckoner.describe(value)}", span,
        )
    answer, missing = reckoner.bench.look(value, name.name)
    if missing is not None:
        message, remedy = missing.why, missing.remedy
        if message is None:
            message = f"{missing.thing} offers no '{name.name}'"
            offers = (wanted and reckoner.bench.parts(value, wanted)) or missing.offers
            offered = ", ".join(offers) or "nothing by name"
            meant = next((one for one in scope.meant(name.name) if one in offers), None)
            near = f"write {meant}" if meant else did_you_mean(name.name, offers)
            remedy = near or f"it offers {offered}"
        return reckoner.fault("not-offered", message, name.span, remedy)
    whole = reckoner.name_of(value)
    if whole is not None and not isinstance(answer, PLAIN_VALUES):
        reckoner.name_thing(answer, f"{whole}.{name.name}")
    return answer


_ASKED: Mapping[str, Way] = MappingProxyType(
    {"given": _given, "choose": _choose, "pick": _pick, "between": _between, "count": _count}
)
QUESTIONS: Mapping[type, Way] = MappingProxyType({tree.Invoke: _invoke, tree.Of: _of})
