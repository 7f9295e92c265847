"""For the caster: what to print and cast, in what metal, how many, how heavy, and the files."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from typing import Any

import numpy as np

from ...lang.faults import Fault, Level
from ...stdlib.cautions import uk_hallmark
from ...stdlib.limits import allowance
from ...stdlib.provenance import told
from ..drawing.names import USUAL
from ..drawing.scene import scene_of
from ..drawing.sheet import Titled, views_sheet
from ..files.digits import grams, plain
from ..judging.remark import is_waived, remark_record, waiver_record
from ..making.weights import PartWeight
from ..metal.part import in_row
from .data import csv_bytes
from .handed import Handed, take_care, to_engrave
from .html import Sheet, block, bullets, drawing, facts, heading, joined, paragraph, table, tag

STEPS = ("print", "invest", "burn-out", "pour", "break-out", "pickle")
RESIN, WAX = ("sheet", "resin"), ("pour", "wax")  # where bench.toml tells the densities
DRAWING = (184.0, 195.0)  # mm of paper: what is left of the cautions stands above it


def caster_sheet(handed: Handed) -> bytes:
    """The sheet."""
    built, weights = handed.built, handed.weights
    pairs = zip(weights.rows, castings(handed), strict=True)  # those alike in one
    rows = [[row[0] or "the piece", parts[0].title, *row[2:]] for parts, row in pairs]
    parts: list[object] = [
        facts(_facts(handed)),
        *([paragraph(built.note)] if built.note else []),
        block(heading("Castings", "weights in g, each"), table(_HEADS, rows)),
    ]
    parts.append(paragraph(_assumed(handed), class_="fine"))
    if weights.bought:
        bought = [(p.own_name, p.casting, p.metal, p.count, grams(p.grams)) for p in weights.bought]
        heads = ("Part", "In the text", "Metal", "How many", "Weight, g")
        parts += [heading("Bought, not to be cast"), table(heads, bought)]
    parts += [
        *to_engrave(handed),
        heading("Remarks"), *_remarks(handed),
        heading("Files", "lengths in mm"), table(("File", "Bytes", "SHA-256"), _files(handed)),
        paragraph(_shrunk(handed)),
        take_care(handed.alloys, *STEPS),
        block(heading("Drawing", "the metal alone"), drawing(_drawing(handed)), paragraph(
            "The bar is 50 mm long where the drawing was printed at its own size: ",
            tag("span", class_="bar"), class_="fine",
        )),
    ]  # fmt: skip
    return Sheet("For the caster", built.title, handed.stamp, parts).html()


def _facts(handed: Handed) -> list[tuple[object, object]]:
    mass = {name: figure for name, figure, _ in handed.weights.metals}
    told, count = in_all(handed), handed.count
    return [
        ("Metal", " and ".join(alloy.title for alloy in handed.alloys)),
        ("How many", count),
        ("As cast, each", f"{told['cast_g_each']} g"),
        ("Finished, each, about", f"{told['finished_g_least']} to {told['cast_g_each']} g"),
        *([(f"As cast, all {count}", f"{told['cast_g_all']} g")] if count > 1 else []),
        ("Resin pattern, each", f"{told['resin_g_each']} g"),
        ("Wax pattern, each", f"{told['wax_g_each']} g"),
        ("Size of the metal", f"{' x '.join(told['box_mm'])} mm"),
        ("Finish", handed.finish),
        ("Shrinkage allowed for",
         f"{plain(100 * handed.shrink)} %" if handed.shrink else "none: do so yourself"),
        *(
            (f"UK hallmark, {one.name}", uk_hallmark(one, mass[one.name]))
            for one in handed.alloys if one.fineness
        ),
    ]  # fmt: skip


def _assumed(handed: Handed) -> str:
    """What the weights rest on, and where that comes from."""
    said = []
    for name, key in (("resin", RESIN), ("wax", WAX)):
        entry = handed.built.house.entry(*key)
        assert entry is not None  # the table has a usual one
        said.append(f"{name} at {entry.value:g} g/cm3 ({entry.source})")
    taken = handed.built.house.entry("sheet", "finishing")
    assert taken is not None
    sources = {alloy.name: told(alloy.source, brief=True).replace(" ,", ",") for alloy in handed.alloys}
    metals = "; ".join(f"{name}: {source}" for name, source in sources.items())
    return (
        f"Patterns: {', '.join(said)}. Filing and polishing take up to {100 * taken.value:g} % "
        f"({taken.source}). Densities of metals: {metals}."
    )


def in_all(handed: Handed) -> dict[str, Any]:
    """Weights of one piece and of all, g, and length, width and height of the metal that is cast, mm, as they
    are shown; patterns are as large as the meshes are."""
    house, cast = handed.built.house, handed.weights.grams
    pattern = sum(part.volume for part in handed.weights.parts) / (1 - handed.shrink) ** 3 / 1000
    parts = [part for part in handed.built.parts if not part.bought]
    box = np.ptp(np.concatenate([part.points[np.unique(part.triangles)] for part in parts]), axis=0)
    return {
        "cast_g_each": grams(cast),
        "cast_g_all": grams(cast * handed.count),
        "finished_g_least": grams(cast * (1 - house.value("sheet", "finishing"))),
        "resin_g_each": grams(pattern * house.value(*RESIN)),
        "wax_g_each": grams(pattern * house.value(*WAX)),
        "box_mm": [plain(one, 2) for one in box],
    }


_HEADS = (
    "Casting", "Metal", "How many", "Density, g/cm3", "Melts, C", "Volume, mm3", "As cast, g", "Resin, g",
    "Wax, g",
)  # fmt: skip


def castings(handed: Handed) -> list[list[object]]:
    """The figures of each metal of each casting, of those of a row that weigh alike once."""
    resin, wax = (handed.built.house.value(*density) for density in (RESIN, WAX))
    larger = 1 / (1 - handed.shrink) ** 3
    return [
        [
            in_row(part.casting)[0] if others else part.casting, part.metal, 1 + len(others),
            plain(part.density, 2), _melts(handed, part), f"{part.volume:.1f}",
            grams(part.grams), grams(part.volume * larger * resin / 1000),
            grams(part.volume * larger * wax / 1000),
        ]
        for part, *others in handed.weights.rows
    ]  # fmt: skip


def _melts(handed: Handed, part: PartWeight) -> str:
    alloy = next(one for one in handed.alloys if one.name == part.metal)
    ends = [f"{one:g}" for one in (alloy.melts_from, alloy.melts_to) if one is not None]
    return " to ".join(dict.fromkeys(ends)) or "ask the maker"


def _remarks(handed: Handed) -> list[object]:
    """What the checks found, and what the maker set aside with the reason."""
    faults = [fault for fault in handed.built.faults if fault.level is not Level.HINT]
    rows: list[object] = [_remark(fault) for fault in faults if not is_waived(fault)]
    aside = [
        joined((tag("b", f"{one.rule} set aside"), one.feature and f" on {one.feature}", f": {one.because}"))
        for one in handed.built.waivers
    ]
    if not rows and not aside:
        return [paragraph("The checks found nothing to say.")]
    return [bullets([*rows, *aside])]


def _remark(fault: Fault) -> object:
    more = f"; now {fault.seen}, wanted {fault.limit}" if fault.seen and fault.limit else ""
    feature = f" ({fault.feature})" if fault.feature else ""
    return joined((tag("b", fault.code), f"{feature}: {fault.message}{more}"))


def _files(handed: Handed) -> list[list[object]]:
    return [
        [name, f"{len(data):,}", tag("span", hashlib.sha256(data).hexdigest(), class_="mono")]
        for name, data in handed.meshes.items()
    ]


def _shrunk(handed: Handed) -> str:
    """Whether the meshes allow for shrinkage."""
    if handed.shrink:
        larger = plain(1 / (1 - handed.shrink), 4)
        return (
            f"The meshes are {larger} times as large as the finished piece, for a shrinkage of "
            f"{plain(100 * handed.shrink)} %: do not enlarge them again. Figures in the drawing are those of "
            "the piece."
        )
    usual = max(allowance("shrink", alloy.family).figure for alloy in handed.alloys)
    return (
        "The meshes are as large as the piece is to be: no shrinkage is allowed for. Enlarge them by what "
        f"your own casting takes; {plain(100 * usual)} % is common for this metal."
    )


def _drawing(handed: Handed) -> bytes:
    built = handed.built
    scene = scene_of(replace(built, stones=(), parts=tuple(part for part in built.parts if not part.bought)))
    assert scene is not None  # some metal is cast
    titled = Titled(scene, built.title, " and ".join(built.metals))
    projection = built.house.value("sheet", "projection")
    return views_sheet(titled, USUAL, figures=True, projection=projection, most=DRAWING)


def caster_data(handed: Handed) -> tuple[dict[str, Any], dict[str, bytes]]:
    """The same as plain data, and as tables."""
    rows = castings(handed)
    heads = (
        "casting", "metal", "count", "density_g_cm3", "melts_c", "volume_mm3", "cast_g", "resin_g", "wax_g",
    )  # fmt: skip
    record = {
        **handed.record("caster"),
        "finish": handed.finish,
        **in_all(handed),
        "castings": [dict(zip(heads, row, strict=True)) for row in rows],
        "bought": [
            {"name": p.casting, "metal": p.metal, "count": p.count, "grams": grams(p.grams)}
            for p in handed.weights.bought
        ],
        "remarks": [remark_record(fault) for fault in handed.built.faults],
        "waivers": [waiver_record(waiver) for waiver in handed.built.waivers],
    }  # fmt: skip
    files = [[name, len(data), hashlib.sha256(data).hexdigest()] for name, data in handed.meshes.items()]
    tables = {
        "castings.csv": csv_bytes(heads, rows),
        "files.csv": csv_bytes(("file", "bytes", "sha256"), files),
    }
    return record, tables
