"""Ways a text is damaged."""

from __future__ import annotations

import random
import re

WORDS = re.compile(r"[a-zA-Z][a-zA-Z-]*")
FIGURES = re.compile(r"\d+(?:\.\d+)?")
ODD = ("0", "-1", "1e9", "0.0001", "99999", "7 8", "3.", "½", "1/0", "nan", "inf", "2 in", "45 deg", "10 %", "1 ct",
       "99999999999999", "sqrt(-1)", "7 mm * 7 mm", "a of b", "min(")  # fmt: skip
NOISE = ("\x00", "\x1b[31m", "\u202e", "\ufeff", "\r", "\t", '"', "(", ")", ":", ",", "💎", "é", "\u2028", "\\", "#", "“",
         "=", "-", "%", "of", " to ", "each ", "when ", "word ", "piece ", "posy 2")  # fmt: skip


def _cut_off(text: str, dice: random.Random, _: list[str]) -> str:
    return text[: dice.randrange(len(text) + 1)]


def _gap(text: str, dice: random.Random, _: list[str]) -> str:
    at = dice.randrange(len(text) + 1)
    return text[:at] + text[at + dice.randint(1, 40) :]


def _noise(text: str, dice: random.Random, _: list[str]) -> str:
    at = dice.randrange(len(text) + 1)
    return text[:at] + dice.choice(NOISE) * dice.choice((1, 1, 3, 300)) + text[at:]


def _lines(text: str, dice: random.Random, _: list[str]) -> str:
    lines = text.split("\n")
    k, j = dice.randrange(len(lines)), dice.randrange(len(lines))
    match dice.randrange(4):
        case 0:
            lines[k], lines[j] = lines[j], lines[k]
        case 1:
            lines[k:k] = [lines[j]] * dice.choice((1, 2, 30))
        case 2:
            lines[k] = dice.choice(("  ", "", "    ")) + lines[k].lstrip()
        case _:
            del lines[k]
    return "\n".join(lines)


def _figure(text: str, dice: random.Random, _: list[str]) -> str:
    found = list(FIGURES.finditer(text))
    if not found:
        return text
    one = dice.choice(found)
    factor = dice.choice((0, 0.01, 0.5, 0.9, 1.1, 2, 10, 1000))
    other = dice.choice((*ODD, *[f"{float(one[0]) * factor:.6g}"] * 15))
    return text[: one.start()] + other + text[one.end() :]


def _word(text: str, dice: random.Random, vocabulary: list[str]) -> str:
    found = list(WORDS.finditer(text))
    if not found:
        return text
    one = dice.choice(found)
    other = dice.choice(vocabulary) if dice.random() < 0.7 else dice.choice(found)[0]
    return text[: one.start()] + other + text[one.end() :]


def _twice(text: str, dice: random.Random, _: list[str]) -> str:
    a, b = sorted(dice.randrange(len(text) + 1) for _ in range(2))
    return text[:b] + text[a:b] * dice.choice((1, 1, 3)) + text[b:]


def _join(text: str, dice: random.Random, _: list[str]) -> str:
    return text.replace("\n", dice.choice((" ", "", ",\n", "\r")), dice.choice((1, 3, 999)))


def _indent(text: str, dice: random.Random, _: list[str]) -> str:
    return "\n".join(" " * dice.choice((0, 0, 0, 1, 2, 9)) + line for line in text.splitlines())


def _blocks(text: str, dice: random.Random, _: list[str]) -> str:
    nested = "".join(" " * k + f"each k{k} from 1 to 90\n" for k in range(dice.choice((3, 26))))
    return text + nested + " " * 30 + "ball: across 1 mm\n"


def _deep(text: str, dice: random.Random, _: list[str]) -> str:
    at = dice.randrange(len(text) + 1)
    return text[:at] + dice.choice("([-") * dice.choice((5, 5000)) + text[at:]


HARMS = (_cut_off, _gap, _noise, _noise, _lines, _lines, _figure, _figure, _figure, _word, _word, _word, _deep, _twice, _join,
         _indent, _blocks)  # fmt: skip
SLIGHT = _figure, _figure, _word, _lines
