"""A text read as its faults suggest, so that a fault in one line hides nothing that is to be said of others:
each is answered by what it says to write, by the nearest figure or by a name that it allows. Nothing is made
of such a text: what is told of it is told below the faults, with how their lines were read."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from difflib import SequenceMatcher, get_close_matches
from itertools import chain

from ...lang.faults import Fault, Level, Span
from ...lang.parse import parse
from ...lang.source import Source
from ..judging.done import Way, told_anew, ways
from ..judging.remark import LeftOut, Remark
from .more_or_less import answered, by_figures
from .result import Built

MOST_READ, MOST_TRIES = 12, 60  # faults answered, and texts tried for that
CHAIN = 4  # faults of a line, each hidden by the one before
STRICT = 0.02  # of a bound that is not to be met, kept from it
LIKE = 0.6  # how much of two lines is alike, at the least, that are the same
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


@dataclass(frozen=True)
class _Step:
    """Texts in which a fault is answered, what they give, and the faults that came to light, with the texts
    these were found in."""

    texts: Texts
    after: Built
    hidden: tuple[tuple[Fault, Texts], ...] = ()


@dataclass
class Reading:
    """The texts of a piece that was not made, each fault answered by its first way that rights it, or by the
    next (``choice`` 1): ``after`` is what the texts give, ``hidden`` the faults that others had hidden, with
    the texts they were found in; ``doubtful``, whether a fault had more ways than one."""

    built: Built
    trial: Trial
    choice: int = 0
    doubtful: bool = False
    after: Built = field(init=False)
    texts: Texts = field(init=False)
    hidden: list[tuple[Fault, Texts]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.after, self.texts = self.built, self.built.own_texts
        self._came: dict[object, dict[str, str]] = {}
        self._tries = 0
        own, seen = set(map(_gist, self.built.faults)), set[object]()
        while len(seen) < MOST_READ:
            one = next((one for one in halted(self.after.faults) if _spot(one) not in seen), None)
            if one is None:
                break
            seen.add(_spot(one))
            if (step := self._answer(one)) is None:
                continue
            found = ((one, self.texts), *step.hidden)
            self.hidden += [(fault, texts) for fault, texts in found if _gist(fault) not in own]
            self.texts, self.after = step.texts, step.after

    def told(self, faults: Sequence[Fault]) -> list[Fault]:
        """``faults`` with what came of the ways of those answered."""
        return [replace(one, **self._came.get(_spot(one), {})) for one in faults]  # type: ignore[arg-type]

    def _answer(self, one: Fault) -> _Step | None:
        """A fault answered; its first way that rights it is told first, where the remedy names others that
        do not."""
        idle: list[Way] = []
        sound: list[tuple[Way, _Step]] = []
        for way in _ways(one, self.texts):
            if len(sound) > self.choice:
                self.doubtful = True
                break
            after = self._made(way.texts)
            if after is None:
                break
            if step := self._gone_on(one, way.texts, after, CHAIN):
                sound.append((way, step))
            elif way.said and not sound and _gist(one) in map(_gist, self._fresh(one, way.texts, after)):
                idle.append(way)
        remedy = one.remedy or "it is allowed"
        if not sound:
            if any(way.said in remedy for way in idle):
                self._came[_spot(one)] = {"then": STILL}
            return None
        way, step = sound[-1]
        if (idle := [*idle, *answered(one, way)]) and way.said:
            self._came[_spot(one)] = {"remedy": told_anew(remedy, way.said, {}, idle)}
        elif way.said.startswith("write ") and way.said not in remedy:
            self._came[_spot(one)] = {"remedy": f"{way.said}: {remedy}"}
        return step

    def _gone_on(self, one: Fault, texts: Texts, after: Built, left: int) -> _Step | None:
        """Texts in which ``one`` is answered, and in at most ``left`` steps what that brought in its lines;
        None where that is not: then it was amiss."""
        fresh = self._fresh(one, texts, after)
        path = one.span.path if one.span else ""
        was, still = _unread(self.texts, path), _unread(texts, path) & set(map(_gist, fresh))
        if not fresh or (_gist(one) in was and not still):  # a line that can be read may have other faults
            return _Step(texts, after)
        alike, own = [other.span for other in fresh if _gist(other) == _gist(one)], one.span
        gone = own and all(span and span.start > own.end and span.line == own.line for span in alike)
        if not left or not gone or any(code != one.code for code, _ in still):
            return None  # of a line that can be read no better, nobody knows what was meant
        for way in _ways(fresh[0], texts):
            further = self._made(way.texts)
            step = self._gone_on(one, way.texts, further, left - 1) if further else None
            if step is not None:
                return replace(step, hidden=((fresh[0], texts), *step.hidden))
        return None

    def _fresh(self, one: Fault, texts: Texts, after: Built) -> list[Fault]:
        """The faults in the lines that changed that were not there before, as ``one`` should not be."""
        known = Counter(map(_gist, halted(self.after.faults)))
        known[_gist(one)] -= 1
        fresh = []
        for other in halted(after.faults):
            known[_gist(other)] -= 1
            if known[_gist(other)] < 0 and _is_of(other, self.texts, texts):
                fresh.append(other)
        return fresh

    def _made(self, texts: Texts) -> Built | None:
        """What texts give, as long as tries are left."""
        self._tries += 1
        return self.trial(texts) if self._tries <= MOST_TRIES else None


def as_read(built: Built, trial: Trial, rest: Rest, judged: Callable[[Built], Built]) -> Built:
    """``built``, which was not made, with what is to be told of its text once that is read as its faults
    suggest: ``rest`` gives what is left of a text without the lines that nothing rights, ``judged`` a whole
    one with its remedies tried."""
    reading, old = Reading(built, trial), built.own_texts
    new = reading.texts
    if new == old:
        left = rest(old)
        return replace(left, faults=tuple(reading.told(left.faults))) if halted(left.faults) else built
    found = _found(reading, rest, judged)
    if reading.doubtful and any(isinstance(one, Remark) for one in found):
        other = Reading(built, trial, choice=1)
        known = set(map(_gist, _found(other, rest, lambda one: one)))
        found = [one for one in found if isinstance(one, LeftOut) or _gist(one) in known]
    own = reading.told([one for one in built.faults if not isinstance(one, Remark | LeftOut)])
    if halted(reading.after.faults) and not found and not reading.hidden:
        return replace(built, faults=tuple(own))
    back = [_back(one, old, texts) for one, texts in (*reading.hidden, *((one, new) for one in found))]
    return replace(built, faults=(*own, _how_read(old, new, back), *back))


def _found(reading: Reading, rest: Rest, judged: Callable[[Built], Built]) -> list[Fault]:
    """What is told of a text as it was read, besides the faults it had, and hints."""
    known = {_gist(one) for one in reading.built.faults if not isinstance(one, Remark)}
    after = rest(reading.texts) if halted(reading.after.faults) else judged(reading.after)
    return [
        one for one in after.faults
        if isinstance(one, LeftOut) or (one.level is not Level.HINT and _gist(one) not in known)
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
    for way in chain(() if names else ways(one, texts), plain, () if names else by_figures(one, texts)):
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


def _unread(texts: Texts, path: str) -> set[tuple[str, str]]:
    """What cannot be read in a text."""
    return set(map(_gist, parse(texts[path], path)[1])) if path in texts else set()


def _gist(one: Fault) -> tuple[str, str]:
    """What a fault says, wherever its lines stand."""
    return one.code, one.message


def _is_of(one: Fault, old: Texts, new: Texts) -> bool:
    """Whether a fault is in lines of a text that changed, or of no place."""
    span = one.trail[0] if one.trail else one.span
    if span is None or span.path not in new:
        return True
    text = new[span.path]
    start, stop = _changed(old[span.path], text)
    start, stop = text.rfind("\n", 0, start) + 1, text.find("\n", len(text) - stop) % (len(text) + 1)
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
        lines = old[path].splitlines()
        for k in range(1, len(after.starts) + 1):
            line = after.line(k)
            was = _row_of(lines, k - 1, line)
            if line != before.line(k):
                spans.append(before.span(before.starts[k - 1], before.ends[k - 1]))
            if line != lines[was]:
                clauses = _clauses(lines[was], line)
                read = f"as '{clauses}'" if clauses else "without it"
                said.append(f"line {was + 1} read {read}")
            if was + 1 > k:
                said.append(f"line {was + 1} put above")
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
        changes["edit"] = replace(one.edit, head=placed(one.edit.head) or one.edit.head)
    return replace(one, **changes)  # type: ignore[arg-type]


def _row_of(lines: Sequence[str], row: int, line: str) -> int:
    """Which of the ``lines`` of the old text a line is, the one at ``row`` of the new text."""
    if lines[row] == line or SequenceMatcher(None, lines[row], line).ratio() > LIKE:
        return row
    return next((lines.index(one) for one in get_close_matches(line, lines, 1, LIKE)), row)


def _column(before: Source, after: Source, offset: int, end: int) -> int:
    """The place in the old text of a place in the new one: in its line, where that is alike, else at what
    changed there."""
    row = after.row(offset)
    new, column = after.line(row + 1), offset - after.starts[row]
    row = _row_of(before.text.splitlines(), row, new)
    old = before.line(row + 1)
    for kind, first, last, start, stop in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if start + end <= column < stop + end:
            column = first + column - start if kind == "equal" else last if end else first
            break
    return before.starts[row] + min(max(column, 0), len(old))
