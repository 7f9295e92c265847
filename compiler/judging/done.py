"""What a remark says to do, done in the text: each way it names, as somebody who reads it would write it.

Remedies are sentences of a few forms: ``write KEY VALUE``, ``say 'KEY VALUE'`` or ``add 'KEY VALUE'`` (``in
the line of NAME``), ``write WORD in place of WORD in the line of NAME``, ``move NAME 0.20 mm right and
0.10 mm up``, ``raise``, ``lower``, ``sink`` or ``let down`` by a figure, ``make NAME 0.80 mm thick``,
``write`` a line ``below both lines``, ``and take NAME out``, ``put the line of NAME below that of NAME`` or
``in a casting of its own``, ``write the line of NAME once more, with 'FLAG', in a casting of its own``, ``in
the lines of NAME and NAME`` what is written or left out in each, or so ``in both halves``; what is done
together is joined by ``; then``, between ways stands ``or``. What is said otherwise is left to the reader. A
fault of the text itself is followed to the letter (``lang.follow``)."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from ...lang.faults import Fault
from ...lang.follow import by_number, followed
from .mend import with_edits
from .remark import Remark
from .said_clauses import FIGURE, IN_BOTH, LEFT_OUT, MOVED, ON, OR, THEN, TURNED, Clauses

TAKEN = re.compile(r"\band take ([a-z][\w.-]*) out\b")
MARKED = re.compile(rf"^(?:write|make it|take wire of) ({FIGURE})")
BLOCK = r"(?: in the block of ([\w.-]+))?"
WHOLE = re.compile(rf"write:? ([a-z-]+ ?[\w-]*: .+?), below (?:both|all these) lines{BLOCK}")
ORDER = re.compile(r"\bput the line of ([\w.-]+) below that of ([\w.-]+)")
WORD = re.compile(r"\bwrite ([a-z-]+) in place of ([a-z-]+) in the line of ([a-z][\w.-]*)")
AGAIN = re.compile(
    r"(?:write|put) the line of ([\w.-]+)(?: once more, (with|without) '([a-z-]+)',)? in a casting of its own"
)
OF_LAST = re.compile(r"(?:where|what) ")
GUESSED = re.compile(r"\b(?:if|meant|as in|as with|where it)\b")


@dataclass(frozen=True)
class Way:
    """One way out that a remedy names: its words, and the texts by path once it is gone."""

    said: str
    texts: Mapping[str, str]


def ways(one: Fault, texts: Mapping[str, str]) -> Iterator[Way]:
    """The ways that the remedy of a remark names and that can be written, in its order; ``texts`` are the
    user's own by path."""
    span, remedy = one.span, one.remedy or ""
    if span is None or span.path not in texts:
        return
    text, path = texts[span.path], span.path
    for number, said in enumerate(OR.split(remedy)):
        new = None if GUESSED.search(said) else _new_text(one, said, text, first=not number)
        if new is not None and new != text:
            yield Way(said, {**texts, path: new})


def told_anew(remedy: str, cure: str, texts: Mapping[str, str], idle: Sequence[Way]) -> str:
    """A remedy with what cures first, without the ways that are none, those that say the same, and what was
    said of them alone."""
    gone = {way.said for way in idle} | {way.said for way in idle if way.texts == texts}
    rest, last = [], True
    for said in OR.split(remedy):
        last = last if OF_LAST.match(said) else said not in gone and said != cure
        rest += [said] if last else []
    return "; or ".join([cure, *rest])


def for_all(remedy: str, each: Mapping[str, str]) -> str:
    """A remedy of several lines, each way gone in all that it changes; ``each`` has the own one by name."""
    said = []
    for k, way in enumerate(OR.split(remedy)):
        named = ((name, OR.split(told)[k:][:1]) for name, told in each.items())
        own = {name: one for name, ones in named for one in ones if name in re.findall(r"[\w.-]+", one)}
        first = next(iter(own), "")
        alike = len(own) == 2 and len({one.replace(name, "") for name, one in own.items()}) == 1
        if alike and MOVED.match(way):
            said.append(own[first].replace(first, " and ".join(own), 1))
        else:
            said.append("; then ".join(own.values()) if len(own) > 1 else way)
    return "; or ".join(said)


def done(text: str, one: Fault) -> str | None:
    """``text``, a piece in one file, with the first way of a remedy gone; None where none can be written."""
    path = one.span.path if one.span is not None else ""
    return next((way.texts[path] for way in ways(one, {path: text})), None)


def _new_text(one: Fault, said: str, text: str, first: bool) -> str | None:
    assert one.span is not None
    if not isinstance(one, Remark):
        both = IN_BOTH.search(said) or TURNED.search(said)
        new = followed(text, one) if first and not both else None
        other = ON.search(said) or LEFT_OUT.search(said) or " the line of " in said
        if new is not None or not (both or other):
            return new
    elif first and one.edit is not None and not THEN.search(said) and one.edit.head.path == one.span.path:
        return with_edits(text, one.span.path, [one.edit])
    if (numbered := by_number(text, said)) is not None:
        return numbered
    if found := WHOLE.search(said):
        new, (_, _, rest) = Clauses(one, text).below(found[1], found[2]), said.partition("; then ")
        return _new_text(one, rest, new, first=False) if rest else new
    if found := ORDER.search(said):
        return Clauses(one, text).put_below(found[1], found[2])
    if found := AGAIN.search(said):
        return Clauses(one, text).again(found[1], found[2] == "with", found[3] or "")
    if (found := WORD.search(said)) and (new := Clauses(one, text).worded(*found.groups())):
        return new
    marked = text[one.span.start : one.span.end]
    if (found := MARKED.match(said)) and re.fullmatch(r"-?[\d.]+ ?\w*%?", marked):
        return text[: one.span.start] + found[1] + text[one.span.end :]
    edits = list(Clauses(one, text).edits(said))
    if edits:
        text, gone = with_edits(text, one.span.path, edits), TAKEN.search(said)
        return Clauses(one, text).without(gone[1]) if gone else text
    return followed(text, one) if first else None
