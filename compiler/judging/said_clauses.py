"""What a remedy says read as changes of clauses: the clause, its line, and the value it comes to."""

from __future__ import annotations

import re
from collections.abc import Iterator

from ...lang import tree
from .lines_of import Head, Lines
from .remark import Edit

VERB = (
    "move|say|write|make|raise|lower|add|sink|take|let|set|lay|leave|turn|stand|put|drill|cut|give|join|bring|use|"
    "tie|solder|open|change|stay"
)
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
PART = r"(?:[a-z-]+ of )?[a-z][\w.-]*"
ON = re.compile(rf"\bwrite (on|in|next-to|at|behind|along) (pick\([^)]*\)|{PART}(?: \+ {PART})*)")
MOVED = re.compile(r"\b(?:move|sink|set) (?:the )?([a-z][\w.-]*)(?: and ([a-z][\w.-]*))? (?=\d)")
RAISED = re.compile(r"\b(raise|lower) (?:the )?([a-z][\w.-]*) by (\d[\d.]* mm)")
LET_DOWN = re.compile(r"\blet ([\w.-]+) down by (\d[\d.]* mm)")
MADE = re.compile(rf"\bmake ([\w.-]+) ({FIGURE}) (thick|wide|tall|deep|long|across)\b(?! there)")
MORE = re.compile(r"\bmake ([\w.-]+) (\d[\d.]* mm) (thick|wid|tall|deep|long)e?r\b")
GROWN = {"thick": "thick", "wid": "wide", "tall": "tall", "deep": "deep", "long": "long"}
STONES = re.compile(r"(?:stones?|pearl) of ([\w.-]+)")
THEM = re.compile(r"it|them|loops?|post|prong")
STONE = re.compile(r"stones?|pearl")


class Clauses(Lines):
    """Reads what is said of one remark as changes of its text."""

    def edits(self, said: str) -> Iterator[Edit]:
        """Each clause that changes, of all that is done together."""
        for part in THEN.split(said):
            own, lines, both = self.own, IN_LINES.search(part), IN_BOTH.search(part)
            if turned := TURNED.search(part):
                yield from self._turned(turned[1] if turned[2] == "more" else f"-{turned[1]}")
            elif lines is None and both is None:
                yield from self._done(part)
            else:
                heads = [self.found(lines[1]), self.found(lines[2])] if lines else self._alike()
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
                head = self.found(clause.value.name)
                yield from self._edit(head, "turn", far, "grown" if self._says(head, "turn") else "exact")

    def _done(self, said: str) -> Iterator[Edit]:
        """Each clause that changes: first of the forms that are there."""
        for form in (self._moves, self._raised, self._made, self._clauses):
            found = list(form(said))
            if found:
                yield from found
                if form != self._raised:
                    return

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
            head = self._line(line[1]) if line and self.found(line[1]) else self.own
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
            head = self._line(line[1]) if line and self.found(line[1]) else self.own
            if gone:
                yield from self._edit(head, gone[1], "", "without")
            more = rest.startswith("more") and self._says(head, key)
            yield from self._edit(head, key, value, "grown" if more else "exact")

    def _line(self, name: str) -> Head | None:
        if THEM.fullmatch(name):
            return self.own
        if STONE.fullmatch(name):
            found = STONES.search(self.one.message)
            if found and (line := self.found(found[1])):
                return line
            return self._served() or self.own
        return self.found(name) or self.own

    def _served(self) -> Head | None:
        """The line of the stones that the remark's own line is for."""
        for clause in self.own.clauses if self.own is not None else ():
            if clause.key.name == "for" and isinstance(clause.value, tree.Name):
                return self.found(clause.value.name)
        return None

    def _edit(self, head: Head | None, key: str, value: str, side: str) -> Iterator[Edit]:
        if side == "more" and key in ("out", "inward") and self._says(head, "over-finger"):
            key, value, side = "over-finger", f"{'-' * (key == 'inward')}{value}", "grown"
        if head is not None and (self._says(head, key) or side not in ("grown", "without")):
            yield Edit(head.head, key, value, side)

    @staticmethod
    def _says(head: Head | None, key: str) -> bool:
        return head is not None and any(clause.key.name == key for clause in head.clauses)
