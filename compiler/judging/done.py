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
from dataclasses import dataclass, replace

from ...lang import tree
from ...lang.faults import Fault
from ...lang.follow import followed
from ...lang.parse import parse
from .mend import with_edits
from .remark import Edit, Remark

VERB = (
    "move|say|write|make|raise|lower|add|sink|take|let|set|lay|leave|turn|stand|put|drill|cut|give|join|bring|use|"
    "tie|solder|open|change|stay"
)
WISH = re.compile(r"write ([a-z-]+) (\d+\.\d\d) mm\b(?!; then)")
AGREE = 1.5  # times as much as one remark wishes, from which another's wish for its clause is told for itself
OR = re.compile(rf"(?:,|;)? or (?=(?:{VERB})\b)|; else |; (?=(?:say|or|where|what)\b)")
FIGURE = r"-?\d[\d.]*(?: x \d[\d.]*)* ?(?:mm|deg|%|g)(?![\w])"
SIDE = "right|left|up|down|out|inward"
STEP = re.compile(rf"(\d[\d.]*) mm (?:to the )?({SIDE})\b")
PUT = re.compile(rf": write ((?:(?:over-finger|{SIDE}) -?\d[\d.]* mm(?:, )?)+) in its line")
PUT_STEP = re.compile(r"([a-z-]+) (-?\d[\d.]* mm)")
THERE = re.compile(r"in its line that is '([^']+)'")
THERE_STEP = re.compile(rf"({SIDE}) (\d[\d.]*) mm\b")
QUOTED = re.compile(r"'([a-z][a-z-]*)(?: ([^',]+))?'")
SAYS = re.compile(r"\b(?:say|add|write|turn [\w ]*(?:with|there:|hang,)|stand it up,) (?='[a-z])")
WRITTEN = re.compile(rf"(?:\bwrite|\badd|\bmake it|\band|\bhole|^|,) '?([a-z][a-z-]*) ({FIGURE})")
OF_LINE = re.compile(r"(?:in|to|on|at) (?:the line of )?([a-z][\w.-]*(?: of [a-z][\w.-]*)*)")
LEFT_OUT = re.compile(r"\bleave '?([a-z-]+)'?(?: and '?([a-z-]+)'?)? out")
THEN = re.compile(r"; then ")
IN_LINES = re.compile(r"\bin the lines of ([a-z][\w.-]*) and ([a-z][\w.-]*) (.+)")
IN_BOTH = re.compile(r"\b(write .+?|leave .+? out),? in both(?: halves)?$")
TURNED = re.compile(r"\bturn the place of both halves by (\d[\d.]* deg) (more|less)")
EACH = re.compile(rf" and (?=(?:{VERB})\b)")
INSTEAD = re.compile(r"in place of '?([a-z-]+)'?")
ON = re.compile(r"\bwrite (on|next-to|at|behind|along) (pick\([^)]*\)|(?:[a-z-]+ of )?[a-z][\w.-]*)")
MOVED = re.compile(r"\b(?:move|sink|set) (?:the )?([a-z][\w.-]*)(?: and ([a-z][\w.-]*))? (?=\d)")
RAISED = re.compile(r"\b(raise|lower) (?:the )?([a-z][\w.-]*) by (\d[\d.]* mm)")
LET_DOWN = re.compile(r"\blet ([\w.-]+) down by (\d[\d.]* mm)")
MADE = re.compile(rf"\bmake ([\w.-]+) ({FIGURE}) (thick|wide|tall|deep|long|across)\b(?! there)")
MORE = re.compile(r"\bmake ([\w.-]+) (\d[\d.]* mm) (thick|wid|tall|deep|long)e?r\b")
GROWN = {"thick": "thick", "wid": "wide", "tall": "tall", "deep": "deep", "long": "long"}
TAKEN = re.compile(r"\band take ([a-z][\w.-]*) out\b")
MARKED = re.compile(rf"^(?:write|make it|take wire of) ({FIGURE})")
BLOCK = r"(?: in the block of ([\w.-]+))?"
WHOLE = re.compile(rf"write:? ([a-z-]+ ?[\w-]*: .+?), below (?:both|all these) lines{BLOCK}")
ORDER = re.compile(r"\bput the line of ([\w.-]+) below that of ([\w.-]+)")
WORD = re.compile(r"\bwrite ([a-z-]+) in place of ([a-z-]+) in the line of ([a-z][\w.-]*)")
AGAIN = re.compile(
    r"(?:write|put) the line of ([\w.-]+)(?: once more, (with|without) '([a-z-]+)',)? in a casting of its own"
)
STONES = re.compile(r"(?:stones?|pearl) of ([\w.-]+)")
OF_LAST = re.compile(r"(?:where|what) ")
GUESSED = re.compile(r"\b(?:if|meant|as in|as with|where it)\b")
THEM = re.compile(r"it|them|loops?|post|prong")
STONE = re.compile(r"stones?|pearl")
Head = tree.Feature | tree.Group


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


def agreed(faults: Sequence[Fault], texts: Mapping[str, str]) -> list[Fault]:
    """The faults, where the first ways of several write one clause, as much more or less each, the figure in
    all that answers all."""
    wishes: dict[tuple[Head, str], list[tuple[Remark, float]]] = {}
    for one in faults:
        if isinstance(one, Remark) and (wish := _wish(one, texts)):
            wishes.setdefault(wish[:2], []).append((one, wish[2]))
    new: dict[int, Fault] = {}
    for (head, key), group in wishes.items():
        now = next(clause.value for clause in head.clauses if clause.key.name == key)
        for one, value in group:
            most = max(more for _, more in group if more < AGREE * value)
            if isinstance(now, tree.Number) and now.value < value < most:
                new[id(one)] = _with_figure(one, key, value, most)
    return [new.get(id(one), one) for one in faults]


def _wish(one: Remark, texts: Mapping[str, str]) -> tuple[Head, str, float] | None:
    """The line, its clause, said already, and the figure in mm, that are all the first way of a remark."""
    found = WISH.match(one.remedy or "")
    if found is None or one.span is None or one.span.path not in texts or one.waived is not None:
        return None
    reader = _Reader(one, texts[one.span.path])
    edits = [one.edit] if one.edit is not None else list(reader.edits(OR.split(one.remedy or "")[0]))
    heads = [head for head in reader.heads.values() if len(edits) == 1 and head.head == edits[0].head]
    said = (head for head in heads if any(clause.key.name == found[1] for clause in head.clauses))
    return next(((head, found[1], float(found[2])) for head in said), None)


def _with_figure(one: Remark, key: str, value: float, figure: float) -> Remark:
    told = (one.remedy or "").replace(f"{key} {value:.2f} mm", f"{key} {figure:.2f} mm", 1)
    edit = replace(one.edit, value=f"{figure:.2f} mm") if one.edit is not None else None
    return replace(one, remedy=told, edit=edit)


def done(text: str, one: Fault) -> str | None:
    """``text``, a piece in one file, with the first way of a remedy gone; None where none can be written."""
    path = one.span.path if one.span is not None else ""
    return next((way.texts[path] for way in ways(one, {path: text})), None)


def _new_text(one: Fault, said: str, text: str, first: bool) -> str | None:
    assert one.span is not None
    if not isinstance(one, Remark):
        both = IN_BOTH.search(said) or TURNED.search(said)
        new = followed(text, one) if first and not both else None
        if new is not None or not (both or ON.search(said) or " the line of " in said):
            return new
    elif first and one.edit is not None and not THEN.search(said) and one.edit.head.path == one.span.path:
        return with_edits(text, one.span.path, [one.edit])
    if found := WHOLE.search(said):
        return _Reader(one, text).below(found[1], found[2])
    if found := ORDER.search(said):
        return _Reader(one, text).put_below(found[1], found[2])
    if found := AGAIN.search(said):
        return _Reader(one, text).again(found[1], found[2] == "with", found[3] or "")
    if (found := WORD.search(said)) and (new := _Reader(one, text).worded(*found.groups())):
        return new
    marked = text[one.span.start : one.span.end]
    if (found := MARKED.match(said)) and re.fullmatch(r"-?[\d.]+ ?\w*%?", marked):
        return text[: one.span.start] + found[1] + text[one.span.end :]
    edits = list(_Reader(one, text).edits(said))
    if edits:
        text, gone = with_edits(text, one.span.path, edits), TAKEN.search(said)
        return _Reader(one, text).without(gone[1]) if gone else text
    return followed(text, one) if first else None


class _Reader:
    """Reads what is said of one remark as changes of its text."""

    def __init__(self, one: Fault, text: str) -> None:
        assert one.span is not None
        self.one, self.span, self.text = one, one.span, text
        self.heads = dict(heads_of(text, one.span.path))
        self.own = next((head for head in self.heads.values() if head.span.encloses(one.span)), None)

    def edits(self, said: str) -> Iterator[Edit]:
        """Each clause that changes, of all that is done together."""
        for part in THEN.split(said):
            own, lines, both = self.own, IN_LINES.search(part), IN_BOTH.search(part)
            if turned := TURNED.search(part):
                yield from self._turned(turned[1] if turned[2] == "more" else f"-{turned[1]}")
            elif lines is None and both is None:
                yield from self._done(part)
            else:
                heads = [self._found(lines[1]), self._found(lines[2])] if lines else self._alike()
                acts = lines[3] if lines else both[1] if both else ""
                for self.own in heads:
                    for act in EACH.split(acts):
                        yield from self._done(act)
                self.own = own

    def _alike(self) -> list[Head | None]:
        """The lines of the word of the remark's own line."""
        by_word: dict[str, list[Head | None]] = {}
        for one in self.heads.values():
            if isinstance(one, tree.Feature):
                by_word.setdefault(one.word.name, []).append(one)
        return by_word[self.own.word.name] if isinstance(self.own, tree.Feature) else []

    def _turned(self, far: str) -> Iterator[Edit]:
        """The spots that the remark's own line stands at, turned further."""
        for clause in self.own.clauses if self.own is not None else ():
            if clause.key.name == "at" and isinstance(clause.value, tree.Name):
                head = self._found(clause.value.name)
                yield from self._edit(head, "turn", far, "grown" if self._says(head, "turn") else "exact")

    def _done(self, said: str) -> Iterator[Edit]:
        """Each clause that changes: first of the forms that are there."""
        for form in (self._moves, self._raised, self._made, self._clauses):
            found = list(form(said))
            if found:
                yield from found
                if form != self._raised:
                    return

    def without(self, name: str) -> str:
        """The text without the line of a name."""
        head = self._found(name)
        if head is None:
            return self.text
        start = self.text.rfind("\n", 0, head.span.start) + 1
        end = self.text.find("\n", head.span.end)
        return self.text[:start] + (self.text[end + 1 :] if end >= 0 else "")

    def below(self, line: str, block: str | None) -> str:
        """The text with a line below all others, or those of a block."""
        head = self._found(block) if block else None
        last = list(tree.work_in(tree.lines_below(head))) if head is not None else []
        if not last:
            return f"{self.text.rstrip()}\n{line}\n"
        start, first = self.text.rfind("\n", 0, last[0].span.start) + 1, last[0].span.start
        indent, stop = self.text[start:first], self.text.find("\n", last[-1].span.end) % (len(self.text) + 1)
        return f"{self.text[:stop]}\n{indent}{line}{self.text[stop:]}"

    def put_below(self, name: str, other: str) -> str | None:
        """The text with the line of a name below that of another, which it stands above."""
        head, last = self._found(name), self._found(other)
        if head is None or last is None or last.span.start < head.span.end:
            return None
        start = self.text.rfind("\n", 0, head.span.start) + 1
        end, stop = (
            self.text.find("\n", max(clause.span.end for clause in one.clauses)) % (len(self.text) + 1)
            for one in (head, last)
        )
        return f"{self.text[:start]}{self.text[end + 1 : stop]}\n{self.text[start:end]}{self.text[stop:]}"

    def worded(self, word: str, now: str, name: str) -> str:
        """The text with another word for that of the line of a name; "" where it is not that word's."""
        head = self._found(name)
        if not isinstance(head, tree.Feature):
            return ""
        start, end = head.word.span.start, head.word.span.end
        return f"{self.text[:start]}{word}{self.text[end:]}" if self.text[start:end] == now else ""

    def again(self, name: str, more: bool, flag: str) -> str | None:
        """The text with the line of a name once more below all others, in a casting of its own, with or
        without a ``flag``; moved there, where that is none."""
        head = self._found(name)
        if head is None:
            return None
        line = self.text[head.span.start : head.span.end]
        own = head.name.name if head.name is not None else self.text[head.head.start : head.head.end]
        if not flag:
            return f"{self.without(name).rstrip()}\ncasting {own}-half\n  {line}\n"
        line = re.sub(rf",\s*{flag}\b", "", line)
        line = re.sub(r"^([a-z-]+)[^:]*", r"\1 half", line) + f", {flag}" * more
        return self.below(f"casting {own}-other\n  {line}", None)

    def _moves(self, said: str) -> Iterator[Edit]:
        found = MOVED.search(said)
        there = THERE.search(said)
        if found is None:
            return
        words = re.split(r", (?:or|so that|away|off)|; ", said[found.start() :])[0]
        steps = [(word, figure) for figure, word in STEP.findall(words)]
        put = PUT.search(said)
        for name in filter(None, found.groups()):
            for key, figure in PUT_STEP.findall(put[1]) if put else ():
                yield from self._edit(self._line(name), key, figure, "exact")
            for word, figure in () if put else THERE_STEP.findall(there[1]) if there else steps:
                yield from self._edit(self._line(name), word, f"{figure} mm", "more")

    def _raised(self, said: str) -> Iterator[Edit]:
        if found := RAISED.search(said):
            word = "out" if found[1] == "raise" else "inward"
            yield from self._edit(self._line(found[2]), word, found[3], "more")
        elif found := LET_DOWN.search(said):
            yield from self._edit(self._line(found[1]), "inward", found[2], "more")

    def _made(self, said: str) -> Iterator[Edit]:
        if found := MADE.search(said):
            yield from self._edit(self._line(found[1]), found[3], found[2], "exact")
        elif found := MORE.search(said):
            yield from self._edit(self._line(found[1]), GROWN[found[3]], found[2], "grown")

    def _clauses(self, said: str) -> Iterator[Edit]:
        if found := LEFT_OUT.search(said):
            line = OF_LINE.match(said[found.end() :].lstrip())
            head = self._line(line[1]) if line and self._found(line[1]) else self.own
            for key in filter(None, found.groups()):
                yield from self._edit(head, key, "", "without")
            return
        says = SAYS.search(said)
        places = [
            (at.start(), at.end(), at[1], at[2] or "") for at in QUOTED.finditer(said)
            if says or re.fullmatch(FIGURE, at[2] or "")
        ]  # fmt: skip
        changed = [one for one in places if INSTEAD.match(said[one[1] :].lstrip("' "))]
        places = changed if changed[:1] == places[:1] else places[:1]
        if not said.startswith("move "):  # which says a name where a clause could stand
            places = places or [(at.start(), at.end(), at[1], at[2]) for at in WRITTEN.finditer(said)]
        places = places or [(at.start(), at.end(), at[1], at[2]) for at in ON.finditer(said)]
        ends: dict[int, int] = {}  # of clauses of one line
        for start, end, *_ in reversed(places):
            ends[start] = ends.get(end, end)
        for start, end, key, value in places:
            rest = said[end:].lstrip("' ")
            gone = INSTEAD.match(rest)
            line = OF_LINE.match(rest[gone.end() :].lstrip() if gone else said[ends[start] :].lstrip("' "))
            head = self._line(line[1]) if line and self._found(line[1]) else self.own
            if gone:
                yield from self._edit(head, gone[1], "", "without")
            more = rest.startswith("more") and self._says(head, key)
            yield from self._edit(head, key, value, "grown" if more else "exact")

    def _line(self, name: str) -> Head | None:
        if THEM.fullmatch(name):
            return self.own
        if STONE.fullmatch(name):
            found = STONES.search(self.one.message)
            if found and (line := self._found(found[1])):
                return line
            return self._served() or self.own
        return self._found(name) or self.own

    def _found(self, name: str) -> Head | None:
        """The line of a name as remarks tell it: with its block's, and what its word calls its parts."""
        parts = ".".join(name.split(" of ")[::-1]).split(".")
        for count in range(len(parts), 0, -1):
            if line := self.heads.get(".".join(parts[:count])):
                return line
        return next((head for full, head in self.heads.items() if full.split(".")[-1] == parts[-1]), None)

    def _served(self) -> Head | None:
        """The line of the stones that the remark's own line is for."""
        for clause in self.own.clauses if self.own is not None else ():
            if clause.key.name == "for" and isinstance(clause.value, tree.Name):
                return self._found(clause.value.name)
        return None

    def _edit(self, head: Head | None, key: str, value: str, side: str) -> Iterator[Edit]:
        if side == "more" and key in ("out", "inward") and self._says(head, "over-finger"):
            key, value, side = "over-finger", f"{'-' * (key == 'inward')}{value}", "grown"
        if head is not None and (self._says(head, key) or side not in ("grown", "without")):
            yield Edit(head.head, key, value, side)

    @staticmethod
    def _says(head: Head | None, key: str) -> bool:
        return head is not None and any(clause.key.name == key for clause in head.clauses)


def heads_of(text: str, path: str) -> Iterator[tuple[str, Head]]:
    """Every line of work of a text by its name, with those of the blocks it stands in."""
    return _heads(parse(text, path)[0].lines)


def _heads(lines: tuple[tree.Line, ...], block: str = "") -> Iterator[tuple[str, Head]]:
    for line in lines:
        name = block
        if isinstance(line, tree.Feature | tree.Group):
            word = line.word.name if isinstance(line, tree.Feature) else line.word
            name = f"{block}{line.name.name if line.name is not None else word}"
            yield name, line
            name += "."
        if not isinstance(line, tree.Feature):
            yield from _heads(tree.lines_below(line), name)
