"""What a remark says to do, done as somebody would who reads it: its change of text, else the first thing with a
figure that its words name, on the line they name."""

from __future__ import annotations

import re
from collections.abc import Callable

from posy.compiler.judging.mend import mended
from posy.compiler.judging.remark import Remark
from posy.lang.faults import Fault

WAY = r"(right|left|up|down|out|inward)"
STEPS = re.compile(rf"([\d.]+) mm (?:deeper, )?(?:to the )?{WAY}\b")
OTHER = {"right": "left", "left": "right", "up": "down", "down": "up", "out": "inward", "inward": "out"}
MOVED = re.compile(r"\bmove (?:the )?([\w.-]+) (?=[\d.]+ mm)|\bsink ([\w.-]+) (?=[\d.]+ mm)|\bmove (it) ")
SAID = re.compile(r"(?:^|say |add |write |with )'?([a-z-]+) (-?[\d.]+ (?:mm|%|deg))")
MADE = re.compile(r"\bmake ([\w.-]+) ([\d.]+ mm) (thick|wide|tall|deep|long)\b")
FIGURE = re.compile(r"^(?:write|make it) (-?[\d.]+ (?:mm|%|deg|g))")
RAISED = re.compile(r"\b(raise|lower) (?:the )?([\w.-]+) by ([\d.]+) mm")
LET_DOWN = re.compile(r"\blet ([\w.-]+) down by ([\d.]+) mm")
WHOLE = re.compile(r"write:? ([a-z-]+ ?[\w-]*: .+?), below (?:both|all these) lines")


def done(text: str, one: Fault) -> str | None:
    """``text`` with the remedy of a remark done; None where its words name no figure to follow."""
    if isinstance(one, Remark) and one.edit is not None:
        return mended([one], {"p.posy": text}).texts.get("p.posy")
    do, lines = one.remedy or "", text.split("\n")
    if found := WHOLE.search(do):
        return f"{text.rstrip()}\n{found[1]}\n"
    if one.span is None or one.span.path != "p.posy":
        return None
    at, marked = one.span.line - 1, text[one.span.start : one.span.end]
    if (found := FIGURE.match(do)) and re.fullmatch(r"-?[\d.]+ ?\w*%?", marked):
        return text[: one.span.start] + found[1] + text[one.span.end :]
    stones = _stones(lines, one, at)
    if found := SAID.search(do):
        return _changed(lines, at, [(found[1], found[2])], _said)
    if found := MADE.search(do):
        return _changed(lines, _line(lines, found[1], at), [(found[3], found[2])], _said)
    if found := MOVED.search(do):
        name = next(one for one in found.groups() if one)
        steps = STEPS.findall(re.split(r", (?:or|so that|away)|; | or ", do[found.start() :])[0])
        row = at if name == "it" else stones if name == "stones" else _line(lines, name, at)
        return _changed(lines, row, [(word, figure) for figure, word in steps], _moved) if steps else None
    if found := RAISED.search(do):
        row = stones if found[2] in ("stones", "stone") else _line(lines, found[2], at)
        return _changed(lines, row, [("out" if found[1] == "raise" else "inward", found[3])], _moved)
    if found := LET_DOWN.search(do):
        return _changed(lines, _line(lines, found[1], at), [("inward", found[2])], _moved)
    return None


def _stones(lines: list[str], one: Fault, at: int) -> int:
    """The line of the stones that a remark speaks of."""
    found = re.search(r"stones? of ([\w.-]+)", one.message)
    if found:
        return _line(lines, found[1], at)
    if " stone" in f" {lines[at].strip()}"[:7]:
        return at
    served = re.search(r"\bfor (\w[\w-]*)", lines[at])
    return _line(lines, served[1], at) if served else at


def _line(lines: list[str], name: str, at: int) -> int:
    last = name.split(".")[-1]
    found = [k for k, line in enumerate(lines) if re.match(rf"\s*[a-z][a-z -]*\s{re.escape(last)}(:|\s*$)", line)]
    return found[-1] if found else at


def _changed(
    lines: list[str], row: int, steps: list[tuple[str, str]], change: Callable[[str, str, str], str]
) -> str:
    """The lines with one of them changed, step by step: a clause and its figure each."""
    new = list(lines)
    for word, figure in steps:
        new[row] = change(new[row], word, figure)
    return "\n".join(new)


def _said(line: str, key: str, value: str) -> str:
    body, mark, rest = line.partition("#")
    end = len(body.rstrip())
    had = re.search(rf"(?<![\w-]){key} [^,]+", body)
    if had:
        return body[: had.start()] + f"{key} {value}" + body[had.end() :] + mark + rest
    return body[:end] + ("," if ":" in body else ":") + f" {key} {value}" + body[end:] + mark + rest


def _moved(line: str, word: str, figure: str) -> str:
    had = re.search(rf"(?<![\w-]){word} ([^,#]+?)(?= *(,|#|$))", line)
    other = re.search(rf"(?<![\w-]){OTHER[word]} ([^,#]+?)(?= *(,|#|$))", line)
    if had:
        return line.replace(had[0], f"{word} {had[1]} + {figure} mm")
    if other:
        return line.replace(other[0], f"{OTHER[word]} {other[1]} - {figure} mm")
    return _said(line, word, f"{figure} mm")
