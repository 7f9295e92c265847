"""What may be written at a place: words, clauses, places, names, gems and metals, from the records."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from ...lang import tree
from ...lang.functions import FUNCTIONS
from ...lang.placing import PLACING_BY_NAME
from ...lang.words import ADDED, CHOOSING, Kind, Take
from ...stdlib.alloys import ALLOYS
from ..bench.roles import SAID
from ..bench.sides import SIDES
from ..pages.word_text import offered
from ..rules import rule_names
from ..words.standard import FILED
from . import place as here
from .look import Look, takes_of
from .place import Place, place_at
from .scopes import FEATURE, MEASURE, TURN, Binding

WORD, CLAUSE, CHOICE, NAME, ASKED, FILE = "word", "clause", "choice", "name", "asked", "file"
_BLOCK_LINES = {
    "piece": "the title of the piece", "measure": "a figure with a name",
    "workpiece": "lines built by themselves", "casting": "lines cast by themselves",
    "each": "lines once per turn", "when": "lines when a test holds", "otherwise": "lines when it does not",
    "word": "teaches a word", "from": "takes words of another file", "expect": "a fault when a test fails",
    "waive": "sets a remark aside", "series": "a range to make in one go",
}  # fmt: skip
_IN_WORD = {
    "takes": "a clause of the word", "help": "what the word is", "example": "a line that uses it",
    "serves": "what its metal is for",
}  # fmt: skip
_OTHER = {
    "metal": "what it is made of", "note": "what is to be remembered", "from": "its range",
    "help": "what it is", "else": "what is wrong then", "try": "what to do then",
    "default": "what holds without it", "choices": "what it may be", "needed": "it must be given",
    "with": "means something only beside one of these", "not-with": "cannot stand beside these",
}  # fmt: skip
_FIGURES = frozenset((
    Kind.LENGTH, Kind.ANGLE, Kind.MASS, Kind.COUNT, Kind.NUMBER, Kind.PERCENT, Kind.SIZE, Kind.STONE_SIZE,
    Kind.LENGTHS, Kind.COUNTS, Kind.POINTS, Kind.ANY, Kind.TEXT,
))  # fmt: skip


@dataclass(frozen=True)
class Offer:
    """What may be written: ``text`` in place of what is typed; ``rank``: in which order one looks for it."""

    text: str
    kind: str
    about: str
    rank: int = 5


@dataclass(frozen=True)
class Offers:
    """What may stand from ``start`` on."""

    start: int
    offers: tuple[Offer, ...]


def offers_at(look: Look, offset: int, text: str | None = None) -> Offers:
    """What may be written at ``offset`` of ``text``, of which ``look`` may know the last version but one."""
    place = place_at(look.text if text is None else text, offset)
    found = dict.fromkeys(_offers(look, place))
    return Offers(place.start, tuple(found))


def _offers(look: Look, place: Place) -> Iterator[Offer]:
    match place.kind:
        case here.LINE:
            yield from _lines(look, place)
        case here.CLAUSE:
            for take, rank in _taken_by(look, place.word):
                if take.name not in place.given:
                    yield Offer(take.name, CLAUSE, take.help, rank)
        case here.VALUE:
            yield from _values(look, place)
        case here.ASKED:
            yield from (Offer(one.name.name, NAME, _about(one)) for one in _things(look, place))
        case here.KIND:
            yield from (Offer(kind.value.replace(" ", "-"), CHOICE, "") for kind in Kind)
        case here.RULE:
            yield from (Offer(name, CHOICE, "") for name in rule_names())
        case here.ROLE:
            yield from (Offer(str(role.value), CHOICE, "") for role in SAID)
        case here.FILE:
            yield from (Offer(name, FILE, "") for name in look.files.beside(look.path))
        case here.TAKEN:
            yield from _taken(look, place)


def _lines(look: Look, place: Place) -> Iterator[Offer]:
    for name, about in (_BLOCK_LINES | (_IN_WORD if place.indent else {})).items():
        yield Offer(name, WORD, about, 4)
    for name in look.words:
        word = look.word(name)
        if word is not None and name not in _BLOCK_LINES:
            yield Offer(name, WORD, word.help, 3 if name in FILED else 2)


def _taken_by(look: Look, name: str) -> Iterator[tuple[Take, int]]:
    """The clauses a line that begins with ``name`` takes, what is needed first."""
    if name in here.OTHER_CLAUSES:
        for key in here.OTHER_CLAUSES[name]:
            yield Take(key, Kind.ANY, _OTHER[key]), 1
        return
    word = look.word(name)
    if word is None:
        return
    needed = {key for group in word.one_of for key in group}
    for key, take in takes_of(word).items():
        rank = 3 if take is PLACING_BY_NAME.get(key) else 1 if take.needed or key in needed else 2
        yield take, rank


def _values(look: Look, place: Place) -> Iterator[Offer]:
    """What a clause may be told, or what may stand in a figure."""
    take = _take(look, place)
    if place.key == "metal":
        yield from (Offer(row.name, CHOICE, row.title, 2) for row in ALLOYS.values())
        return
    if take is not None and take.kind in CHOOSING:
        yield from (Offer(name, CHOICE, _choice_about(take, name), 2) for name in take.choices)
    if take is None or take.kind in ADDED:
        yield from _asked(look, place, take)
    if take is None or take.kind in _FIGURES or take.kind in CHOOSING:
        for one in look.scopes.in_sight(place.start, place.indent):
            if one.kind in (MEASURE, TURN) or "clause" in one.kind:
                yield Offer(one.name.name, NAME, _about(one), 1)
    if take is None or take.kind in _FIGURES:
        yield from (Offer(name, ASKED, one.help, 6) for name, one in FUNCTIONS.items())


def _take(look: Look, place: Place) -> Take | None:
    word = look.word(place.word)
    return takes_of(word).get(place.key) if word is not None and place.key else None


def _asked(look: Look, place: Place, take: Take | None) -> Iterator[Offer]:
    """Features, and what they can be asked for."""
    for number, one in enumerate(reversed(_things(look, place))):
        yield Offer(one.name.name, NAME, _about(one), 1 if number < 8 else 3)
        if take is not None and take.kind not in (Kind.PLACES, Kind.PATH):
            continue
        for asked, about in _offered(look, one):
            yield Offer(f"{asked} of {one.name.name}", ASKED, about, 2 if number < 8 else 4)


def _offered(look: Look, one: Binding) -> Iterable[tuple[str, str]]:
    """What a feature offers: what its word lists, and the sides of all that is of metal."""
    if isinstance(one.line, tree.Group):
        return SIDES.items()
    word = look.word(one.line.word.name) if isinstance(one.line, tree.Feature) else None
    if word is None:
        return ()
    return {**offered(word), **(SIDES if word.stands else {})}.items()


def _things(look: Look, place: Place) -> list[Binding]:
    """Features in sight, in the order of the text."""
    return [one for one in look.scopes.in_sight(place.start, place.indent) if one.kind in (FEATURE, TURN)]


def _about(one: Binding) -> str:
    if one.kind == FEATURE:
        word = one.line.word
        return f"{word if isinstance(word, str) else word.name}, line {one.name.span.line}"
    if one.kind == MEASURE:
        return f"measure, line {one.name.span.line}"
    return one.kind


def _choice_about(take: Take, name: str) -> str:
    """What a gem is called in full; nothing of other choices."""
    from ...stdlib.gems import GEMS

    row = GEMS.get(name) if take.name == "gem" else None
    return row.title if row else ""


def _taken(look: Look, place: Place) -> Iterator[Offer]:
    """The words of the file that the line takes from."""
    line = look.line_at(place.start - 1)
    names = line.file.text if isinstance(line, tree.TakeFrom) else ""
    for path, file in look.program.trees.items():
        if names and path.endswith(names):
            for one in file.lines:
                if isinstance(one, tree.WordBlock):
                    yield Offer(one.name.name, WORD, "")
