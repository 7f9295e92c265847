"""The records of the commands that hand a piece over: what it costs, what each needs who works on it."""

from __future__ import annotations

from collections.abc import Mapping

from ..terminal import options as shared
from ..terminal.forms import Command, Option, listed

RECEIVERS: Mapping[str, str] = {
    "caster": "who prints and casts it",
    "setter": "who sets the stones",
    "stones": "who sells the stones",
    "all": "each of them",
}
_MOST = 10_000


def _receivers(text: str) -> tuple[str, ...]:
    """Receivers with commas between; ``all`` is every one."""
    names = listed("receiver", tuple(RECEIVERS))(text)
    return tuple(name for name in RECEIVERS if name != "all") if "all" in names else names


COST = Command(
    "cost",
    "Tells what a piece costs and what it is sold for, by the prices in bench.toml",
    "Metal by its weight and dated price, casting, stones, setting, steps of the work, bought parts, "
    "hallmarks, your margin, tax, rounding. Every figure says where it comes from. A price that is "
    "missing or old is told, never guessed, and none leaves this machine. What bench.toml may say: "
    "posy why bench.toml.",
    shared.PIECE,
    "What it comes to, line by line; of several metals or a series, side by side.",
    (
        "posy cost ring.posy",
        "posy cost ring.posy --metal 18k,platinum-950 --date 2025-03-31",
        "posy cost ring.posy --quote",
    ),
    (
        shared.SET,
        Option("--metal", "Reckons it in other metals, with commas between: as people call them (18k), "
               "a family (gold), or all.", "LIST", "18k,platinum-950", "the metal in the text",
               shared.alloys, ()),
        shared.SERIES,
        shared.DATE,
        Option("--reckoning", "Writes it as a sheet for the house, to print, with the same as CSV and JSON.",
               without="it is told in the terminal alone", usual=False),
        Option("--quote", "Writes the customer's sheet: a drawing, what it is, and the price, without any "
               "figure of the house.", without="no quote is written", usual=False),
        shared.INTO, shared.TOLERANCE, *shared.COMMON,
    ),
)  # fmt: skip

ORDER = Command(
    "order",
    "Writes what those who work on a piece need: caster, setter, stone dealer",
    "A folder and the same as a zip. Each sheet is one HTML file that prints on A4 and on US letter, "
    "and a PDF where a browser is at hand; the same figures stand beside it as JSON and CSV. What your "
    "workshop adds to them (spare stones, projection, densities) stands in bench.toml: posy why bench.toml.",
    shared.PIECE,
    "The folder NAME-order with a folder for each: for the caster meshes, a drawing with figures, metal, "
    "weights and checksums; for the setter numbered stones, settings cut through, figures and cautions; "
    "for the dealer the stones by gem, cut and size, with spares.",
    (
        "posy order ring.posy --to caster --shrink 1.25%",
        "posy order ring.posy --to all --count 3 --date 2025-03-31",
    ),
    (
        Option("--to", f"For whom. {shared.described(RECEIVERS)}.", "LIST", "caster,stones", "all",
               _receivers, tuple(name for name in RECEIVERS if name != "all")),
        Option("--count", "How many of the piece are ordered.", "NUMBER", "3", "1",
               shared.whole(f"no number of pieces from 1 to {_MOST:,}", _MOST), 1),
        Option("--finish", "How the caster is to hand it over, in your words.", "TEXT", '"raw, sprues cut"',
               "as cast, sprues cut off"),
        shared.DATE, shared.SET, shared.METAL, shared.AS, shared.INTO, shared.SHRINK,
        Option("--strict", "Writes nothing when there are warnings.",
               without="only faults keep sheets from being written", usual=False),
        shared.TOLERANCE, *shared.COMMON,
    ),
)  # fmt: skip
