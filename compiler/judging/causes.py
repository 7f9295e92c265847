"""One ticket for one cause: what several rules find of the same parts, told by the rule that cures it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

from ...lang.faults import Fault, Level
from ...stdlib.rows import read_rows
from .remark import Remark

GRAVEST = list(Level).index


def one_each(found: Sequence[Fault]) -> list[Fault]:
    """The remarks without those that have the cause of another: of a rule that follows the other's, on the
    same parts; and hints of what a graver one of the same rule is about. What tells a cause is as grave as
    the gravest that it stands for."""
    told = [one for one in found if isinstance(one, Remark) and one.waived is None]
    roots = {id(of): next((one for one in told if _is_cause(one, of)), None) for of in told}
    level: dict[int, Level] = {}
    for of in told:
        root, deep = of, 0
        while (above := roots[id(root)]) is not None and deep < len(told):
            root, deep = above, deep + 1
        level[id(root)] = min(level.get(id(root), root.level), of.level, key=GRAVEST)
    return [
        replace(one, level=level[id(one)]) if isinstance(one, Remark) and id(one) in level else one
        for one in found
        if id(one) not in roots or roots[id(one)] is None
    ]


def _is_cause(one: Remark, of: Remark) -> bool:
    if one is of or not one.parts & of.parts:
        return False
    milder = one.level is Level.HINT is not of.level
    if one.code == of.code:
        return of.level is Level.HINT is not one.level
    return (of.code, one.code) in _follow() and not milder


@cache
def _follow() -> frozenset[tuple[str, str]]:
    return frozenset((row["rule"], row["follows"]) for row in read_rows("rule-causes"))
