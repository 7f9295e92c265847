"""For the setter: every stone with its number, how each is set, in which order, and what harms it."""

from __future__ import annotations

from typing import Any

from ...lang.lean import dataclass
from ...stdlib import setting_kinds as kinds
from ...stdlib.gems import GEMS, SAFETY, Gem
from ..drawing.looks import close_up, maps
from ..drawing.section import cut_of, section_drawing
from ..judging.settings import UNSET, Setting
from ..making.result import Stone
from .data import csv_bytes
from .handed import Handed, gem_of, numbered, size_of, take_care
from .html import Markup, Sheet, block, drawing, facts, heading, joined, paragraph, table, tag

STEPS = ("solder", "pickle")
SOFT = 7.0  # Mohs: dust of quartz scratches what is softer
_VIEWS = {
    "face": "from the front", "side": "from below", "end": "from the right", "back": "from behind",
    "far-side": "from above", "far-end": "from the left",
}  # fmt: skip


@dataclass(frozen=True)
class Group:
    """Stones alike in gem, cut, size and in how they are set; ``first`` stands for all in drawings."""

    first: Setting
    stone: Stone
    numbers: tuple[int, ...]


def groups_of(handed: Handed) -> list[Group]:
    """Stones set alike, in the order in which they are best set.

    Hard stones come before soft ones and those that stand no heat, small ones before large ones: so
    what would be harmed by work beside it comes last (common practice, no source).
    """
    found: dict[tuple[object, ...], list[int]] = {}
    for setting, stone in zip(handed.settings, handed.built.stones, strict=True):
        size = tuple(round(one, 3) for one in stone.size)
        found.setdefault((stone.gem, stone.cut, size, setting.name, *_key(setting)), []).append(setting.stone)
    groups = [
        Group(handed.settings[k[0]], handed.built.stones[k[0]], tuple(one + 1 for one in k))
        for k in found.values()
    ]
    return sorted(groups, key=lambda one: (_tender(GEMS[one.stone.gem]), max(one.stone.size), one.numbers))


def _key(setting: Setting) -> tuple[object, ...]:
    """What tells two settings of one name apart."""
    bezel = setting.bezel
    return (
        len(setting.prongs), tuple(sorted({round(grip.wire, 2) for grip in setting.prongs})),
        None if bezel is None else (round(bezel.wall, 2), round(bezel.lip, 2)),
    )  # fmt: skip


def _tender(gem: Gem) -> bool:
    """Whether a stone is better set after the others."""
    return gem.mohs_low < SOFT or "never" in (gem.ultrasonic, gem.torch)


# -- the figures of one stone

HEADS = (
    "number", "gem", "cut", "size_mm", "setting", "girdle_below_face_mm", "depth_below_girdle_mm", "held_by",
    "wire_mm", "over_girdle_mm", "spare_mm", "spare_above", "light_hole_mm", "clearance_mm", "lot",
)  # fmt: skip


def figures_of(handed: Handed, setting: Setting, stone: Stone) -> dict[str, Any]:
    """The figures of one stone, mm as text; "" where there is none."""
    held, wires, over = _held(setting)
    spare = setting.spare
    bed = setting.bed
    return {
        "number": stone.number,
        "gem": stone.gem,
        "cut": stone.cut,
        "size_mm": size_of(stone),
        "setting": setting.name,
        "girdle_below_face_mm": "" if bed is None else _mm(bed.sunk),
        "depth_below_girdle_mm": _mm(setting.pavilion),
        "held_by": held,
        "wire_mm": wires,
        "over_girdle_mm": over,
        "spare_mm": "" if spare is None else _mm(spare),
        "spare_above": "" if spare is None else "table" if setting.prongs else "girdle",
        "light_hole_mm": "" if setting.hole is None or setting.closed else _mm(setting.hole),
        "clearance_mm": "" if setting.clearance is None else _mm(setting.clearance),
        "lot": handed.lot(stone),
    }


def _held(setting: Setting) -> tuple[str, str, str]:
    """What holds a stone, how thick it is, and how far it lies over the girdle."""
    grips = setting.prongs or setting.beads
    if grips:
        what = "prongs" if setting.prongs else "beads"
        return (
            f"{len(grips)} {what}",
            _range([one.wire for one in grips]),
            _range([one.bite for one in grips]),
        )
    if setting.bezel is not None:
        return "a wall all round", _mm(setting.bezel.wall), ""
    return {kinds.RIM: "the metal beside it", kinds.PEARL: kinds.PEG}.get(setting.kind, setting.kind), "", ""


def _range(figures: list[float]) -> str:
    """A figure, or the least and the greatest of several."""
    ends = dict.fromkeys((_mm(min(figures)), _mm(max(figures))))
    return " to ".join(ends)


def _mm(figure: float) -> str:
    """To 0.01 mm, halves up whatever the noise of binary figures, never minus zero."""
    return f"{round(round(figure, 6) + 1e-9, 2) + 0.0:.2f}"


# -- the sheet


def setter_sheet(handed: Handed) -> bytes:
    """The sheet."""
    built = handed.built
    if not built.stones:
        return Sheet(
            "For the setter", built.title, handed.stamp, [paragraph("This piece has no stones.")]
        ).html()
    groups = groups_of(handed)
    metal = " and ".join(alloy.title for alloy in handed.alloys)
    parts: list[object] = [
        facts([("Metal", metal), ("Stones", len(built.stones)), ("How many pieces", handed.count)]),
        *([paragraph(built.note)] if built.note else []),
        heading("In this order"), _order(handed, groups),
        heading("What harms the stones"), table(_GEM_HEADS, _gems(groups)),
        take_care(handed.alloys, *STEPS),
        *_maps(handed),
        heading("How they are set", "one of each kind"),
        *(_group(handed, group) for group in groups),
        heading("Every stone", "mm"), _stones(handed),
        paragraph("Figures are those of the metal as cast and of stones cut to the usual proportions: hold "
                  "your stone to them before you cut. Spare is what stands above the table (prongs) or above "
                  "the middle of the girdle (walls and beads), to be pushed over.", class_="fine"),
    ]  # fmt: skip
    return Sheet("For the setter", built.title, handed.stamp, parts).html()


def _order(handed: Handed, groups: list[Group]) -> Markup:
    """The order of work, a line for each group."""
    rows = [
        joined((
            tag("b", f"Stone{'s' if len(group.numbers) > 1 else ''} {numbered(list(group.numbers))}: "),
            f"{gem_of(group.stone)}, {group.stone.cut} {size_of(group.stone)} mm, {group.first.name}",
            _why(GEMS[group.stone.gem]),
        ))
        for group in groups
    ]  # fmt: skip
    return joined((
        tag("ol", *(tag("li", row) for row in rows)),
        paragraph("Hard stones before tender ones, small before large: common practice, no source; your own "
                  "order goes first. Push opposite prongs in turn.", class_="fine"),
    ))  # fmt: skip


def _why(gem: Gem) -> str:
    if not _tender(gem):
        return ""
    why = [f"Mohs {gem.mohs_low:g}"] if gem.mohs_low < SOFT else []
    why += ["no torch"] if gem.torch == "never" else []
    why += ["no ultrasonic cleaner"] if gem.ultrasonic == "never" else []
    return f" ({', '.join(why)})"


def _maps(handed: Handed) -> list[object]:
    """The drawings with every stone's number."""
    found, hidden = maps(handed.scene)
    parts: list[object] = [
        block(heading("Where they go", f"seen {_VIEWS[one.view]}, {one.scale}"), drawing(one.drawing))
        for one in found
    ]
    if hidden:
        parts.append(paragraph(f"Seen in none of these: {numbered(hidden)}."))
    return parts


def _group(handed: Handed, group: Group) -> Markup:
    """One kind of setting: cut through, close up, its figures."""
    piece = handed.built.piece
    assert piece is not None
    stone, setting = group.stone, group.first
    own = figures_of(handed, setting, stone)
    own["girdle_below_face_mm"] = _side(own["girdle_below_face_mm"])
    rows = [
        ("Stones", numbered(list(group.numbers))), ("Held by", own["held_by"]),
        *((label, _with_unit(own[key])) for label, key in _LABELS if own[key]),
        *([("Light hole", "none: closed below")] if setting.closed else []),
        *([("Spare", f"{own['spare_mm']} mm above the {own['spare_above']}")] if own["spare_mm"] else []),
    ]  # fmt: skip
    cut = section_drawing(cut_of(piece, setting), stone.gem, f"stone {stone.number} cut through")
    near, scale = close_up(handed.scene, stone.number)
    title = f"{setting.name}: {gem_of(stone)}, {stone.cut} {size_of(stone)} mm"
    note = [paragraph("Nothing holds this stone: ask the maker.")] if setting.kind == UNSET else []
    return block(
        tag("h3", title[:1].upper() + title[1:]), *note, drawing(cut),
        tag("div", drawing(near, f"stone {stone.number} from above, {scale}"), facts(rows), class_="row"),
    )  # fmt: skip


_LABELS = (
    ("Thick", "wire_mm"), ("Over the girdle", "over_girdle_mm"),
    ("Girdle to the face", "girdle_below_face_mm"),
    ("Stone below its girdle", "depth_below_girdle_mm"), ("Light hole", "light_hole_mm"),
    ("Room round the stone", "clearance_mm"),
)  # fmt: skip
_STONE_HEADS = (
    "No.", "Stone", "Size", "Setting", "Girdle to the face", "Depth below girdle", "Held by", "Thick",
    "Over girdle", "Spare", "Lot",
)  # fmt: skip
_KEYS = (
    "girdle_below_face_mm",
    "depth_below_girdle_mm",
    "held_by",
    "wire_mm",
    "over_girdle_mm",
    "spare_mm",
    "lot",
)


def _stones(handed: Handed) -> Markup:
    """A row for stones of the same figures; the last columns only where some stone has anything there."""
    alike: dict[tuple[str, ...], list[int]] = {}
    for setting, stone in zip(handed.settings, handed.built.stones, strict=True):
        own = figures_of(handed, setting, stone)
        own["girdle_below_face_mm"] = _side(own["girdle_below_face_mm"])
        rest = (own[key] or "-" for key in _KEYS)
        row = (f"{stone.gem}, {stone.cut}", own["size_mm"], own["setting"], *rest)
        alike.setdefault(row, []).append(stone.number)
    rows = [[_whole(one) for one in (numbered(numbers), *row)] for row, numbers in alike.items()]
    used = [k for k in range(len(_STONE_HEADS)) if any(row[k] != "-" for row in rows)]
    return table([_STONE_HEADS[k] for k in used], [[row[k] for k in used] for row in rows])


def _whole(said: str) -> str:
    """A cell that is not split: "4 prongs", "2 to 9"."""
    return said.replace(" ", "\u00a0") if said[:1].isdigit() and "," not in said and len(said) < 12 else said


def _with_unit(said: str) -> str:
    """Figures with their unit: "0.30 mm above"."""
    figure, _, side = said.partition(" ")
    if not figure[-1].isdigit():
        return said
    return f"{figure} mm {side}" if side in ("above", "below") else f"{said} mm"


def _side(below: str) -> str:
    """A height below the face as one says it: "0.30 above"."""
    if not below or float(below) == 0:
        return below and "level"
    return f"{below} below" if float(below) > 0 else f"{below[1:]} above"


_GEM_HEADS = ("Gem", "Hardness, Mohs", "Torch", "Ultrasonic", "Steam", "To mind")


def _gems(groups: list[Group]) -> list[list[object]]:
    """What each gem bears."""
    rows: list[list[object]] = []
    for gem in (GEMS[name] for name in dict.fromkeys(group.stone.gem for group in groups)):
        hard = (
            f"{gem.mohs_low:g} to {gem.mohs_high:g}" if gem.mohs_high != gem.mohs_low else f"{gem.mohs_low:g}"
        )
        bears = [_bears(one) for one in (gem.torch, gem.ultrasonic, gem.steam)]
        rows.append([gem.title, hard, *bears, gem.notes])
    return rows


def _bears(how: str) -> Markup:
    """How a stone bears a treatment; the worst in bold."""
    return tag("b", how) if how == SAFETY[-1] else joined((how,))


def setter_data(handed: Handed) -> tuple[dict[str, Any], dict[str, bytes]]:
    """The same as plain data, and as a table."""
    rows = [
        figures_of(handed, setting, stone)
        for setting, stone in zip(handed.settings, handed.built.stones, strict=True)
    ]
    groups = groups_of(handed) if handed.built.stones else []
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
