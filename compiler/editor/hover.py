"""What is told of what stands at a place: a word with its picture, a clause, a name, a figure come to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any

from ...lang import tree
from ...lang.bench import Argument
from ...lang.functions import FUNCTIONS
from ...lang.shown import digits
from ...lang.words import Kind, Take, Word
from ..files.digits import measure, plain
from ..pages.word_text import how_written
from ..rules import all_rules
from .look import Look, takes_of
from .scopes import FEATURE, MEASURE, Binding

_MOST = 6  # figures told of a clause that is worked several times
_UNITS = {
    Kind.LENGTH: "mm", Kind.SIZE: "mm", Kind.LENGTHS: "mm", Kind.STONE_SIZE: "mm", Kind.POINTS: "mm",
    Kind.ANGLE: "deg", Kind.MASS: "g",
}  # fmt: skip


@dataclass(frozen=True)
class Told:
    """Markdown about the characters from ``start`` to ``end``."""

    start: int
    end: int
    text: str


def told_at(look: Look, offset: int) -> Told | None:
    """What there is to tell of what stands at ``offset``."""
    line = look.line_at(offset)
    if line is None:
        return None
    if isinstance(line, tree.Feature) and _covers(line.word, offset):
        word = look.word(line.word.name)
        return None if word is None else _told(line.word, word_text(word))
    if isinstance(line, tree.Waive) and _covers(line.rule, offset):
        rule = all_rules().get(line.rule.name)
        return None if rule is None else _told(line.rule, f"**{rule.name}** — {rule.title}\n\n{rule.why}")
    for clause in getattr(line, "clauses", ()):
        if _covers(clause.key, offset):
            return _clause(look, line, clause)
    binding = look.scopes.at(offset)
    if binding is not None:
        place = next(one for one in binding.places() if _covers(one, offset))
        return _told(place, _name(look, binding))
    return _value(look, line, offset)


def word_text(word: Word) -> str:
    """A word as Markdown: what it is, its picture, its clauses."""
    parts = [f"**{word.name}** — {word.help}"]
    picture = picture_of(word.name)
    if picture is not None:
        parts.append(f"![{word.name}]({picture.as_uri()})")
    if word.example:
        parts.append(f"```posy\n{word.example.strip()}\n```")
    rows = [f"- `{take.name}` {take.help} ({how_written(take, word)})" for take in word.takes]
    return "\n\n".join([*parts, "\n".join(rows)]).strip()


def picture_of(name: str) -> Path | None:
    """The drawing of a word in the reference, where posy lies as files."""
    place = Path(str(files("posy.stdlib").joinpath(f"reference/{name}.svg")))
    return place if place.is_file() else None


def _covers(name: tree.Name, offset: int) -> bool:
    return name.span.start <= offset <= name.span.end


def _told(node: Any, text: str) -> Told:
    return Told(node.span.start, node.span.end, text)


def _clause(look: Look, line: Any, clause: tree.Clause) -> Told | None:
    name = line.word.name if isinstance(line, tree.Feature) else getattr(line, "word", "")
    word = look.word(name) if isinstance(name, str) else None
    take = takes_of(word).get(clause.key.name) if word is not None else None
    if word is None or take is None:
        return None
    text = f"**{take.name}** — {take.help} ({how_written(take, word)})"
    came = _came_to(take, look.figures(clause.value.span)) if clause.value is not None else ""
    return _told(clause.key, f"{text}\n\n{came}" if came else text)


def _value(look: Look, line: Any, offset: int) -> Told | None:
    """A figure in a clause: what it came to."""
    for clause in getattr(line, "clauses", ()):
        value = clause.value
        if value is not None and value.span.start <= offset <= value.span.end:
            function = _function(value, offset)
            if function is not None:
                about = FUNCTIONS[function.name]
                return _told(function, f"**{about.name}** — {about.help}, as in `{about.example}`")
            word = look.word(line.word.name) if isinstance(line, tree.Feature) else None
            take = takes_of(word).get(clause.key.name) if word is not None else None
            came = _came_to(take, look.figures(value.span))
            return _told(value, came) if came else None
    return None


def _function(value: tree.Expression, offset: int) -> tree.Name | None:
    """The function of an expression whose name stands at ``offset``."""
    called = (one.function for one in tree.within(value) if isinstance(one, tree.Invoke))
    return next((one for one in called if one.name in FUNCTIONS and _covers(one, offset)), None)


def _came_to(take: Take | None, found: Sequence[Argument]) -> str:
    """The figures a clause came to, in each of the times it was worked."""
    told = dict.fromkeys(filter(None, (_shown(one.value, take) for one in found)))
    few = list(told)[:_MOST]
    more = f" and {len(told) - _MOST} more" if len(told) > _MOST else ""
    return f"comes to {', '.join(few)}{more}" if few else ""


def _shown(value: Any, take: Take | None) -> str:
    """A checked value as a person reads it; "" for what is no figure."""
    kind = take.kind if take is not None else Kind.NUMBER
    unit = _UNITS.get(kind, "")
    if kind is Kind.PERCENT and isinstance(value, float):
        return f"{digits(value * 100, 1)} %"
    if isinstance(value, bool) or value is None:
        return ""
    if isinstance(value, int | float):
        return f"{plain(value)} {unit}".rstrip()
    if isinstance(value, str):
        return value
    if isinstance(value, Iterable):
        parts = [one for one in value if isinstance(one, int | float)]
        if len(parts) == len(list(value)):
            joint = " to " if kind is Kind.LENGTHS else " x "
            return f"{joint.join(plain(one) for one in parts)} {unit}".rstrip()
    return ""


def _name(look: Look, binding: Binding) -> str:
    """A name of the text's own: what it stands for."""
    name = binding.name.name
    if binding.kind == MEASURE:
        known = look.checked.measures.get(name)
        figure = "" if known is None else f" = {measure(*known)}"
        return f"**{name}**{figure} — {_help(binding.line) or 'a measure'}"
    if binding.kind == FEATURE and isinstance(binding.line, tree.Feature):
        word = look.word(binding.line.word.name)
        return f"**{name}** — {binding.line.word.name}: {word.help if word else ''}"
    if isinstance(binding.line, tree.Takes):
        return f"**{name}** — {_help(binding.line) or 'a clause of this word'}"
    if isinstance(binding.line, tree.WordBlock | tree.TakeFrom):
        own = look.word(name)
        return word_text(own) if own is not None else f"**{name}**"
    return f"**{name}** — {binding.kind}"


def _help(line: Any) -> str:
    texts = (c.value for c in line.clauses if c.key.name == "help" and isinstance(c.value, tree.Quoted))
    return next((text.text for text in texts), "")
