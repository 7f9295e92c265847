"""Words as text and as Markdown, from the records that check them: `posy words`, the reference."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from ...lang.companions import either
from ...lang.placing import PLACING
from ...lang.words import Kind, Take, Word
from ..bench.roles import SAID

COLUMNS = 100  # what a terminal shows of a line
WRITTEN_WIDE = 44  # of a line: how a clause is written; what it says begins below if longer
# What kind of value stands there.
WRITTEN = {
    Kind.LENGTH: "length",
    Kind.ANGLE: "angle",
    Kind.MASS: "mass",
    Kind.COUNT: "count",
    Kind.NUMBER: "number",
    Kind.SHARE: "share",
    Kind.TEXT: "text",
    Kind.FLAG: "said or not",
    Kind.CHOICE: "choice",
    Kind.SIZE: "size, {size}",
    Kind.COUNTS: "counts, 2 x 1",
    Kind.STONE_SIZE: "size in mm or weight in ct",
    Kind.LENGTHS: "lengths, 2 mm to 1 mm",
    Kind.POINTS: "run of spots, (0, 0) to (4, 0 mm)",
    Kind.PLACES: "places",
    Kind.LINE: "line",
    Kind.FEATURE: "feature",
    Kind.STONES: "stones",
    Kind.ANY: "any value",
}
FEW = 8  # choices listed in a table; more stand below it
_UNITS = {
    Kind.LENGTH: " mm", Kind.SIZE: " mm", Kind.LENGTHS: " mm", Kind.STONE_SIZE: " mm",
    Kind.ANGLE: " deg", Kind.MASS: " g",
}  # fmt: skip


def grouped(words: Sequence[Word]) -> dict[str, list[Word]]:
    """Words by group, groups and words in the order they are offered."""
    groups: dict[str, list[Word]] = {}
    for word in words:
        groups.setdefault(word.group, []).append(word)
    return groups


def overview(words: Mapping[str, Word]) -> list[str]:
    """One line a word, by group."""
    wide = max(map(len, words), default=0) + 2
    lines: list[str] = []
    for group, members in grouped(list(words.values())).items():
        lines += ["", group] if lines else [group]
        for word in members:
            lines += _row(word.name, "", _sentence(word.help), wide + 2, 2)
    return [*lines, "", f"{share(words.values())} posy words WORD tells its clauses."]


def share(words: Iterable[Word]) -> str:
    """How many of the words are written in posy itself; blocks that have no record left out."""
    made = [word for word in words if word.body or word.made_by or word.places]
    own = sum(word.body is not None for word in made)
    return f"{own} of {len(made)} words are written in posy."


def _sentence(text: str) -> str:
    """The first sentence of a help."""
    return text.partition(". ")[0].rstrip(".") + "."


def plain(prose: str) -> str:
    """What a page says of a block, as one paragraph without Markdown's marks."""
    return " ".join(prose.replace("`", "").split())


def page(word: Word) -> list[str]:
    """One word in full, as text of at most COLUMNS columns."""
    lines = textwrap.wrap(f"{word.name} ({word.group}): {word.help}", COLUMNS)
    rows = [(take.name, how_written(take, word), take.help) for take in word.takes]
    lines += _table("clauses", rows)
    if word.places:
        names = " ".join(take.name for take in PLACING if word.take(take.name) is None)
        lines += ["", *_wrapped(f"placing clauses too: {names}", "")]
    if served(word):
        lines += ["", f"serves as {served(word)}"]
    for take in word.takes:
        if len(take.choices) > FEW:
            lines += ["", f"{take.name} is one of", *_wrapped(", ".join(take.choices), "  ")]
    lines += _table("offers", [(f"{key} of …", "", what) for key, what in word.offers.items()])
    if word.example:
        lines += [
            "",
            "example",
            *(f"  {line}".rstrip() for line in word.example.strip("\n").split("\n")),
        ]
    return lines


def served(word: Word) -> str:
    """The roles a word has, of those a text may name: "setting, prong"; empty for none."""
    return ", ".join(role for role in SAID if role in word.roles)


def _wrapped(text: str, indent: str) -> list[str]:
    """Text in as few lines as fit, names with hyphens kept whole."""
    return textwrap.wrap(
        text, COLUMNS, initial_indent=indent, subsequent_indent=indent or "  ",
        break_on_hyphens=False,
    )  # fmt: skip


def _table(title: str, rows: Sequence[tuple[str, str, str]]) -> list[str]:
    """Rows in columns under a title; nothing when there are none."""
    if not rows:
        return []
    first = max(len(name) for name, _, _ in rows) + 4
    second = max((len(one) for _, one, _ in rows if len(one) <= WRITTEN_WIDE), default=0) + 2
    return ["", title, *(line for row in rows for line in _row(*row, first, second))]


def _row(name: str, written: str, what: str, first: int, second: int) -> list[str]:
    """A row; what it says goes below when how it is written takes too much of the line."""
    start = f"  {name:<{first - 2}}"
    if len(written) + 2 <= second:
        start += f"{written:<{second}}" if written else ""
        return textwrap.wrap(
            what, COLUMNS, initial_indent=start, subsequent_indent=" " * len(start)
        )
    inner = " " * (first + 2)
    return [
        *textwrap.wrap(written, COLUMNS, initial_indent=start, subsequent_indent=inner),
        *textwrap.wrap(what, COLUMNS, initial_indent=inner, subsequent_indent=inner),
    ]


def how_written(take: Take, word: Word) -> str:
    """Kind, range, default and whether it is needed: "length, 0.5 mm, needed"."""
    written = WRITTEN[take.kind]
    if take.kind is Kind.SIZE:
        written = written.format(size=_size(take.parts))
    notes = [written]
    if take.choices:
        notes = (
            [" | ".join(take.choices)] if len(take.choices) <= FEW else [_first(take.choices)]
        )
    notes += _range(take)
    if take.default is not None:
        notes.append(f"else {take.default}")
    elif take.needed:
        notes.append("needed")
    if any(take.name in names for names in word.one_of):
        notes.append("one of these")
    if take.goes_with:
        notes.append(f"with {either(take.goes_with)}")
    if take.not_with:
        notes.append(f"not with {either(take.not_with)}")
    return ", ".join(notes)


def _size(parts: tuple[int, ...]) -> str:
    """A size of so many members, as one writes it; "2 or 2 x 1" when several will do."""
    members = ("2", "1", "3")
    return " or ".join(" x ".join(members[:count]) for count in parts or (2,))


def _first(choices: tuple[str, ...]) -> str:
    """The first few of a long list of choices."""
    return f"{', '.join(choices[:3])} … ({len(choices)} choices)"


def _range(take: Take) -> list[str]:
    """The bounds of a clause in words, in the unit of its kind."""
    unit = _UNITS.get(take.kind, "")
    factor = 1.0
    if take.kind is Kind.SHARE:
        unit, factor = " %", 100.0
    low = None if take.least is None else f"from {take.least * factor:g}{unit}"
    if take.over is not None:
        low = f"over {take.over * factor:g}{unit}"
    high = None if take.most is None else f"to {take.most * factor:g}{unit}"
    return [" ".join(one for one in (low, high) if one)] if low or high else []


def markdown(words: Sequence[Word], *, whole: bool) -> str:
    """The reference as Markdown."""
    lines = ["# The words of posy", ""] if whole else []
    for group, members in grouped(words).items():
        lines += [f"## {group.capitalize()}", ""] if whole else []
        for word in members:
            lines += _markdown_word(word)
    if whole:
        lines += ["## Placing clauses", "", "Common to every word that has a place.", ""]
        lines += _rows([(take.name, _plain(take), take.help) for take in PLACING])
    return "\n".join(lines).rstrip("\n")


def _plain(take: Take) -> str:
    """How a placing clause is written."""
    return how_written(take, Word("", "", ""))


def _markdown_word(word: Word) -> list[str]:
    """One word under its own heading."""
    lines = [f"### {word.name}", "", word.help, ""]
    if word.takes:
        lines += _rows([(t.name, how_written(t, word), t.help) for t in word.takes])
    if word.places:
        lines += ["Takes the placing clauses.", ""]
    if served(word):
        lines += [f"Serves as {served(word)}.", ""]
    if word.offers:
        lines += [
            "Offers " + ", ".join(f"`{k}` ({v})" for k, v in word.offers.items()) + ".",
            "",
        ]
    if word.example:
        lines += ["```posy", word.example.strip("\n"), "```", ""]
    return lines


def _rows(rows: Sequence[tuple[str, str, str]]) -> list[str]:
    """A Markdown table of clauses."""
    cells = [tuple(cell.replace("|", "\\|") for cell in row) for row in rows]
    return [
        "| clause | value | what it says |",
        "|---|---|---|",
        *(f"| `{name}` | {value} | {what} |" for name, value, what in cells),
        "",
    ]


def word_record(word: Word) -> dict[str, Any]:
    """One word as plain data."""
    return {
        "name": word.name,
        "group": word.group,
        "help": word.help,
        "places": word.places,
        "serves_as": [str(role) for role in SAID if role in word.roles],
        "takes": [take_record(take) for take in word.takes],
        "one_of": [list(names) for names in word.one_of],
        "offers": dict(word.offers),
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
