"""`posy words`: the reference, from the same records that check the text."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Mapping, Sequence
from typing import Any

from ...lang.words import Kind, Take, Word
from . import shared

DETAILS = (
    "Every word lists its clauses with kind, range and default, and what others may ask of it."
)

# What a reader writes for each kind of value.
WRITTEN = {
    Kind.LENGTH: "length, 2.5 mm",
    Kind.ANGLE: "angle, 30 deg",
    Kind.MASS: "mass, 1.2 g",
    Kind.COUNT: "count, 7",
    Kind.NUMBER: "number, 1.5",
    Kind.SHARE: "share, 40 %",
    Kind.TEXT: 'text, "A"',
    Kind.FLAG: "said or not",
    Kind.CHOICE: "choice",
    Kind.SIZE: "size, {size} mm",
    Kind.COUNTS: "counts, 3 x 4",
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


def options(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("word", nargs="?", metavar="WORD", help="one word, in full")
    parser.add_argument(
        "--as",
        dest="form",
        choices=("text", "json", "md"),
        default="text",
        help="how to show it",
    )
    parser.add_argument(
        "--pages", metavar="FOLDER", help="write a page and a drawing of every word there"
    )


def run(arguments: argparse.Namespace) -> int:
    """Print the reference, or one word of it."""
    from ..build import all_words

    if arguments.pages:
        return _write_pages(arguments)
    words = all_words()
    chosen = list(words.values()) if arguments.word is None else [_chosen(arguments.word, words)]
    if arguments.form == "json":
        records = [word_record(word) for word in chosen]
        report = {"posy": 1, "placing": [_take_record(take) for take in _placing()]}
        print(json.dumps({**report, "words": records}, indent=2, ensure_ascii=False))
    elif arguments.form == "md":
        print(markdown(chosen, whole=arguments.word is None))
    elif arguments.word is None:
        print("\n".join(overview(words)))
    else:
        print("\n".join(page(chosen[0])))
    return shared.DONE


def _write_pages(arguments: argparse.Namespace) -> int:
    """Write the reference as linked pages; words that cannot be drawn are told."""
    from pathlib import Path

    from ..messages import findings_text
    from ..reference import write_pages
    from .making import exit_code

    if arguments.word or arguments.form != "text":
        raise shared.Misuse("--pages writes all words as they are: leave out WORD and --as")
    written, faults, troubles = write_pages(Path(arguments.pages))
    sys.stderr.write(findings_text(faults, {}, "short", False))
    for trouble in troubles:
        print(f"posy: no drawing of {trouble}", file=sys.stderr)
    print(f"{arguments.pages}: {len(written)} files")
    return exit_code(faults) or (shared.FAULTS if troubles else shared.DONE)


def _chosen(name: str, words: Mapping[str, Word]) -> Word:
    """The word asked for; Misuse when there is none."""
    if name in words:
        return words[name]
    from ...lang.suggest import did_you_mean

    hint = did_you_mean(name, words) or "posy words lists them"
    raise shared.Misuse(f"no word {name!r}; {hint}")


def _placing() -> Sequence[Take]:
    """The clauses all words with a place share."""
    from ...lang.placing import PLACING

    return PLACING


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
        lines += [f"  {word.name:<{wide}}{word.help}" for word in members]
    return [*lines, "", "posy words WORD tells its clauses."]


def page(word: Word) -> list[str]:
    """One word in full, as text."""
    lines = [f"{word.name} ({word.group}): {word.help}"]
    rows = [(take.name, how_written(take, word), take.help) for take in word.takes]
    lines += _table("clauses", rows)
    if word.places:
        names = " ".join(take.name for take in _placing() if word.take(take.name) is None)
        lines += ["", f"placing clauses too: {names}"]
    for take in word.takes:
        if len(take.choices) > FEW:
            lines += ["", f"{take.name} is one of", *_wrapped(take.choices)]
    lines += _table("offers", [(f"{key} of …", "", what) for key, what in word.offers.items()])
    if word.example:
        lines += [
            "",
            "example",
            *(f"  {line}" for line in word.example.strip("\n").split("\n")),
        ]
    return lines


def _wrapped(names: Sequence[str]) -> list[str]:
    """Names in as few lines as fit."""
    import textwrap

    return textwrap.wrap(
        ", ".join(names), 88, initial_indent="  ", subsequent_indent="  ",
        break_on_hyphens=False,
    )  # fmt: skip


def _table(title: str, rows: Sequence[tuple[str, str, str]]) -> list[str]:
    """Rows in columns under a title; nothing when there are none."""
    if not rows:
        return []
    first, second = (max(len(row[k]) for row in rows) + 2 for k in (0, 1))
    return [
        "",
        title,
        *(f"  {one:<{first}}{two:<{second}}{three}".rstrip() for one, two, three in rows),
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
        lines += _rows([(take.name, _plain(take), take.help) for take in _placing()])
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
        "takes": [_take_record(take) for take in word.takes],
        "one_of": [list(names) for names in word.one_of],
        "offers": dict(word.offers),
        "example": word.example,
    }


def _take_record(take: Take) -> dict[str, Any]:
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
    }
