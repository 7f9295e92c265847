"""Words as text, from the records that check them: `posy words`, the reference."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from ...lang import tree
from ...lang.companions import either, may_mean
from ...lang.folding import fold, in_columns
from ...lang.handed import handed_by
from ...lang.placing import PLACING
from ...lang.words import Kind, Take, Word
from ..bench.roles import SAID, Role
from ..words import core_words
from ..words.common import LARGEST, SMALLEST
from ..words.standard import FILED, GROUPS, all_words
from .usual import row_of, usual

KEPT = "\N{NO-BREAK SPACE}"  # where an example is not broken
_INSIDE = re.compile(r"(?<!,)(?<!\bto)(?<!\bover)(?<=\S) ")
# A part of a word, told in a help.
_TOLD = re.compile(r"'([a-z-]+) of' it is ([^.;:']+?)(?:[.;:]|,? (?:and|as) ')")
FEW = 8  # choices listed in a table; more stand below it
_UNITS = {
    Kind.LENGTH: " mm", Kind.SIZE: " mm", Kind.LENGTHS: " mm", Kind.STONE_SIZE: " mm",
    Kind.ANGLE: " deg", Kind.MASS: " g",
}  # fmt: skip


def overview(words: Mapping[str, Word], width: int) -> list[str]:
    """The groups with their words."""
    rows = [(group, f"{title}: {', '.join(_members(group, words))}") for group, title in GROUPS.items()]
    return [
        *fold("What you can write, in the order one learns it:", width), "",
        *in_columns(rows, width), "",
        *fold("posy words settings lists a group, posy words bezel tells all about a word, and posy "
              "words milgrain finds the word for what the trade calls so. posy words metal and posy "
              "words gem list metals and stones.", width),
    ]  # fmt: skip


def group_page(group: str, words: Mapping[str, Word], width: int) -> list[str]:
    """The words of a group with a sentence each."""
    rows = [(name, _sentence(words[name].help)) for name in _members(group, words)]
    title = GROUPS[group]
    return [*fold(f"{title[:1].upper()}{title[1:]}", width), "", *in_columns(rows, width), "",
            *fold("posy words WORD tells all about one.", width)]  # fmt: skip


def lines(words: Mapping[str, Word]) -> list[str]:
    """Every word in a line."""
    return [f"{word.name}: {_sentence(word.help)}" for word in words.values()]


def _members(group: str, words: Mapping[str, Word]) -> list[str]:
    return [name for name, filed in FILED.items() if filed == group and name in words]


def _sentence(text: str) -> str:
    return text.partition(". ")[0].rstrip(".") + "."


def plain(prose: str) -> str:
    """What a page says of a block, as one paragraph without Markdown's marks."""
    shown = (line for line in prose.split("\n") if not line.startswith("!["))
    return " ".join(" ".join(shown).replace("`", "").split())


def page(word: Word, width: int) -> list[str]:
    """One word in full."""
    told = fold(f"{word.name}: {word.help}", width)
    rows = [(take.name, _told(take, word)) for take in word.takes]
    told += _section("Clauses", rows, width)
    for names in word.one_of:
        more = f"; beside {', '.join(word.by_turns)} several, by turns" if word.by_turns else ""
        told += ["", *fold(f"Say one of {', '.join(names)}{more}.", width)]
    if word.places:
        own = {take.name: take for take in word.takes}
        common = ", ".join(one.name for one in PLACING if one.name not in own and may_mean(one, own))
        told += ["", *fold(f"Where it stands (posy words placing): {common}.", width)]
    if handed_down(word):
        common = " and ".join(handed_down(word))
        told += ["", *fold(f"For all it makes, as on a workpiece (posy words workpiece): {common}.", width)]
    if served(word):
        told += ["", *fold(f"It serves as {served(word)}.", width)]
    for take in word.takes:
        if len(take.choices) > FEW:
            # Metals and stones have a list of their own.
            listed = f"{take.name} is one of {', '.join(take.choices)}."
            listed = f"posy words {take.name} lists what {take.name} may be." if take.hint else listed
            told += ["", *fold(listed, width)]
    offers = [(f"{key} of …", what) for key, what in offered(word).items()]
    told += _section("Asked of it by others", offers, width)
    if word.name == "placing":
        told += _section("Clauses", [(take.name, _told(take, word)) for take in PLACING], width)
    return told


def offered(word: Word) -> Mapping[str, str]:
    """What others are meant to ask of what a word makes: of one written in posy the parts that a help of it
    tells as 'NAME of' (its other parts answer too), of a setting with a wall or a tray its edges."""
    if word.body is None:
        return word.offers
    helps = (word.help, *(take.help for take in word.takes))
    told = dict(part for said in helps for part in _TOLD.findall(said))
    if word.group != "settings" or Role.PRONG in word.roles:
        return told
    lines = (line.word.name for line in tree.work_in(word.body.lines) if isinstance(line, tree.Feature))
    walls = (core_words()[name].offers for name in lines if name in core_words())
    wall: Mapping[str, str] = next((one for one in walls if "waist" in one), {})
    return {**{key: wall[key] for key in ("rim", "waist") if key in wall}, **told}


def handed_down(word: Word) -> tuple[str, ...]:
    """The clauses a word written in posy hands down to the metal it makes; none if it makes none."""
    group = all_words().get("workpiece")
    handed = handed_by(word, group) if word.body is not None else {}
    return tuple(handed) if handed and _makes_metal(word, frozenset(handed)) else ()


def _makes_metal(word: Word, keys: frozenset[str]) -> bool:
    """Whether some line of a word, or of a word it uses, takes what is handed down."""
    if word.body is None:
        return word.made_by is not None and any(take.name in keys for take in word.takes)
    words = all_words()
    used = (line.word.name for line in tree.work_in(word.body.lines) if isinstance(line, tree.Feature))
    return any(name in words and name != word.name and _makes_metal(words[name], keys) for name in used)


def served(word: Word) -> str:
    """The roles a word has, of those a text may name: "setting, prong"; empty for none."""
    return ", ".join(role for role in SAID if role in word.roles)


def example_lines(texts: Iterable[str], width: int) -> list[str]:
    """An example that can be made as it stands, broken only where a line may be carried on."""
    rows = [row.replace(KEPT, " ") for text in texts for line in text.strip("\n").split("\n")
            for row in fold(_INSIDE.sub(KEPT, line), width, "  ", "      ")]  # fmt: skip
    return ["", "For example", *rows] if rows else []


def _section(title: str, rows: list[tuple[str, str]], width: int) -> list[str]:
    """Rows in columns under a title; nothing when there are none."""
    return ["", title, *in_columns(rows, width, most=16)] if rows else []


def _told(take: Take, word: Word) -> str:
    return f"{take.help[:1].upper()}{take.help[1:]} ({how_written(take, word)})."


def how_written(take: Take, word: Word) -> str:
    """Kind, range, default and whether it is needed: "length, 0.5 mm, needed"."""
    written = take.kind.written
    if take.kind is Kind.SIZE:
        written = written.format(size=_size(take.parts))
    notes = [written]
    if many := len(take.choices):
        first = f"{', '.join(take.choices[:3])} … ({many} choices)"
        notes = [" | ".join(take.choices) if many <= FEW else first]
    bench = row_of(take, word).bench
    notes += [f"at the bench {bench}"] if bench else _range(take)
    held = usual(take, word)
    said = [names for names in word.one_of if take.name in names]
    if take.needed:
        notes.append("needed")
    elif said:
        notes.append("say one of these")
    elif held is not None:
        notes.append(f"usual {held}")
    if take.goes_with:
        notes.append(f"with {either(take.goes_with)}")
    if take.not_with:
        notes.append(f"not with {either(take.not_with)}")
    return ", ".join(notes)


def _size(parts: tuple[int, ...]) -> str:
    """A size of so many members, as one writes it; "2 or 2 x 1" when several will do."""
    members = ("length", "width", "thickness")
    return " or ".join(" x ".join(members[:count]) for count in parts or (2,))


def _range(take: Take) -> list[str]:
    """The bounds of a clause in words, in the unit of its kind."""
    unit = _UNITS.get(take.kind, "")
    factor = 1.0
    if take.kind is Kind.PERCENT:
        unit, factor = " %", 100.0
    if take.least == SMALLEST and take.most == LARGEST:
        return []  # the size of a piece: it says nothing
    low = None if take.least is None else f"from {take.least * factor:g}{unit}"
    if take.over is not None:
        low = f"over {take.over * factor:g}{unit}"
    high = None if take.most in (None, LARGEST) else f"to {take.most * factor:g}{unit}"
    return [" ".join(one for one in (low, high) if one)] if low or high else []


def word_record(word: Word) -> dict[str, Any]:
    """One word as plain data."""
    return {
        "name": word.name,
        "group": FILED.get(word.name, word.group),
        "help": word.help,
        "places": word.places,
        "serves_as": [str(role) for role in SAID if role in word.roles],
        "takes": [take_record(take) for take in word.takes],
        "one_of": [list(names) for names in word.one_of],
        "offers": dict(offered(word)),
        "example": word.example,
    }


def take_record(take: Take) -> dict[str, Any]:
    """One clause as plain data; bounds in mm, g, degrees, shares of 1."""
    return {
        "name": take.name,
        "kind": take.kind.value,
        "help": take.help,
        "needed": take.needed,
        "default": take.default,
        "choices": list(take.choices),
        "parts": list(take.parts),
        "least": take.least,
        "over": take.over,
        "most": take.most,
        "with": list(take.goes_with),
        "not_with": list(take.not_with),
    }
