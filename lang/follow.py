"""A remedy followed: the text as it is when what a remark says to do has been done.

Remedies are written so that they can be followed to the letter: ``write X`` in the place of what is
marked, ``write: LINE`` in the place of its line, ``write LINE, below both lines`` at the end of the text,
``did you mean X``, ``add X`` at the end of the line; of lines by their number ``write line 4 as: LINE``,
``write below line 4: LINE``, ``write below the last line: LINE`` and ``take line 4 out``."""

from __future__ import annotations

import re

from .faults import Fault

_TAKE_OUT = re.compile(r"take it out|leave it out")
_MEANT = re.compile(r"did you mean '?([^',?]+)")
_ADD_UNIT = re.compile(r"add (?:mm|%|deg): (.+)")
_ADD = re.compile(r"add (?:'([^']+)'(?=,|$)|([^,:']+))")
_LINE = re.compile(r"write: (.+)")
_BELOW = re.compile(r"write:? ([a-z-]+ ?[\w-]*: .+?), below both lines")
_PLAIN = re.compile(r"write (?:plain quotes|the plain minus) (.)")
_X = re.compile(r"write (x) between")
_BY_NUMBER = r"(?:write line (\d+) as|write below (?:line (\d+)|the last line)|take line (\d+) out)"
_NUMBERED = re.compile(rf"{_BY_NUMBER}(?:: (.+))?")
_AND = re.compile(r"(?:, and |; then )(?=(?:write|take) (?:below )?(?:the last )?line\b)")
_WRITE = re.compile(
    r"(?:write|take wire of) (.+?)(?:;.*|, or .*|: make .*|, without .*| or .*|, gold.*| \([A-Z].*)?$"
)


def followed(text: str, fault: Fault) -> str | None:
    """``text`` with the remedy of ``fault`` done, as a reader would type it; None where it says nothing
    that can be done to the letter."""
    if fault.span is None or not fault.remedy:
        return None
    start, end, remedy = fault.span.start, fault.span.end, fault.remedy
    if (new := by_number(text, remedy.partition("; or ")[0])) is not None:
        return new
    first = text.rfind("\n", 0, start) + 1
    last = text.find("\n", start)
    last = len(text) if last < 0 else last
    if found := re.match(r"indent it by (\d+) spaces", remedy):
        return f"{text[:first]}{' ' * int(found[1])}{text[first:last].lstrip()}{text[last:]}"
    if found := re.match(r"take it up into that line, after a colon: (.+)", remedy):
        above = text.rfind("\n", 0, len(text[:first].rstrip())) + 1
        indent = text[above : first].partition(found[1][0])[0]
        return f"{text[:above]}{indent}{found[1]}{text[last:]}"
    if found := re.match(r"take it up into line (\d+), after a comma: (.+)", remedy):
        return _into(text[:first] + text[last + 1 :], int(found[1]), found[2])
    if "indent with spaces" in remedy:
        return text.replace("\t", "  ")
    found = re.match(r"write ([\w-]+) ([\d.]+ \w+)\b", remedy)
    if found and text[:start].endswith(f"{found[1]} "):
        return text[:start] + found[2] + text[end:]
    if found := re.match(r"write ([\w-]+) ([\d.]+ mm): ", remedy):
        line = re.sub(rf"{found[1]} [^,\n]+", f"{found[1]} {found[2]}", text[first:last])
        return f"{text[:first]}{line}{text[last:]}"
    found = re.fullmatch(r"write ([\w-]+) in place of ([\w-]+)", remedy)
    if found and text[:start].endswith(f"{found[2]} "):
        return text[: start - len(found[2]) - 1] + f"{found[1]} " + text[start:]
    if found := _BELOW.search(remedy):
        return f"{text.rstrip()}\n{found[1]}\n"
    if "above this one" in remedy and fault.also:
        return _moved(text, fault.also[0][0].start, first)
    if "below the metal" in remedy:
        return _moved(text, start, text.find("\n", last + 1) + 1)
    if _TAKE_OUT.match(remedy):
        before, after = text[:start], text[end:]
        alone = before.rstrip().endswith(",") and re.match(r"\s*(?:,|$)", after[: last - end])
        return (before.rstrip().removesuffix(",") if alone else before) + after
    if found := _LINE.match(remedy):
        return f"{text[:first]}{found[1]}{text[last:]}"
    own = " in the line of " not in remedy.partition("; or ")[0]  # else of a clause that is not marked
    for form in (_ADD_UNIT, _PLAIN, _X, _MEANT, *([_WRITE] if own else [])):
        if found := form.match(remedy):
            return text[:start] + found[1] + text[end:]
    found = _ADD.match(remedy)
    return f"{text[:last]}, {found[1] or found[2]}{text[last:]}" if found else None


def by_number(text: str, said: str) -> str | None:
    """``text`` with lines written anew, below others or taken out, as is ``said`` by their numbers; None
    where it is said otherwise. A line stands as far in as the one it is written in place of, or below."""
    lines: list[list[str]] = [[line] for line in text.splitlines(keepends=True)]
    for one in _AND.split(said):
        found = _NUMBERED.fullmatch(one)
        number = int(found[1] or found[2] or found[3] or len(lines)) - 1 if found else -1
        if found is None or not 0 <= number < len(lines):
            return None
        old = lines[number][0]
        indent = "" if found[0].startswith("write below the") else old[: len(old) - len(old.lstrip(" "))]
        new = [] if found[3] else [f"{indent}{found[4]}\n"]
        lines[number] = new if found[1] or found[3] else [*lines[number], *new]
    return "".join(line if line.endswith("\n") else f"{line}\n" for one in lines for line in one)


def _into(text: str, number: int, clause: str) -> str:
    """``text`` with ``clause`` at the end of line ``number``, from 1; one that runs on runs on behind it."""
    lines = text.splitlines()
    line = lines[number - 1]
    lines[number - 1] = f"{line} {clause}," if line.endswith(",") else f"{line}, {clause}"
    return "\n".join([*lines, ""])


def _moved(text: str, start: int, to: int) -> str:
    """The line at ``start`` moved to ``to``."""
    first, last = text.rfind("\n", 0, start) + 1, text.find("\n", start) + 1
    line = text[first:last]
    if to > first:
        return text[:first] + text[last:to] + line + text[to:]
    return text[:to] + line + text[to:first] + text[last:]
