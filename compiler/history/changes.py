"""What changed between two records of a piece, in the order one asks for it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from ..files.digits import measure, plain

Record = Mapping[str, Any]


@dataclass(frozen=True)
class Change:
    """One thing that is not as it was: ``was`` and ``now`` as people read them ("" where there was
    none, or is none); ``by`` is the difference, where there is one to reckon."""

    of: str
    name: str
    was: str
    now: str
    by: str = ""


def changes(before: Record, after: Record) -> list[Change]:
    """All that changed from one record to the other."""
    return [
        change for rows in (_said, _measures, _weights, _size, _stones, _cost, _waivers, _remarks)
        for change in rows(before, after)
    ]  # fmt: skip


def _said(before: Record, after: Record) -> Iterator[Change]:
    """What the piece says of itself."""
    for key in ("title", "note", "metal"):
        yield from _pair(key, "", before.get(key) or "", after.get(key) or "")


def _measures(before: Record, after: Record) -> Iterator[Change]:
    old, new = ({row["name"]: row for row in one.get("measures") or ()} for one in (before, after))
    for name in dict.fromkeys((*old, *new)):
        a, b = old.get(name), new.get(name)
        yield from _pair("measure", name, _measure(a), _measure(b), _by(a, b, "value", b and b["unit"]))


def _measure(row: Mapping[str, Any] | None) -> str:
    return "" if row is None else measure(row["value"], row["unit"])


def _by(a: Any, b: Any, key: str, unit: str | None) -> str:
    """The difference of a figure of two rows."""
    if a is None or b is None or unit == "share":
        return ""
    was, now = a[key], b[key]
    if isinstance(was, str) or isinstance(now, str) or a.get("unit") != b.get("unit"):
        return ""
    return signed(now - was, unit or "")


def signed(difference: float, unit: str, most: int = 4) -> str:
    """A difference with its sign."""
    return f"{'+' if difference > 0 else '-'}{plain(abs(difference), most)} {unit}".rstrip()


def _weights(before: Record, after: Record) -> Iterator[Change]:
    """Metal by casting and alloy, then what is bought."""
    old, new = (
        {" ".join(filter(None, (row["casting"], row["metal"]))): row for row in _parts(one)}
        for one in (before, after)
    )
    for name in dict.fromkeys((*old, *new)):
        a, b = old.get(name), new.get(name)
        by = ""
        if a and b and a["grams"]:
            share = plain((b["grams"] / a["grams"] - 1) * 100, 1)
            by = f"{signed(b['grams'] - a['grams'], 'g', 3)}, {'+' * (not share.startswith('-'))}{share} %"
        yield from _pair("weight", name, _grams(a), _grams(b), by)


def _parts(record: Record) -> list[Mapping[str, Any]]:
    weight = record.get("metal_weight") or {}
    bought = ({**row, "casting": row["name"]} for row in weight.get("bought", ()))
    return [*weight.get("castings", ()), *bought]


def _grams(row: Mapping[str, Any] | None) -> str:
    return "" if row is None else f"{plain(row['grams'], 3)} g"


def _size(before: Record, after: Record) -> Iterator[Change]:
    boxes = (one.get("box_mm") for one in (before, after))
    said = (" x ".join(plain(side, 2) for side in box["size"]) + " mm" if box else "" for box in boxes)
    yield from _pair("size", "", *said)


def _stones(before: Record, after: Record) -> Iterator[Change]:
    """Kinds of stones, those of one gem and cut side by side."""
    old, new = (Counter(_kinds(one)) for one in (before, after))
    gone, come = old - new, new - old
    for kind in sorted({row[:2] for row in (*gone, *come)}):
        rows = [[row for row in one if row[:2] == kind] for one in (gone, come)]
        yield Change("stones", " ".join(kind), *("; ".join(row[2] for row in some) for some in rows))
    carats = ((one.get("stones") or {}).get("carats") for one in (before, after))
    yield from _pair("carats", "", *(f"{plain(one, 3)} ct" if one else "" for one in carats))


def _kinds(record: Record) -> Iterator[tuple[str, str, str]]:
    for row in (record.get("stones") or {}).get("kinds", ()):
        size = " x ".join(plain(side, 2) for side in row["size_mm"])
        yield row["gem"], row["cut"], f"{row['count']} of {size} mm"


def _cost(before: Record, after: Record) -> Iterator[Change]:
    """What it costs, line by line as the quote has it."""
    old, new = ({row["name"]: row for row in one.get("cost") or ()} for one in (before, after))
    for name in dict.fromkeys((*old, *new)):
        shown = [str(row["shown"]) if row else "" for row in (old.get(name), new.get(name))]
        yield from _pair("cost", name, *shown)


def _waivers(before: Record, after: Record) -> Iterator[Change]:
    yield from _lists("set aside", *(
        [(row["name"], row.get("because") or "") for row in one.get("waivers") or ()]
        for one in (before, after)
    ))  # fmt: skip


def _remarks(before: Record, after: Record) -> Iterator[Change]:
    """Remarks that were not made before, and those no longer made, wherever in the text they stand."""
    yield from _lists("remark", *(
        [(row["name"], f"{row['level']}: {row['text']}") for row in one.get("remarks") or ()
         if not row.get("because")] for one in (before, after)
    ))  # fmt: skip


def _lists(of: str, before: list[tuple[str, str]], after: list[tuple[str, str]]) -> Iterator[Change]:
    """What is in one list and not in the other."""
    old, new = Counter(before), Counter(after)
    for name, text in (old - new).elements():
        yield Change(of, name, text, "")
    for name, text in (new - old).elements():
        yield Change(of, name, "", text)


def _pair(of: str, name: str, was: str, now: str, by: str = "") -> Iterator[Change]:
    if was != now:
        yield Change(of, name, was, now, by)
