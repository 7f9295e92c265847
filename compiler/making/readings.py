"""A text read as its faults suggest, so that a fault in one line hides nothing that is to be said of others:
each is answered by what it says to write, by the nearest figure or by a name that it allows. Nothing is made
of such a text: what is told of it is told below the faults, with how their lines were read."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from ...lang.faults import Fault, Level, Span
from ...lang.source import Source
from ..judging.done import Way, told_anew, ways
from ..judging.remark import LeftOut, Remark
from .result import Built

MOST_READ = 12  # faults answered
STRICT = 0.02  # of a bound that is not to be met, kept from it
FAR = 2.0  # times a figure that another is that is taken for it
STILL = "tried, it is not enough"
_FIGURE = re.compile(r"(-?\d[\d.]*) ?(mm|deg|%|g|ct)?(?![\w.])")
_STRICTLY = re.compile(r"under|over|less than|more than")
_OFFER = re.compile(r"(?:write|did you mean|like it are|there are) ((?:[a-z][\w-]*(?:, | or ))+[a-z][\w-]*)")
_CLAUSE = re.compile(r"[,:]\s*(?![^()]*\))")

Texts = Mapping[str, str]
Trial = Callable[[Texts], Built | None]
Rest = Callable[[Texts], Built]


def halted(faults: Sequence[Fault]) -> list[Fault]:
    """The faults that kept a piece from being made, so that its rules were not asked."""
    return [one for one in faults if one.level is Level.FAULT and not isinstance(one, Remark)]


@dataclass
class Reading:
    """The texts of a piece that was not made, each fault answered by its first way that rights it, or by the
    next (``choice`` 1): ``after`` is what the texts give, ``later`` the faults that others had hidden, with
    the texts they were found in; ``doubtful``, whether a fault had more ways than one."""

    built: Built
    trial: Trial
    choice: int = 0
    doubtful: bool = False
    after: Built = field(init=False)
    texts: Texts = field(init=False)

    def __post_init__(self) -> None:
        self.after, self.texts = self.built, self.built.own_texts
        self._told: dict[object, Fault] = {}
        self.later: list[tuple[Fault, Texts]] = []
        while len(self._told) < MOST_READ:
            one = next((one for one in halted(self.after.faults) if _spot(one) not in self._told), None)
            if one is None:
                break
            was = self.texts
            self._answer(one)
            if self.texts != was and _spot(one) not in set(map(_spot, self.built.faults)):
                self.later.append((self._told[_spot(one)], was))

    def told(self, faults: Sequence[Fault]) -> list[Fault]:
        """``faults`` with what came of the ways of those answered."""
        return [self._told.get(_spot(one), one) for one in faults]

    def _answer(self, one: Fault) -> None:
        """A fault answered, its first way that rights it told first; as it is, where that is so."""
        known, self._told[_spot(one)] = {_spot(other) for other in halted(self.after.faults)}, one
        idle: list[Way] = []
        sound: list[tuple[Way, Built]] = []
        found = None
        for way in _ways(one, self.texts):
            if len(sound) > self.choice:
                self.doubtful = True
                break
            after = self.trial(way.texts)
            if after is None:
                break
            stopped = [other for other in halted(after.faults) if _spot(other) not in known - {_spot(one)}]
            if not any(_is_of(other, one, self.texts, way.texts) for other in stopped):
                sound.append((way, after))
            elif way.said and not sound:
                if all(other.code != one.code for other in stopped):
                    continue  # it may have been read amiss
                idle.append(way)
                found = found or STILL
        if sound:
            way, self.after = sound[-1]
            self.texts = way.texts
            if idle and way.said:
                self._told[_spot(one)] = replace(one, remedy=told_anew(one.remedy or "", way.said, {}, idle))
            elif way.said.startswith("write ") and way.said not in (one.remedy or ""):
                self._told[_spot(one)] = replace(one, remedy=f"{way.said}: {one.remedy or 'it is allowed'}")
        elif idle:
            self._told[_spot(one)] = replace(one, then=found)


def as_read(built: Built, trial: Trial, rest: Rest, judged: Callable[[Built], Built]) -> Built:
    """``built``, which was not made, with what is to be told of its text once that is read as its faults
    suggest: ``rest`` gives what is left of a text without the lines that nothing rights, ``judged`` a whole
    one with its remedies tried."""
    reading, old = Reading(built, trial), built.own_texts
    new = reading.texts
    if new == old:
        return replace(rest(old), faults=tuple(reading.told(rest(old).faults)))
    found = _found(reading, rest, judged)
    if reading.doubtful and any(isinstance(one, Remark) for one in found):
        other = Reading(built, trial, choice=1)
        known = {(one.code, one.message) for one in _found(other, rest, lambda one: one)}
        found = [one for one in found if isinstance(one, LeftOut) or (one.code, one.message) in known]
    own = [one for one in built.faults if not isinstance(one, Remark | LeftOut)]
    back = [_back(one, old, texts) for one, texts in (*reading.later, *((one, new) for one in found))]
    return replace(built, faults=(*reading.told(own), _how_read(old, new, back), *back))


def _found(reading: Reading, rest: Rest, judged: Callable[[Built], Built]) -> list[Fault]:
    """What is told of a text as it was read, besides the faults it had, and hints."""
    known = set(map(_spot, reading.built.faults))
    after = rest(reading.texts) if halted(reading.after.faults) else judged(reading.after)
    return [
        one for one in after.faults
        if isinstance(one, LeftOut) or (one.level is not Level.HINT and _spot(one) not in known)
    ]  # fmt: skip


def _ways(one: Fault, texts: Texts) -> Iterator[Way]:
    """Each way to answer a fault: what its remedy says to write, a name it offers, the nearest figure."""
    span, seen = one.span, set()
    if span is None or span.path not in texts:
        return
    text = texts[span.path]
    offered = _OFFER.match(one.remedy or "")
    names = re.split(", | or ", offered[1]) if offered else []
    figure = _nearest(text[span.start : span.end], one.limit or "")
    plain = (
        Way(f"write {new}" * (not names), {**texts, span.path: text[: span.start] + new + text[span.end :]})
        for new in names or filter(None, [figure])
    )
    for way in (*(() if names else ways(one, texts)), *plain):
        new = way.texts[span.path]
        if new not in seen and len(Source(new, "").starts) == len(Source(text, "").starts):
            seen.add(new)
            yield way


def _nearest(marked: str, limit: str) -> str | None:
    """The figure nearest to the one that is marked of those that a limit allows; None where it says none."""
    now = _FIGURE.fullmatch(marked.strip())
    bounds = [float(one[1]) for one in _FIGURE.finditer(limit) if now and one[2] in (now[2], None)]
    if now is None or not bounds or (now[2] or "") not in limit:
        return None
    said = float(now[1])
    near = min(bounds, key=lambda bound: abs(bound - said))
    if _STRICTLY.search(limit):
        near += max(STRICT * abs(near), 0.01) * (1 if near > said else -1)
    return f"{round(near, 3):g} {now[2] or ''}".rstrip() if said / FAR <= near <= said * FAR else None


def _spot(one: Fault) -> tuple[object, ...]:
    """What tells a fault of a text from others, while its lines stay."""
    return one.code, one.message, one.span and one.span.line


def _is_of(one: Fault, cured: Fault, old: Texts, new: Texts) -> bool:
    """Whether a fault comes of what was written for another: it is in the lines that changed, and no further
    slip of the same kind; or it is of no place."""
    span = one.trail[0] if one.trail else one.span
    if span is None or span.path not in new:
        return True
    text = new[span.path]
    start, stop = _changed(old[span.path], text)
    stop = len(text) - stop
    if one.code != cured.code:
        start, stop = text.rfind("\n", 0, start) + 1, text.find("\n", stop) % (len(text) + 1)
    return text != old[span.path] and span.start <= stop and start <= span.end


def _changed(old: str, new: str) -> tuple[int, int]:
    """How many characters are as they were before all that changed, and how many after that."""
    start = _alike(old, new)
    return start, _alike(old[start:][::-1], new[start:][::-1])


def _alike(one: str, other: str) -> int:
    """How many characters two texts begin with alike."""
    pairs = enumerate(zip(one, other, strict=False))
    return next((k for k, (a, b) in pairs if a != b), min(len(one), len(other)))


def _how_read(old: Texts, new: Texts, found: Sequence[Fault]) -> LeftOut:
    """How the lines of a text were read."""
    said, spans = [], []
    for path, text in new.items():
        before, after = Source(old[path], path), Source(text, path)
        for k, (start, end) in enumerate(zip(before.starts, before.ends, strict=True), 1):
            line = after.line(k)
            if line != before.line(k):
                spans.append(before.span(start, end))
                said.append(f"line {k} read as '{_clauses(before.line(k), line)}'")
    how = f"with {', '.join(said)}"
    told = " ".join((f"the rest is told {how}" if found else f"{how}, nothing more is found").split())
    return LeftOut("lines-left-out", told, spans[0], Level.HINT, remedy="mend the faults, so or otherwise")


def _clauses(old: str, new: str) -> str:
    """The clauses of a line that changed."""
    start, stop = _changed(old, new)
    marks = [0, *(found.end() for found in _CLAUSE.finditer(new)), len(new)]
    first = max(mark for mark in marks[:-1] if mark <= start)
    last = min(mark for mark in marks[1:] if mark >= len(new) - stop)
    return new[first:last].strip(" ,:")


def _back(one: Fault, old: Texts, new: Texts) -> Fault:
    """A fault told of new texts at its place in the old ones."""

    def placed(span: Span | None) -> Span | None:
        if span is None or span.path not in new or old[span.path] == new[span.path]:
            return span
        before, after = Source(old[span.path], span.path), Source(new[span.path], span.path)
        ends = [_column(before, after, offset, k) for k, offset in enumerate((span.start, span.end))]
        return before.span(*ends)

    changes: dict[str, object] = {"span": placed(one.span), "trail": tuple(map(placed, one.trail))}
    changes["also"] = tuple((placed(span), said) for span, said in one.also)
    if isinstance(one, Remark) and one.edit is not None:
        changes["edit"] = replace(one.edit, head=placed(one.edit.head))
    return replace(one, **changes)  # type: ignore[arg-type]


def _column(before: Source, after: Source, offset: int, end: int) -> int:
    """The place in the old text of a place in the new one: in its line, past what changed or at it."""
    row = after.row(offset)
    old, new = before.line(row + 1), after.line(row + 1)
    column = offset - after.starts[row]
    start, stop = _changed(old, new)
    if column >= len(new) - stop and (end or column > start):
        column += len(old) - len(new)
    elif column > start:
        column = len(old) - stop if end else start
    return before.starts[row] + min(max(column, 0), len(old))
