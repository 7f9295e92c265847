"""Texts damaged as files, hands and programs damage them."""

from __future__ import annotations

import random
import re

ODD = ("\0", "\ufeff", "\u202e", "“", "½", "Ø", "\t", '"', "#", "(", ")", ",", ":", "=", "x", "of", "-", "1e9", "0", "💍",
       "\r", "each ", "when ", "word ", "piece ", "mm", "%", "min(", " to ", "posy 2")  # fmt: skip


def damaged(text: str, seed: int) -> bytes:
    """``text`` with one to four damages, the same for the same seed."""
    chance = random.Random(seed)
    for _ in range(chance.choice((1, 1, 2, 4))):
        text = chance.choice(WAYS)(text, chance)
        if len(text) > 200_000:
            break
    data = text.encode("utf-8", "replace")
    if chance.random() < 0.03:
        at = chance.randrange(len(data) + 1)
        data = data[:at] + bytes(chance.choices(range(256), k=8)) + data[at:]
    return data


def _spot(text: str, chance: random.Random) -> int:
    return chance.randrange(len(text) + 1)


def _cut(text: str, chance: random.Random) -> str:
    a, b = sorted((_spot(text, chance), _spot(text, chance)))
    return text[:a] + text[min(b, a + 40) :]


def _end(text: str, chance: random.Random) -> str:
    return text[: _spot(text, chance)]


def _odd(text: str, chance: random.Random) -> str:
    at = _spot(text, chance)
    return text[:at] + chance.choice(ODD) + text[at:]


def _twice(text: str, chance: random.Random) -> str:
    a, b = sorted((_spot(text, chance), _spot(text, chance)))
    return text[:b] + text[a:b] * chance.choice((1, 1, 3)) + text[b:]


def _lines(text: str, chance: random.Random) -> str:
    rows = text.splitlines()
    chance.shuffle(rows) if chance.random() < 0.3 else rows.reverse() if chance.random() < 0.2 else None
    if rows:
        one, other = chance.randrange(len(rows)), chance.randrange(len(rows))
        rows[one], rows[other] = rows[other], rows[one]
    return "\n".join(rows)


def _figures(text: str, chance: random.Random) -> str:
    new = chance.choice(("0", "-1", "1000000000", "0.0000001", "99999999999999", "1/0", "sqrt(-1)", "7 mm * 7 mm", "a of b"))
    found = list(re.finditer(r"\d+(?:\.\d+)?", text))
    if not found:
        return text
    one = chance.choice(found)
    return text[: one.start()] + new + text[one.end() :]


def _words(text: str, chance: random.Random) -> str:
    found = re.findall(r"[a-z][a-z-]+", text)
    if not found:
        return text
    return text.replace(chance.choice(found), chance.choice(found), chance.choice((1, 5)))


def _indent(text: str, chance: random.Random) -> str:
    return "\n".join(" " * chance.choice((0, 0, 0, 1, 2, 9)) + row for row in text.splitlines())


def _deep(text: str, chance: random.Random) -> str:
    deep = chance.choice((10, 45, 400))
    return text + f"measure deep = {'(' * deep}1 mm{')' * deep}\n"


def _blocks(text: str, chance: random.Random) -> str:
    return text + "".join(" " * k + f"each k{k} from 1 to 90\n" for k in range(chance.choice((3, 26)))) + " " * 30 + "ball: across 1 mm\n"


def _join(text: str, chance: random.Random) -> str:
    return text.replace("\n", chance.choice((" ", "", ",\n", "\r")), chance.choice((1, 3, 999)))


WAYS = (_cut, _end, _odd, _odd, _twice, _lines, _figures, _figures, _words, _words, _indent, _deep, _blocks, _join)
