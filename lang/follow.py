"""A remedy followed: the text as it is when what a remark says to do has been done.

Remedies are written so that they can be followed to the letter: ``write X`` in the place of what is
marked, ``write: LINE`` in the place of its line, ``write LINE, below both lines`` at the end of the text,
``did you mean X``, ``add X`` at the end of the line."""

from __future__ import annotations

import re

from .faults import Fault

_TAKE_OUT = re.compile(r"take it out|leave it out")
_MEANT = re.compile(r"did you mean '?([^',?]+)")
_ADD_UNIT = re.compile(r"add (?:mm|%|deg): (.+)")
_ADD = re.compile(r"add ([^,:]+)")
_LINE = re.compile(r"write: (.+)")
_BELOW = re.compile(r"write:? ([a-z-]+ ?[\w-]*: .+?), below both lines")
_PLAIN = re.compile(r"write (?:plain quotes|the plain minus) (.)")
_X = re.compile(r"write (x) between")
_WRITE = re.compile(r"(?:write|take wire of) (.+?)(?:;.*|, or .*|, without .*| or .*|, gold.*| \([A-Z].*)?$")


def followed(text: str, fault: Fault) -> str | None:
    """``text`` with the remedy of ``fault`` done, as a reader would type it; None where it says nothing
    that can be done to the letter."""
    if fault.span is None or not fault.remedy:
        return None
    start, end, remedy = fault.span.start, fault.span.end, fault.remedy
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
        return text[:start] + text[end:]
    if found := _LINE.match(remedy):
        return f"{text[:first]}{found[1]}{text[last:]}"
    for form in (_ADD_UNIT, _PLAIN, _X, _MEANT, _WRITE):
        if found := form.match(remedy):
            return text[:start] + found[1] + text[end:]
    found = _ADD.match(remedy)
    return f"{text[:last]}, {found[1]}{text[last:]}" if found else None


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
