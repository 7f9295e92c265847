"""The text of a bench.toml read, table by table; see house.py for what it may say."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from typing import Any

from ...lang.faults import Fault, Level
from ...lang.source import Source
from ...lang.suggest import did_you_mean
from ...lang.values import ANGLE, LENGTH, MASS, factors_to
from ...stdlib.alloys import FAMILIES, Alloy
from ...stdlib.gems import Gem
from ...stdlib.limits import ANY, Limit, limits_of

FILE = "bench.toml"
OWN = ("metal", "gem")  # tables of rows of the house's own
LEVELS = (*(level.value for level in Level), "off")
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


class HouseReader:
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
        """How much the rule's verdicts matter here."""
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
