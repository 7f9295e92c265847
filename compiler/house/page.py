"""What `posy why bench.toml` tells: every table the file may hold, and every key."""

from __future__ import annotations

from typing import Any

from ...lang.folding import fold
from ...stdlib.house_rows import NEEDED, HouseRow, house_rows
from ...stdlib.provenance import told
from . import FILE
from .kinds import like, shown_bounds

_HEAD = (
    f"{FILE} holds what is your own: limits of the bench rules, metals and stones, prices. It lies beside "
    "your pieces, or in a folder above them. A rule has a table of its name; posy why RULE tells its "
    "figures. Besides these there are:"
)
_NAMES = {
    "NEW": "NAME: what you call it.", "ANY": "NAME: what you call it.", "METAL": "METAL: a metal by its "
    "name in the table of metals, or one of your own.", "GEM": "GEM: a stone by its name, or one of your "
    "own.", "FAMILY": "FAMILY: gold, silver, platinum, palladium, bronze or brass.",
    "KIND": "KIND: gold, silver, platinum, palladium, bronze or brass; any, for all that have no table "
    "of their own.", "CURRENCY": "CURRENCY: its code, as in USD.",
}  # fmt: skip


def page(width: int) -> list[str]:
    """All tables as lines of text, each key with an example and what holds without it."""
    lines = fold(_HEAD, width)
    for table, rows in house_rows().items():
        head, _, kind = table.rpartition(".")
        if table:
            shown = f"{head}.{'NAME' if kind in ('NEW', 'ANY') else kind}" if head else table
            lines += ["", f"[{shown}]"]
            lines += fold(_NAMES[kind], width, "    ") if head else []
        else:
            lines.append("")
        for row in rows.values():
            lines += fold(f"{row.key} = {like(row)}", width)
            lines += fold(" ".join((row.says, *_without(row))), width, "    ")
    return lines


PRICED = (
    "cost", "fine", "alloy", "casting", "stone", "setting", "rate", "step", "bought", "hallmark", "exchange",
)  # fmt: skip
"""The tables of what things cost, as a price is reckoned."""
_FIRST = {"FAMILY": "gold", "METAL": "silver-925", "KIND": "any", "CURRENCY": "USD"}  # a name to begin with
_BLANK = f"""\
# {FILE}: what metal, stones and work cost at your bench. It lies beside your pieces, or in a folder above.
# Nothing is filled in. To say something, take the first '# ' from its table and its line, and write it
# between the quotes: a price as an amount and the code of its currency, a share as so many %,
# a time in min. A day is written without quotes: year-month-day. Lines of no use to you may stay as they are.
# A table may stand several times, each with a name of its own in place of name, gold, silver-925, any or USD.
# posy why {FILE} shows every line with a sample; posy cost PIECE.posy tells what is still missing.
"""


def blank() -> str:
    """A bench to fill in: every table of prices with what each line means, and no figure."""
    lines = [_BLANK]
    for table, rows in house_rows().items():
        head, _, kind = table.partition(".")
        if head in PRICED:
            lines.append(f"# [{head}.{_FIRST.get(kind, 'name')}]" if kind else f"# [{head}]")
            for row in rows.values():
                must = " It must be given." if row.usual == NEEDED else ""
                lines += [f"# # {row.says}{must}", f"# {row.key} =" + ("" if row.kind == "date" else ' ""')]
            lines.append("")
    return "\n".join(lines)


def record() -> dict[str, Any]:
    """The same as plain data."""
    return {
        "name": FILE,
        "keys": [
            {
                "table": row.table, "key": row.key, "kind": row.kind, "least": row.least,
                "most": row.most, "usual": row.usual if row.usual != NEEDED else None,
                "needed": row.usual == NEEDED, "example": like(row), "says": row.says,
                "source": told(row.source, brief=True),
            }
            for rows in house_rows().values() for row in rows.values()
        ],
    }  # fmt: skip


def _without(row: HouseRow) -> list[str]:
    bounds = shown_bounds(row)
    said = [f"{bounds[:1].upper()}{bounds[1:]}."] if bounds else []
    if row.usual == NEEDED:
        return [*said, "It must be given."]
    return [*said, f"Usual: {row.usual}."] if row.usual else said
