"""Records of words written in posy: from a ``word`` block to a ``Word`` like a core word's."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from . import tree
from .bounds import MEASURED
from .expressions import reckoner
from .faults import Fault
from .ranges import read_range
from .scope import Scope
from .suggest import did_you_mean
from .words import Kind, Take, Word

# What `takes key: kind` may say. A stone size is one word here.
KINDS = {kind.value.replace(" ", "-"): kind for kind in Kind}
# What people call some of them.
_SAID_KINDS = {
    "line": "path", "curve": "path", "feature": "part", "body": "part", "share": "percent",
    "string": "text", "weight": "mass", "place": "places", "stone": "stones", "switch": "flag",
}  # fmt: skip


def record(block: tree.WordBlock, group: str, text: str) -> tuple[Word, list[Fault]]:
    """The record of the word ``block`` teaches; ``text`` is the text it stands in.

    ``group`` files it in the reference. Its offers are the named parts it makes."""
    faults: list[Fault] = []
    helps = [line for line in block.lines if isinstance(line, tree.Help)]
    takes = tuple(_take(line, text, faults) for line in block.takes)
    parts = {
        line.name.name: f"the part called {line.name.name}"
        for line in block.lines
        if isinstance(line, tree.Feature | tree.Group) and line.name is not None
    }
    return Word(
        name=block.name.name, help=" ".join(line.text.text for line in helps if line.word == "help"),
        group=group, takes=takes,
        example="\n".join(line.text.text for line in helps if line.word == "example"),
        offers=MappingProxyType(parts), body=block,
        roles=frozenset(role.name for line in block.serves for role in line.roles),
    ), faults


def _kind_meant(said: str) -> str:
    """What to write in the place of a kind there is not."""
    if said.casefold() in _SAID_KINDS:
        return f"write {_SAID_KINDS[said.casefold()]}"
    return did_you_mean(said, KINDS) or "one of " + ", ".join(KINDS)


def _take(line: tree.Takes, text: str, faults: list[Fault]) -> Take:
    """The record of one key; what is wrong with its line goes to ``faults``."""
    kind = KINDS.get(line.kind.name)
    if kind is None:
        faults.append(
            Fault(
                "unknown-kind", f"there is no kind '{line.kind.name}'", line.kind.span,
                remedy=_kind_meant(line.kind.name),
            )
        )
    take = Take(line.name.name, kind or Kind.ANY)
    for clause in line.clauses:
        take = _with_clause(take, clause, text, faults)
    return take


def _with_clause(take: Take, clause: tree.Clause, text: str, faults: list[Fault]) -> Take:
    """``take`` with what one clause of its line adds."""
    value = clause.value
    match clause.key.name:
        case "help" if isinstance(value, tree.Quoted):
            return replace(take, help=value.text)
        case "needed":
            return replace(take, needed=True)
        case "default" if value is not None:
            return replace(take, default=text[value.span.start : value.span.end])
        case "choices" if value is not None:
            return replace(take, choices=_names(value, _CHOICES, faults))
        case "with" if value is not None:
            return replace(take, goes_with=_names(value, _COMPANIONS, faults))
        case "not-with" if value is not None:
            return replace(take, not_with=_names(value, _COMPANIONS, faults))
        case "from" if value is not None:
            return _bounded(take, clause, faults)
    return take


_CHOICES = "choices are texts or names joined by to", 'as in: choices "round" to "flat"'
_COMPANIONS = "clauses are named, joined by to", "as in: with along to circle"


def _names(value: tree.Expression, slip: tuple[str, str], faults: list[Fault]) -> tuple[str, ...]:
    """Texts or names joined by `to`; for what is neither, the message and remedy ``slip``."""
    members = value.members if isinstance(value, tree.Run) else (value,)
    names = []
    for member in members:
        if isinstance(member, tree.Quoted):
            names.append(member.text)
        elif isinstance(member, tree.Name):
            names.append(member.name)
        else:
            faults.append(Fault("wrong-kind", slip[0], member.span, remedy=slip[1]))
    return tuple(names)


def _bounded(take: Take, clause: tree.Clause, faults: list[Fault]) -> Take:
    before = len(faults)
    bounds = read_range(clause, reckoner(None, frozenset(), faults.append), Scope())
    if bounds is None:
        if len(faults) == before and clause.value is not None:
            faults.append(
                Fault(
                    "range-shape", "the range of a key is made of plain figures", clause.value.span,
                    remedy="as in: from 0.3 mm to 2 mm; test the rest with expect",
                )
            )
        return take
    wanted = MEASURED.get(take.kind)
    if wanted != (bounds.most.dimension, bounds.most.share):
        faults.append(
            Fault(
                "dimension", f"the range does not fit the kind of {take.name}", clause.span,
                seen=bounds.shown(), limit=take.kind.value,
            )
        )
        return take
    return replace(take, least=bounds.least.value, most=bounds.most.value)


def default_of(block: tree.WordBlock, key: str) -> tree.Expression | None:
    """The expression of the default of ``key``, if its line gives one."""
    for line in block.takes:
        if line.name.name == key:
            for clause in line.clauses:
                if clause.key.name == "default":
                    return clause.value
    return None
