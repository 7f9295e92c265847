"""The house: the file bench.toml of a workshop, read and checked.

    name = "Bench at the harbour"       # optional, shown as the source of the figures

    [thin-wall]                         # a table per rule (posy why lists the rules)
    least = "0.9 mm"                    # a figure of that rule (posy why thin-wall)
    level = "fault"                     # fault, warning, hint or off

    [thin-wall.silver]                  # figures for one metal family alone
    least = "1.0 mm"

    [metal.mill-silver]                 # an alloy or a gem of your own: see own_rows
    [gem.sea-glass]

Every other table stands in ``stdlib/tables/house.tsv``, with what it may hold; whoever reads one
asks ``House.value`` or ``House.entry``.

The nearest bench.toml counts, alone: in the piece's own folder, else in the folders above it, up to the
folder posy is run in if the piece lies below that, or to one that holds a ``.git``. ``level`` moves a rule's
warnings and faults to the level it names (notes stay notes); "off" leaves the rule out."""

from __future__ import annotations

import os
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ...lang.faults import Fault, Level
from ...lang.source import Source
from ...stdlib.alloys import Alloy
from ...stdlib.gems import Gem
from ...stdlib.limits import ANY
from . import FILE

if TYPE_CHECKING:
    from ...lang.loader import Files
    from .reader import Entry

MOST_BYTES = 100_000


@dataclass(frozen=True)
class House:
    """What a bench.toml says: figures by (rule, what, family or ``*``), levels by rule.

    ``alloys`` and ``gems`` are its own; ``tables`` hold all else, by table ("cost", "stone.melee") and key.
    ``path`` is None without a file; ``text`` serves snippets; ``faults`` tell what is wrong."""

    name: str = FILE
    figures: Mapping[tuple[str, str, str], float] = field(default_factory=dict)
    levels: Mapping[str, str] = field(default_factory=dict)
    alloys: Mapping[str, Alloy] = field(default_factory=dict)
    gems: Mapping[str, Gem] = field(default_factory=dict)
    tables: Mapping[str, Mapping[str, Entry]] = field(default_factory=dict)
    path: str | None = None
    text: str = ""
    faults: tuple[Fault, ...] = ()

    def entry(self, table: str, key: str) -> Entry | None:
        """What the house says, with its place; what is usual where it says nothing, None where
        nothing is. KeyError for a key that is no row of ``stdlib/tables/house.tsv``."""
        from .reader import usual_entry

        said = self.tables.get(table, {}).get(key)
        return usual_entry(table, key) if said is None else said

    def value(self, table: str, key: str) -> Any:
        """The same without its place."""
        entry = self.entry(table, key)
        return None if entry is None else entry.value

    def named(self, head: str) -> list[str]:
        """The names N of all tables ``[head.N]``, in the order of the file."""
        return [table.partition(".")[2] for table in self.tables if table.startswith(f"{head}.")]

    def figure(self, rule: str, what: str, family: str) -> float | None:
        """The house's own figure: that for the family wins."""
        own = self.figures.get((rule, what, family))
        return self.figures.get((rule, what, ANY)) if own is None else own

    def level(self, rule: str, level: Level) -> Level | None:
        """The level a verdict of ``rule`` gets here; None when the rule is off."""
        said = self.levels.get(rule)
        if said == "off":
            return None
        if said is None or level is Level.HINT:
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
    """The house limits that hold for a piece, on ``rules`` (their names); NO_HOUSE without a bench.toml."""
    for place in places_for(piece):
        if os.path.lexists(place):
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
    if not os.path.isfile(path):  # noqa: PTH113 (pathlib raises for a link into a shut folder)
        what = "a link to no file" if os.path.islink(path) else "no file"  # noqa: PTH114
        fault = Fault("house-not-read", f"{shown} cannot be read: it is {what}", None)
        return House(path=shown, faults=(fault,))
    try:
        with Path(path).open("rb") as stream:
            data = stream.read(MOST_BYTES + 1)
    except OSError as error:
        fault = Fault("house-not-read", f"{shown} cannot be read: {error.strerror}", None)
        return House(path=shown, faults=(fault,))
    return parse_house(data, shown, rules)


def parse_house(data: bytes, path: str, rules: Collection[str]) -> House:
    """As ``read_house`` for bytes already read."""
    from .reader import HouseReader

    text = data.decode("utf-8", "replace")
    reader = HouseReader(Source(text, path), rules)
    if len(data) > MOST_BYTES:
        reader.tell(
            "house-not-toml", "this file is too large for house limits", 1, "",
            limit=f"at most {MOST_BYTES:,} bytes",
        )
        return House(path=path, text="", faults=tuple(reader.faults))
    import tomllib  # few pieces have house limits

    try:
        tables = tomllib.loads(data.decode("utf-8"))
    except RecursionError:
        reader.not_toml("lists stand too deep in one another")
    except UnicodeDecodeError:
        reader.not_toml("it is not UTF-8")
    except tomllib.TOMLDecodeError as error:
        reader.not_toml(str(error))
    else:
        reader.read(tables)
    return House(
        reader.name, reader.figures, reader.levels, reader.alloys, reader.gems, reader.tables,
        path, text, tuple(reader.faults),
    )  # fmt: skip
