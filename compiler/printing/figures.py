"""The print plan in words and figures, the same in the terminal, on the page and in data."""

from __future__ import annotations

from typing import Any

from ..files.digits import rounded
from .orientation import Way
from .plan import PrintPlan
from .printer import Printer
from .supports import PIECE, PROP

STANDS = {PROP: "branching off another", PIECE: "on the piece itself"}
Facts = list[tuple[str, str]]


def printing(plan: PrintPlan, printer: Printer) -> Facts:
    """How it is printed."""
    wide, deep, tall = plan.size
    counts = [(sum(prop.stands == on for prop in plan.props), said) for on, said in STANDS.items()]
    stands = "".join(f", {count} of them {said}" for count, said in counts if count)
    layers = plan.layers
    coarse = layers.height > printer.layer * 1.001
    many = [("how many", f"{len(plan.castings)}, all alike")] if len(plan.castings) > 1 else []
    return [
        *many,
        ("way up", f"face leaning {plan.way.tilt:.0f} deg from straight up; {_why(plan)}"),
        ("room", f"{wide:.1f} x {deep:.1f} mm on the plate, {tall:.1f} mm high"),
        ("layers", f"{plan.count} of {printer.layer:g} mm, about {_time(plan.minutes)}"),
        ("without props", f"{sum(p.island for p in plan.bare)} places begin in mid air, "
         f"{sum(p.area for p in plan.bare if not p.island):.1f} mm2 hang out"),
        ("props", f"{len(plan.props)}{stands}, tips {printer.sizes.tip:g} mm: as many stubs to file"),
        ("resin", f"{plan.resin / 1000:.3f} cm3 for the piece, {plan.resin_props / 1000:.3f} cm3 for props"),
        ("larger by", _grown(plan)),
        ("seen in", f"layers of {layers.height:.3g} mm, pixels of {layers.pixel:.3g} mm"
         f"{': coarser than the print, to stay in memory' if coarse else ''}"),
    ]  # fmt: skip


def _why(plan: PrintPlan) -> str:
    """Why this way up, beside the next best that is another."""
    way = plan.way
    told = f"{way.overhang:.1f} mm2 of faces hang out, {way.showing:.1f} mm2 of them show"
    others = [one for one in plan.ways[1:] if abs(one.filing - way.filing) > 1e-6]
    if not others:
        return told
    return f"{told} (the next best: {others[0].overhang:.1f} and {others[0].showing:.1f} mm2)"


def _grown(plan: PrintPlan) -> str:
    """How much larger it is printed, along the plate and up."""
    across, _, up = ((factor - 1) * 100 for factor in plan.stood.grows)
    if not (across or up):
        return "nothing: the size of the piece"
    return f"{across:.2f} % along the plate, {up:.2f} % up"


def _time(minutes: float) -> str:
    hours, rest = divmod(round(minutes), 60)
    return f"{hours} h {rest} min" if hours else f"{rest} min"


def record(plan: PrintPlan, printer: Printer) -> dict[str, Any]:
    """The plan as plain data: lengths mm, areas mm2, resin mm3."""
    return {
        "casting": plan.casting or None,
        "alike": list(plan.castings),
        "metal": plan.metal,
        "turn": [rounded(row, 6) for row in plan.way.turn],
        "grows": rounded(plan.stood.grows, 6),
        "weighed": [_way(way) for way in plan.ways],
        "size": rounded(plan.size),
        "layer": printer.layer, "pixel": printer.pixel, "layers": plan.count,
        "minutes": round(plan.minutes, 1),
        "seen_in": {"layer": round(plan.layers.height, 5), "pixel": round(plan.layers.pixel, 5)},
        "hanging": [
            {"island": p.island, "layer": p.layer, "at": rounded(p.place), "area": round(p.area, 3)}
            for p in plan.bare
        ],
        "faces_left": [
            {"layer": p.layer, "at": rounded(p.place), "area": round(p.area, 3)} for p in plan.unheld
        ],
        "islands_left": [{"layer": p.layer, "at": rounded(p.place)} for p in plan.left],
        "cups": [
            {"area": round(c.area, 2), "layer": c.layer, "at": rounded(c.place), "pull": round(c.pull, 3)}
            for c in plan.cups
        ],
        "props": [{"tip": rounded(p.tip), "stands_on": p.stands} for p in plan.props],
        "resin": round(plan.resin, 2), "resin_props": round(plan.resin_props, 2),
    }  # fmt: skip


def _way(way: Way) -> dict[str, Any]:
    return {
        "up": rounded(way.turn[2], 5), "overhang": round(way.overhang, 2), "showing": round(way.showing, 2),
        "islands": way.islands, "barred": way.barred, "tall": round(way.tall, 2),
        "filing": round(way.filing, 2),
    }  # fmt: skip
