"""House limits: the file bench.toml of a workshop, read and checked.

    name = "Bench at the harbour"       # optional, shown as the source of the figures

    [thin-wall]                         # a table per rule (posy why lists the rules)
    least = "0.9 mm"                    # a figure of that rule (posy why thin-wall)
    level = "fault"                     # fault, warning, note or off

    [thin-wall.silver]                  # figures for one metal family alone
    least = "1.0 mm"

    [metal.mill-silver]                 # an alloy or a gem of your own: see own_rows
    [gem.sea-glass]

The nearest bench.toml counts, alone: in the piece's own folder, else in the folders above it,
up to the folder posy is run in if the piece lies below that, or to one that holds a ``.git``.
``level`` moves a rule's warnings and faults to the level it names (notes stay notes); "off"
leaves the rule out.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import field
from pathlib import Path
from typing import Any

from ...lang.faults import Fault, Level
from ...lang.lean import dataclass
from ...lang.loader import Files
from ...lang.source import Source
from ...lang.suggest import did_you_mean
from ...lang.values import ANGLE, LENGTH, MASS, factors_to
from ...stdlib.alloys import FAMILIES, Alloy
from ...stdlib.gems import Gem
from ...stdlib.limits import ANY, Limit, limits_of

FILE = "bench.toml"
OWN = ("metal", "gem")  # tables of rows of the house's own
LEVELS = (*(level.value for level in Level), "off")
MOST_BYTES = 100_000
# A house figure further from the table's than this many times is taken for a slip.
ABSURD = 20.0

_FIGURE = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+))\s*(\S*)\s*")
# Units a figure may be written in: the table's unit -> {written: factor}.
_UNITS: Mapping[str, Mapping[str, float]] = {
    "mm": factors_to(LENGTH),
    "g": factors_to(MASS),
    "deg": factors_to(ANGLE),
    "share": {"%": 0.01},
    "mm3": {"mm3": 1.0},
    "g/cm3": {"g/cm3": 1.0},
}


@dataclass(frozen=True)
class House:
    """What a bench.toml says: figures by (rule, what, family or ``*``), levels by rule.

    ``alloys`` and ``gems`` are its own. ``path`` is None without a file; ``text`` serves
    snippets; ``faults`` tell what is wrong.
    """

    name: str = FILE
    figures: Mapping[tuple[str, str, str], float] = field(default_factory=dict)
    levels: Mapping[str, str] = field(default_factory=dict)
    alloys: Mapping[str, Alloy] = field(default_factory=dict)
    gems: Mapping[str, Gem] = field(default_factory=dict)
    path: str | None = None
    text: str = ""
    faults: tuple[Fault, ...] = ()

    def figure(self, rule: str, what: str, family: str) -> float | None:
        """The house's own figure: that for the family wins."""
        own = self.figures.get((rule, what, family))
        return self.figures.get((rule, what, ANY)) if own is None else own

    def level(self, rule: str, level: Level) -> Level | None:
        """The level a finding of ``rule`` gets here; None when the rule is off."""
        said = self.levels.get(rule)
        if said == "off":
            return None
        if said is None or level is Level.NOTE:
            return level
        return Level(said)

    def off(self, rule: str) -> bool:
        """Whether the rule is left out."""
        return self.levels.get(rule) == "off"


NO_HOUSE = House()


def _working_folder() -> Path | None:
    """The working folder; None where it was removed."""
    try:
        return Path.cwd().resolve()
    except FileNotFoundError:
        return None


def places_for(piece: str | Path) -> list[Path]:
    """Where a bench.toml for this piece may lie, nearest first; see the module's text."""
    given = Path(piece)
    own, here = given.parent.resolve(), _working_folder()
    if own == here:
        return [given.parent / FILE]
    above: list[Path] = []
    folder, found = given.parent, False
    for _ in range(40):
        above.append(folder / FILE)
        real = folder.resolve()
        if real == here or (real / ".git").exists():
            found = True
            break
        if real.parent == real:
            break
        folder = folder.parent if folder.name not in ("", "..") else folder / ".."
    return above if found else above[:1]


def house_for(piece: str | Path, rules: Collection[str]) -> House:
    """The house limits that hold for a piece, on ``rules`` (their names); NO_HOUSE without a
    bench.toml."""
    for place in places_for(piece):
        if place.is_file():
            return read_house(place, rules)
    return NO_HOUSE


def house_among(files: Files, piece: str, rules: Collection[str]) -> House:
    """The house limits beside a piece whose files are not read from the disk (an editor's)."""
    place = (Path(piece).parent / FILE).as_posix()
    try:
        return parse_house(files.read(place), place, rules)
    except OSError:
        return NO_HOUSE


def read_house(path: str | Path, rules: Collection[str]) -> House:
    """Read and check one bench.toml; what is wrong with it comes as faults."""
    shown = Path(path).as_posix()
    try:
        with Path(path).open("rb") as stream:
            data = stream.read(MOST_BYTES + 1)
    except OSError as error:
        fault = Fault("house-not-read", f"{shown} cannot be read: {error.strerror}", None)
        return House(path=shown, faults=(fault,))
    return parse_house(data, shown, rules)


def parse_house(data: bytes, path: str, rules: Collection[str]) -> House:
    """As ``read_house`` for bytes already read."""
    text = data.decode("utf-8", "replace")
    reader = _Reader(Source(text, path), rules)
    if len(data) > MOST_BYTES:
        reader.tell(
            "house-not-toml",
            "this file is too large for house limits",
            1,
            "",
            limit=f"at most {MOST_BYTES:,} bytes",
        )
        return House(path=path, text="", faults=tuple(reader.faults))
    import tomllib  # few pieces have house limits

    try:
        tables = tomllib.loads(data.decode("utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError) as error:
        reader.not_toml(str(error))
    else:
        reader.read(tables)
    return House(
        reader.name, reader.figures, reader.levels, reader.alloys, reader.gems, path, text,
        tuple(reader.faults),
    )  # fmt: skip


class _Reader:
    """Walks the tables of one file, gathering figures and faults."""

    def __init__(self, source: Source, rules: Collection[str]) -> None:
        self.source, self.rules = source, rules
        self.name = FILE
        self.figures: dict[tuple[str, str, str], float] = {}
        self.levels: dict[str, str] = {}
        self.alloys: dict[str, Alloy] = {}
        self.gems: dict[str, Gem] = {}
        self.faults: list[Fault] = []

    # -- faults

    def tell(self, code: str, message: str, row: int, word: str, **more: str | None) -> None:
        """A fault at ``word`` of line ``row``."""
        line = self.source.line(row)
        column = max(0, line.find(word)) if word else 0
        start = self.source.starts[min(row, len(self.source.starts)) - 1] + column
        span = self.source.span(start, start + len(word))
        self.faults.append(Fault(code, message, span, **more))  # type: ignore[arg-type]

    def not_toml(self, said: str) -> None:
        """The parser's own complaint, at its place."""
        found = re.search(r" \(at (?:line (\d+), column (\d+)|end of document)\)$", said)
        row = int(found[1]) if found and found[1] else len(self.source.starts)
        plain = said[: found.start()] if found else "it is not UTF-8"
        self.tell(
            "house-not-toml",
            f"this is not TOML: {plain[:1].lower()}{plain[1:]}",
            row,
            "",
            remedy='below a line [thin-wall], write: least = "0.9 mm"',
        )

    def at(self, table: str, key: str | None = None) -> tuple[int, str]:
        """Line and word of a table's head, or of a key in it."""
        current = ""
        for row in range(1, len(self.source.starts) + 1):
            line = self.source.line(row)
            head = re.match(r"\s*\[\s*([^\]]*?)\s*\]", line)
            if head:
                current = re.sub(r"[\"'\s]", "", head[1])
                if key is None and current == table:
                    return row, head[1]
            said = re.match(r"\s*([^=#\[]+?)\s*=", line)
            if key is not None and said:
                full = re.sub(r"[\"'\s]", "", said[1])
                wanted = f"{table}.{key}" if table else key
                if (f"{current}.{full}" if current else full) == wanted:
                    return row, said[1]
        return (1, "") if key is None else self.at(table)

    def wrong(self, code: str, message: str, table: str, key: str | None, **more: Any) -> None:
        """A fault at a table or at a key in it."""
        row, word = self.at(table, key)
        self.tell(code, message, row, word, **more)

    # -- reading

    def read(self, tables: Mapping[str, Any]) -> None:
        """The whole file."""
        names = self.rules
        for key, value in tables.items():
            if key == "name":
                self.house_name(value)
            elif key in OWN and isinstance(value, dict):
                self.own_rows(key, value)
            elif key not in names:
                table, at = (key, None) if isinstance(value, dict) else ("", key)
                self.wrong(
                    "house-unknown-rule",
                    f"there is no rule '{key}'",
                    table,
                    at,
                    seen=key,
                    remedy=did_you_mean(key, (*names, "name"))
                    or "posy why lists the rules",
                )
            elif not isinstance(value, dict):
                self.wrong(
                    "house-wrong-figure",
                    f"{key} is a rule: it wants a table",
                    "",
                    key,
                    remedy=f"write a line '[{key}]' and its figures below it",
                )
            else:
                self.rule(key, value)

    def house_name(self, value: Any) -> None:
        """The name the figures are shown under."""
        if isinstance(value, str) and 0 < len(value.strip()) <= 80 and value.isprintable():
            self.name = f"{value.strip()}, {FILE}"
            return
        self.wrong(
            "house-wrong-figure",
            "the name of the house is a short text",
            "",
            "name",
            remedy='as in: name = "Bench at the harbour"',
        )

    def own_rows(self, kind: str, rows: Mapping[str, Any]) -> None:
        """The house's own alloys or gems."""
        from .own_rows import own_gem, own_metal  # few houses have any

        for name, row in rows.items():
            table = f"{kind}.{name}"

            def tell(key: str | None, message: str, table: str = table, **more: Any) -> None:
                self.wrong("house-wrong-row", message, table, key, **more)

            if not isinstance(row, dict):
                tell(None, f"{table} wants a table of its own", remedy=f"write a line [{table}]")
            elif kind == "metal":
                if (alloy := own_metal(name, row, self.name, tell)) is not None:
                    self.alloys[name] = alloy
            elif (gem := own_gem(name, row, self.name, tell)) is not None:
                self.gems[name] = gem

    def rule(self, rule: str, table: Mapping[str, Any]) -> None:
        """The table of one rule."""
        for key, value in table.items():
            if key == "level":
                self.level(rule, value)
            elif key in FAMILIES and isinstance(value, dict):
                for what, figure in value.items():
                    self.figure(rule, what, figure, key)
            else:
                self.figure(rule, key, value, ANY)

    def level(self, rule: str, value: Any) -> None:
        """How much the rule's findings matter here."""
        if value in LEVELS:
            self.levels[rule] = value
            return
        said = value if isinstance(value, str) else str(value)
        self.wrong(
            "house-wrong-level",
            f"'{said[:40]}' is not a level",
            rule,
            "level",
            seen=said[:40],
            limit=", ".join(LEVELS),
            remedy="write hint" if said == "note" else did_you_mean(said, LEVELS),
        )

    def figure(self, rule: str, what: str, value: Any, family: str) -> None:
        """One figure of a rule."""
        table = rule if family == ANY else f"{rule}.{family}"
        rows = {row.what: row for row in limits_of(rule)}
        if what not in rows:
            known = ", ".join((*rows, "level")) if rows else "level"
            self.wrong(
                "house-unknown-figure",
                f"{rule} has no figure '{what}'",
                table,
                what,
                seen=what,
                limit=known,
                remedy=did_you_mean(what, (*rows, "level", *FAMILIES))
                or f"posy why {rule} lists its figures",
            )
            return
        found, trouble = figure_of(value, rows[what].unit)
        if found is None:
            self.wrong(
                "house-wrong-figure",
                f"{what} of {rule}: {trouble}",
                table,
                what,
                seen=str(value)[:40],
                remedy=f"as in '{what} = {_like(rows[what])}'",
            )
            return
        for limit, bad in self.sane(rule, what, found):
            self.wrong(
                "house-wrong-figure",
                f"{what} of {rule}: {bad}",
                table,
                what,
                seen=str(value)[:40],
                limit=limit,
                remedy="check the figure and its unit",
            )
            return
        self.figures[rule, what, family] = found

    def sane(self, rule: str, what: str, figure: float) -> Iterator[tuple[str, str]]:
        """What is wrong with a figure that reads well: (limit, message)."""
        if figure < 0:
            yield "0 or more", "a limit is never negative"
        usual = [row.figure for row in limits_of(rule) if row.what == what and row.figure > 0]
        if usual and figure > 0:
            row = next(row for row in limits_of(rule) if row.what == what)
            low, high = min(usual) / ABSURD, max(usual) * ABSURD
            if not low <= figure <= high:
                yield (
                    f"from {shown_figure(low, row.unit)} to {shown_figure(high, row.unit)}",
                    f"usual is {shown_figure(row.figure, row.unit)}; this must be a slip",
                )


def figure_of(value: Any, unit: str) -> tuple[float | None, str]:
    """A figure of bench.toml in the table's unit; or None, and what is wrong with it."""
    units = _UNITS.get(unit)
    if isinstance(value, bool) or not isinstance(value, (int, float, str)):
        return None, "this is no figure"
    found = _FIGURE.fullmatch(str(value))
    if found is None:
        return None, f"'{str(value)[:40]}' is no figure"
    figure, written = float(found[1]), found[2]
    if units is None:
        if written:
            return None, f"it is a plain number, without '{written[:20]}'"
        if unit == "count" and figure != int(figure):
            return None, "it is a whole number"
        return figure, ""
    if not written:
        return None, f"it needs its unit, {' or '.join(units)}"
    if written not in units:
        return None, f"'{written[:20]}' is not a unit it can have: {', '.join(units)}"
    return figure * units[written], ""


def shown_figure(figure: float, unit: str) -> str:
    """A limit as people read it."""
    if unit == "share":
        return f"{100 * figure:.4g} %"
    if unit in ("count", "ratio", "mohs"):
        return f"{figure:.4g}" + (" times" if unit == "ratio" else "")
    return f"{figure:.4g} {unit}"


def _like(row: Limit) -> str:
    """An example of a figure in TOML."""
    if row.unit in _UNITS:
        return f'"{shown_figure(row.figure, row.unit)}"'
    return f"{row.figure:g}"
