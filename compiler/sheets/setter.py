"""For the setter: every stone with its number, how each is set, in which order, and what harms it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from ...stdlib.cuts.tablet import spoken
from ...stdlib.gems import GEMS, SAFETY, Gem
from ..drawing.looks import Map, close_up, maps
from ..drawing.section import cut_of, section_drawing
from ..drawing.views import SEEN
from ..judging.settings import UNSET
from ..making.result import Stone
from .data import csv_bytes
from .handed import Handed, gem_of, hardness, numbered, size_of, take_care, to_engrave
from .html import Markup, Sheet, block, drawing, facts, heading, joined, paragraph, table, tag
from .setting_figures import HEADS, SOFT, Group, every, groups_of, is_tender

STEPS = ("solder", "pickle")
PAPER, HEADING = 184.0, 85.0  # mm that maps side by side may take, and the heading over each


def setter_sheet(handed: Handed) -> bytes:
    """The sheet."""
    built = handed.built
    if not built.stones:
        return Sheet(
            "For the setter", built.title, handed.stamp,
            [paragraph("This piece has no stones."), *to_engrave(handed)],
        ).html()
    groups, rows = groups_of(handed), every(handed)
    metal = " and ".join(alloy.title for alloy in handed.alloys)
    parts: list[object] = [
        facts([("Metal", metal), ("Stones", len(built.stones)), ("How many pieces", handed.count)]),
        *([paragraph(built.note)] if built.note else []),
        heading("In this order"), _order(groups),
        heading("What harms the stones"), table(_GEM_HEADS, _gems(groups)),
        take_care(handed.alloys, *STEPS),
        *to_engrave(handed),
        *_maps(handed),
        heading("Every stone", "mm"),
        paragraph(*_what_they_are(rows), class_="fine first"),
        _stones(rows),
        heading("How they are set", "one of each kind"),
        *(_group(handed, group, rows) for group in groups),
    ]  # fmt: skip
    return Sheet("For the setter", built.title, handed.stamp, parts).html()


def _what_they_are(rows: list[dict[str, Any]]) -> Iterator[str]:
    yield "Figures are those of the metal as cast and of stones cut to the usual proportions: "
    yield "hold your stone to them before you cut."
    if any(row["spare_mm"] for row in rows):
        yield " Spare is what stands above the table (prongs) or above the middle of the girdle (walls and "
        yield "beads), to be pushed over."


def _order(groups: list[Group]) -> Markup:
    prongs = any(group.first.prongs for group in groups)
    rows = [
        joined((
            tag("b", f"Stone{'s' if len(group.numbers) > 1 else ''} {numbered(list(group.numbers))}: "),
            f"{_called(group.stone)}, {group.first.name}",
            _why(GEMS[group.stone.gem]),
        ))
        for group in groups
    ]  # fmt: skip
    return joined((
        tag("ol", *(tag("li", row) for row in rows)),
        paragraph("Hard stones before tender ones, small before large: common practice, no source; your own "
                  f"order goes first.{' Push opposite prongs in turn.' if prongs else ''}", class_="fine"),
    ))  # fmt: skip


def _called(stone: Stone) -> str:
    """Gem, cut and size; what is its own cut is named once."""
    gem = gem_of(stone)
    cut = "" if gem.lower() == stone.cut else f", {spoken(stone.cut)}"
    return f"{gem}{cut} {size_of(stone)} mm"


def _why(gem: Gem) -> str:
    if not is_tender(gem):
        return ""
    why = [f"Mohs {gem.mohs_low:g}"] if gem.mohs_low < SOFT else []
    why += ["no torch"] if gem.torch == "never" else []
    why += ["no ultrasonic cleaner"] if gem.ultrasonic == "never" else []
    return f" ({', '.join(why)})"


def _maps(handed: Handed) -> list[object]:
    """The drawings with every stone's number, narrow ones side by side."""
    found, hidden = maps(handed.scene)
    rows: list[list[Map]] = []
    for one in found:
        if rows and sum(max(each.wide, HEADING) for each in (*rows[-1], one)) < PAPER:
            rows[-1].append(one)
        else:
            rows.append([one])
    parts: list[object] = [
        block(*(
            tag("div", heading("Where they go", f"seen {SEEN[one.view]}, {one.scale}"), drawing(one.drawing))
            for one in row
        ), class_="row" if len(row) > 1 else "together")
        for row in rows
    ]  # fmt: skip
    if hidden:
        parts.append(paragraph(f"Seen in none of these: {numbered(hidden)}."))
    return parts


def _group(handed: Handed, group: Group, rows: list[dict[str, Any]]) -> Markup:
    """One kind of setting: cut through, close up, its figures."""
    piece = handed.built.piece
    assert piece is not None
    stone, setting = group.stone, group.first
    alike = [rows[number - 1] for number in group.numbers]
    above = alike[0]["spare_above"]
    labels = (*_LABELS, (f"Spare above the {above}", "spare_mm"))
    told = [
        ("Stones", numbered(list(group.numbers))),
        ("Held by", " or ".join(sorted({row["held_by"] for row in alike}))),
        *_to_the_face(alike),
        *((label, f"{_spread(row[key] for row in alike)} mm") for label, key in labels if alike[0][key]),
        *([("Light hole", "none, closed")] if setting.closed else []),
    ]  # fmt: skip
    cut = section_drawing(cut_of(piece, setting), stone.gem, f"stone {stone.number} cut through")
    near, scale = close_up(handed.scene, stone.number)
    title = f"{setting.name}: {_called(stone)}"
    note = [paragraph("Nothing holds this stone: ask the maker.")] if setting.kind == UNSET else []
    looks = drawing(cut), drawing(near, f"stone {stone.number} from above, {scale}"), facts(told)
    return block(tag("h3", title[:1].upper() + title[1:]), *note, tag("div", *looks, class_="row"))


def _to_the_face(alike: list[dict[str, Any]]) -> list[tuple[str, str]]:
    """Where the girdles of stones set alike lie to the face, if it is known."""
    if not alike[0][FACE]:
        return []
    found = [_side(row[FACE]) for row in alike]
    sides = {side for _, side in found}
    if len(sides) > 1:
        return [("Girdle to the face", " or ".join(dict.fromkeys(" ".join(one).strip() for one in found)))]
    off, side = _spread(off for off, _ in found), found[0][1]
    return [(f"Girdle {side or 'to'} the face", f"{off} mm" if side else off)]


def _spread(figures: Iterable[str]) -> str:
    """A figure of several stones, from the least to the greatest where they differ."""
    said = list(dict.fromkeys(figures))
    ends = sorted(float(one) for figure in said for one in figure.split(" to ")) if len(said) > 1 else []
    return f"{ends[0]:.2f} to {ends[-1]:.2f}" if ends else said[0]


FACE = "girdle_below_face_mm"
_LABELS = (
    ("Thick", "wire_mm"), ("Over the girdle", "over_girdle_mm"),
    ("Stone below its girdle", "depth_below_girdle_mm"), ("Light hole", "light_hole_mm"),
    ("Room round the stone", "clearance_mm"), ("Peg in the stone", "peg_deep_mm"),
)  # fmt: skip
_STONE_HEADS = (
    "No.", "Stone", "Size", "Setting", "Girdle to the face", "Depth below girdle", "Held by", "Thick",
    "Over girdle", "Spare", "Peg in it", "Lot",
)  # fmt: skip
_KEYS = (
    FACE, "depth_below_girdle_mm", "held_by", "wire_mm", "over_girdle_mm", "spare_mm", "peg_deep_mm", "lot",
)  # fmt: skip


def _stones(every: list[dict[str, Any]]) -> Markup:
    """A row for stones of the same figures; the last columns only where some stone has anything there."""
    alike: dict[tuple[str, ...], list[int]] = {}
    for own in every:
        said = {**own, FACE: " ".join(_side(own[FACE])).strip() if own[FACE] else ""}
        rest = (said[key] or "-" for key in _KEYS)
        row = (f"{own['gem']}, {spoken(own['cut'])}", own["size_mm"], own["setting"], *rest)
        alike.setdefault(row, []).append(own["number"])
    rows = [[_whole(one) for one in (numbered(numbers), *row)] for row, numbers in alike.items()]
    used = [k for k in range(len(_STONE_HEADS)) if any(row[k] != "-" for row in rows)]
    return table([_STONE_HEADS[k] for k in used], [[row[k] for k in used] for row in rows])


def _whole(said: str) -> str:
    """A cell that is not split: "4 prongs", "2 to 9"."""
    return said.replace(" ", "\u00a0") if said[:1].isdigit() and "," not in said and len(said) < 12 else said


def _side(below: str) -> tuple[str, str]:
    """How far a girdle lies from the face, and to which side of it: "0.30", "above"; "level" to none."""
    if float(below) == 0:
        return "level", ""
    return (below, "below") if float(below) > 0 else (below[1:], "above")


_GEM_HEADS = ("Gem", "Hardness, Mohs", "Torch", "Ultrasonic", "Steam", "To mind")


def _gems(groups: list[Group]) -> list[list[object]]:
    rows: list[list[object]] = []
    for gem in (GEMS[name] for name in dict.fromkeys(group.stone.gem for group in groups)):
        ways = gem.torch, gem.ultrasonic, gem.steam
        bears = [tag("b", how) if how == SAFETY[-1] else how for how in ways]
        rows.append([gem.title, hardness(gem), *bears, gem.notes])
    return rows


def setter_data(handed: Handed) -> tuple[dict[str, Any], dict[str, bytes]]:
    """The same as plain data, and as a table."""
    rows, groups = every(handed), groups_of(handed) if handed.built.stones else []
    gems = [GEMS[name] for name in dict.fromkeys(group.stone.gem for group in groups)]
    record = {
        **handed.record("setter"),
        "stones": rows,
        "order": [list(group.numbers) for group in groups],
        "gems": [
            {"gem": gem.name, "mohs": [gem.mohs_low, gem.mohs_high], "torch": gem.torch,
             "ultrasonic": gem.ultrasonic, "steam": gem.steam, "notes": gem.notes}
            for gem in gems
        ],
    }  # fmt: skip
    return record, {"settings.csv": csv_bytes(HEADS, [[row[key] for key in HEADS] for row in rows])}
