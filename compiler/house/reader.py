"""The text of a bench.toml read, table by table, against the rows of what it may say."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from typing import Any

from ...lang.faults import Fault, Span
from ...lang.source import Source
from ...lang.suggest import did_you_mean
from ...stdlib.alloys import ALLOYS, FAMILIES, Alloy, find_alloy, metal_hint
from ...stdlib.gems import GEMS, Gem, find_gem, gem_hint
from ...stdlib.house_rows import NEEDED, HouseRow, house_rows, named_tables, rule_rows
from ...stdlib.limits import ANY
from ...stdlib.provenance import told
from . import FILE
from .kinds import Trouble, currency_of, like, value_of

_NAME = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")


@dataclass(frozen=True)
class Entry:
    """One value as the house gave it, with the place it stands in."""

    value: Any
    source: str  # As people are told: "bench.toml, line 12"
    span: Span | None = None


def usual_entry(table: str, key: str) -> Entry | None:
    """What holds without a word of the house; None where nothing does. KeyError for no such row."""
    head = table.partition(".")[0]
    kind = named_tables().get(head)
    row = house_rows()[f"{head}.{kind}" if kind else table][key]
    if row.usual in ("", NEEDED):
        return None
    written: Any = row.usual == "true" if row.kind == "yes/no" else row.usual
    return Entry(value_of(written, row), told(row.source, brief=True))


class HouseReader:
    """Walks the tables of one file, gathering values and faults."""

    def __init__(self, source: Source, rules: Collection[str]) -> None:
        self.source, self.rules = source, rules
        self.name = FILE
        self.figures: dict[tuple[str, str, str], float] = {}
        self.levels: dict[str, str] = {}
        self.alloys: dict[str, Alloy] = {}
        self.gems: dict[str, Gem] = {}
        self.tables: dict[str, dict[str, Entry]] = {}
        self.faults: list[Fault] = []

    # -- faults

    def tell(self, code: str, message: str, row: int, word: str, **more: str | None) -> None:
        """A fault at ``word`` of line ``row``."""
        self.faults.append(Fault(code, message, self.span(row, word), **more))  # type: ignore[arg-type]

    def span(self, row: int, word: str) -> Span:
        """``word`` in line ``row``."""
        line = self.source.line(row)
        column = max(0, line.find(word)) if word else 0
        start = self.source.starts[min(row, len(self.source.starts)) - 1] + column
        return self.source.span(start, start + len(word))

    def not_toml(self, said: str) -> None:
        """The parser's own complaint, at its place."""
        found = re.search(r" \(at (?:line (\d+), column (\d+)|end of document)\)$", said)
        row = int(found[1]) if found and found[1] else len(self.source.starts)
        plain = said[: found.start()] if found else said
        self.tell(
            "house-not-toml", f"this is not TOML: {plain[:1].lower()}{plain[1:]}", row, "",
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
        """The whole file; the tables that others name come first."""
        named, loose = named_tables(), house_rows()[""]
        known = {*named, *(table for table in house_rows() if "." not in table and table)}
        if "name" in tables:
            self.values("", {"name": tables["name"]}, loose)
            if "" in self.tables:
                self.name = f"{self.tables['']['name'].value}, {FILE}"
        for key, value in sorted(tables.items(), key=lambda one: one[0] not in ("metal", "gem")):
            if key in loose:
                continue
            if key not in known and key not in self.rules:
                self.unknown_table(key, isinstance(value, dict), (*self.rules, *known, *loose))
            elif not isinstance(value, dict):
                self.no_table("", key, key)
            elif key in self.rules:
                self.rule(key, value)
            elif key in named:
                self.named(key, named[key], value)
            else:
                self.values(key, value, house_rows()[key])

    def unknown_table(self, key: str, table: bool, known: tuple[str, ...]) -> None:
        """A table or a key that nothing reads."""
        self.wrong(
            "house-unknown-table", f"posy reads nothing called '{key[:40]}' here", key if table else "",
            None if table else key, seen=key[:40],
            remedy=did_you_mean(key, known) or "posy why bench.toml lists what may stand here",
        )

    def no_table(self, table: str, key: str, head: str) -> None:
        """A value where a table should be."""
        self.wrong(
            "house-wrong-figure", f"{head} wants a table of its own", table, key,
            remedy=f"write a line '[{head}]' and its figures below it",
        )

    def rule(self, rule: str, table: Mapping[str, Any]) -> None:
        """The table of one rule, and those of metals below it."""
        rows = rule_rows(rule)
        own = {key: value for key, value in table.items() if key in FAMILIES and isinstance(value, dict)}
        said = {key: value for key, value in table.items() if key not in own}
        # Figures are judged for the rule as a whole; what they hold for comes of their table.
        for family, values in ((ANY, said), *own.items()):
            rest = rows if family == ANY else {key: row for key, row in rows.items() if key != "level"}
            path = rule if family == ANY else f"{rule}.{family}"
            self.values(path, values, rest, (*rows, *FAMILIES))
            for key, entry in self.tables.pop(path, {}).items():
                if key == "level":
                    self.levels[rule] = entry.value
                else:
                    self.figures[rule, key, family] = entry.value

    def named(self, head: str, kind: str, tables: Mapping[str, Any]) -> None:
        """Tables of one head, each with a name behind the point."""
        rows = house_rows()[f"{head}.{kind}"]
        for name, values in tables.items():
            path = f"{head}.{name}"
            if not isinstance(values, dict):
                self.no_table(head, name, path)
            elif (trouble := self.name_trouble(name, kind)) is not None:
                self.wrong("house-wrong-row", trouble.said, path, None, seen=name[:40],
                           limit=trouble.limit, remedy=trouble.remedy)  # fmt: skip
            elif self.values(path, values, rows) and head in _OWN:
                _OWN[head](self, name)

    def name_trouble(self, name: str, kind: str) -> Trouble | None:
        """What is wrong with the name of a table, of a kind told in HouseRow."""
        if kind in ("FAMILY", "KIND"):
            kinds = FAMILIES if kind == "FAMILY" else (*FAMILIES, "any")
            if name in kinds:
                return None
            hint = did_you_mean(name, kinds)
            return Trouble(f"'{name[:40]}' is no kind of metal", ", ".join(kinds), hint)
        if kind == "CURRENCY":
            try:
                currency_of(name)
            except Trouble as trouble:
                return trouble
            return None
        if kind in ("METAL", "GEM"):
            gem = kind == "GEM"
            if name in (self.gems if gem else self.alloys) or name in (GEMS if gem else ALLOYS).table:
                return None
            hint = (gem_hint if gem else metal_hint)(name)
            return Trouble(f"'{name[:40]}' is no {kind.lower()} posy knows", None, hint)
        if not _NAME.fullmatch(name):
            return Trouble(f"'{name[:40]}' is no name: small letters, figures and hyphens", None,
                           "write it so, as in harbour-silver")  # fmt: skip
        taken = find_alloy(name) or find_gem(name)
        if kind == "NEW" and taken is not None and taken.name in (*ALLOYS.table, *GEMS.table):
            return Trouble(f"{name} stands in posy's own table", None, "give yours another name")
        return None

    def values(
        self, table: str, said: Mapping[str, Any], rows: Mapping[str, HouseRow],
        known: tuple[str, ...] = (),
    ) -> bool:  # fmt: skip
        """The values of one table; whether all of them are sound and none is missing."""
        before = len(self.faults)
        known = known or tuple(rows)
        for key, value in said.items():
            if key not in rows:
                self.wrong(
                    "house-unknown-key", f"{table or FILE} has no '{key[:40]}'", table, key, seen=key[:40],
                    limit=", ".join(rows), remedy=did_you_mean(key, known) or "see what it may hold",
                )  # fmt: skip
                continue
            try:
                own = rows[key].kind == "gem" and isinstance(value, str) and value in self.gems
                found = value if own else value_of(value, rows[key])
            except Trouble as trouble:
                self.not_so(table, key, value, rows[key], trouble)
            else:
                row, word = self.at(table, key)
                entry = Entry(found, f"{FILE}, line {row}", self.span(row, word))
                self.tables.setdefault(table, {})[key] = entry
        for key, wanted in rows.items():
            if wanted.usual == NEEDED and key not in said and len(self.faults) == before:
                self.wrong("house-wrong-row", f"{table} wants its {key}", table, None,
                           remedy=f"add a line: {key} = {like(wanted)}")  # fmt: skip
        return len(self.faults) == before

    def not_so(self, table: str, key: str, value: Any, row: HouseRow, trouble: Trouble) -> None:
        """A value that cannot be."""
        head = "" if trouble.said.startswith(f"{key} ") else f"{key} of {table}: " if table else f"{key}: "
        self.wrong(
            "house-wrong-figure", f"{head}{trouble.said}", table, key, seen=str(value)[:40],
            limit=trouble.limit, remedy=trouble.remedy or f"as in '{key} = {like(row)}'",
        )  # fmt: skip


def _own_metal(reader: HouseReader, name: str) -> None:
    from .own_rows import own_metal

    table = f"metal.{name}"
    made = own_metal(name, reader.tables[table], reader.name)
    if isinstance(made, Trouble):
        reader.wrong("house-wrong-figure", made.said, table, "density", limit=made.limit,
                     seen=f"{reader.tables[table]['density'].value:g} g/cm3", remedy=made.remedy)  # fmt: skip
    else:
        reader.alloys[name] = made


def _own_gem(reader: HouseReader, name: str) -> None:
    from .own_rows import own_gem

    reader.gems[name] = own_gem(name, reader.tables[f"gem.{name}"], reader.name)


_OWN: Mapping[str, Callable[[HouseReader, str], None]] = {"metal": _own_metal, "gem": _own_gem}
