"""Clauses that mean something only beside certain others, and clauses that rule others out.

A Take says so in ``goes_with`` and ``not_with``. A placing clause looks for its companions among
the placing clauses alone: a word's own `along` is another clause than the common one."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from .placing import GROUNDS, LAID_OUT, PLACING_BY_NAME
from .words import Kind, Take


def idle(keys: Collection[str], takes: Mapping[str, Take]) -> Iterator[Take]:
    """Those of the clauses ``keys`` that do nothing because no companion is given."""
    for key in keys:
        take = takes.get(key)
        if take is None or not take.goes_with:
            continue
        if not any(name in keys for name in _seen_by(take, take.goes_with, takes)):
            yield take


def clashes(keys: Collection[str], takes: Mapping[str, Take]) -> Iterator[tuple[str, str]]:
    """Pairs of the clauses ``keys`` that exclude each other, the earlier one first."""
    order = list(keys)
    for at, key in enumerate(order):
        for other in order[at + 1 :]:
            if _excludes(key, other, takes) or _excludes(other, key, takes):
                yield key, other


def go_together(keys: Collection[str], takes: Mapping[str, Take]) -> bool:
    """Whether each of the clauses ``keys`` means something and none excludes another."""
    return not (any(True for _ in idle(keys, takes)) or any(True for _ in clashes(keys, takes)))


def _excludes(key: str, other: str, takes: Mapping[str, Take]) -> bool:
    take = takes.get(key)
    return take is not None and other in _seen_by(take, take.not_with, takes)


def _seen_by(take: Take, names: tuple[str, ...], takes: Mapping[str, Take]) -> tuple[str, ...]:
    """Those of ``names`` that are what ``take`` means by them."""
    if take is not PLACING_BY_NAME.get(take.name):
        return names
    return tuple(name for name in names if _is_meant(take, name, takes.get(name)))


def _is_meant(take: Take, name: str, one: Take | None) -> bool:
    """Whether a word's clause ``one`` is what a placing clause means by a ``name``: that of placing, none, or
    the places that the word stands at, where that lays out some."""
    return one is PLACING_BY_NAME.get(name, one) or (take.name in LAID_OUT and name == "at")


def may_mean(take: Take, takes: Mapping[str, Take]) -> bool:
    """Whether a clause can mean something on a line of a word that ``takes`` these: it needs no companion,
    or one of them is no other clause of that name; and not all that say where the word stands rule it out, or
    what it goes with."""
    own = [set(takes[name].not_with) for name in GROUNDS if name in takes]
    if own and set.intersection(*own) & {take.name, *take.goes_with}:
        return False
    return not take.goes_with or bool(_seen_by(take, take.goes_with, takes))


def idle_message(take: Take, takes: Mapping[str, Take]) -> str:
    """What is told of a clause that does nothing."""
    partners = tuple(name for name in take.goes_with if name in takes or name in PLACING_BY_NAME)
    return f"{take.name} does nothing here: it goes with {either(partners)}"


def idle_remedy(take: Take, keys: Collection[str], takes: Mapping[str, Take]) -> str:
    """What to try: another count that was meant, the companion, or nothing."""
    counts = [
        other.name
        for other in takes.values()
        if other.kind is Kind.COUNT
        and other is not PLACING_BY_NAME.get(other.name)
        and other.name not in keys
    ]
    meant = f"say {counts[0]}, " if take.kind is Kind.COUNT and len(counts) == 1 else ""
    partners = [name for name in _seen_by(take, take.goes_with, takes) if name in takes]
    if len(partners) > 1 and not meant:
        return f"leave {take.name} out, or add {either(tuple(partners))}"
    add = f"add {either(tuple(partners))}, " if partners else ""
    return f"{meant}{add}or leave {take.name} out"


def either(names: tuple[str, ...]) -> str:
    """ "along", "line or grid", "line, grid or upon"."""
    *first, last = names
    return f"{', '.join(first)} or {last}" if first else last
