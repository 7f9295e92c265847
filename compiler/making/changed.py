"""Two texts beside one another: how one is written out of the other, and a little more of it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from difflib import SequenceMatcher

BEYOND = 1.03  # times each figure that a remedy changes, that cure too
LENGTH = re.compile(r"-?\d+(?:\.\d+)?(?= mm\b)")


def written(old: Mapping[str, str], new: Mapping[str, str]) -> str:
    """The lines of new texts that are not in the old ones, as they are to be written."""
    said = []
    for path in new:
        lines, before = new[path].splitlines(), old[path].splitlines()
        same = SequenceMatcher(None, before, lines, autojunk=False).get_opcodes()
        for kind, first, last, start, end in same:
            if kind == "equal":
                continue
            both = min(last - first, end - start)
            said += [f"write line {first + k + 1} as: {lines[start + k].strip()}" for k in range(both)]
            said += [f"take line {k + 1} out" for k in range(first + both, last)]
            for line in lines[start + both : end]:
                indented = line.startswith(" ") or last < len(before)
                above = f"line {last}" if indented else "the last line"
                said.append(f"write below {above}: {line.strip()}")
    return ", and ".join(said)


def farther(old: str, new: str) -> str:
    """A text of as many lines with each length that differs from an old one a little farther from it."""
    before, lines = old.splitlines(keepends=True), new.splitlines(keepends=True)
    for k, (was, line) in enumerate(zip(before, lines, strict=False)):
        if was != line and len(before) == len(lines):
            told, now, rest = LENGTH.findall(was), LENGTH.findall(line), LENGTH.split(line)
            if LENGTH.split(was) != rest:  # a clause is new
                told = [one if one in told else "0" for one in now]
            lines[k] = "".join(map("".join, zip(rest, [*map(_beyond, told, now), ""], strict=True)))
    return "".join(lines)


def _beyond(was: str, now: str) -> str:
    more = BEYOND if abs(float(now)) > abs(float(was)) else 1 / BEYOND
    return now if now == was else f"{float(now) * more:.3f}"


def lines(old: Mapping[str, str], new: Mapping[str, str]) -> set[tuple[str, int]]:
    """The lines, by path and number, that are not as they were."""
    return {
        (path, k) for path in new
        for k, (was, line) in enumerate(zip(old[path].splitlines(), new[path].splitlines(), strict=False))
        if was != line
    }  # fmt: skip
