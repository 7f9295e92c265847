"""Whole pieces against an exact boundary-representation kernel.

Source: OpenCASCADE as carried by the `gmsh` wheel, in its own process (see exact.py). Every
piece is written twice from the same figures: as a posy text here, as a recipe in exact_pieces."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import cos, pi, radians, sin

import numpy as np
import pytest
from exact import Recipe, exact_many, require_exact
from exact_pieces import (
    PIECES,
    BallPost,
    BeadedPlate,
    BentWire,
    DomedBand,
    DrilledDisc,
    FlatBand,
    JumpRing,
    LoopedBar,
    PiercedOval,
    PlainBar,
    SetBar,
    Tube,
)
from texts import built

from posy.compiler.shapes.seat import turned_profile
from posy.stdlib.cuts import CUTS

NEAR = 0.001


def _plain_bar(p: PlainBar) -> str:
    return f"bar b: size {p.length} x {p.width} x {p.height} mm, corner {p.corner} mm"


def _tube(p: Tube) -> str:
    return f"tube t: outside {p.outside} mm, inside {p.inside} mm, long {p.length} mm"


def _drilled_disc(p: DrilledDisc) -> str:
    return f"""
disc d: across {p.across} mm, thick {p.thickness} mm
drill holes: at face of d, circle {p.holes}, radius {p.circle / 2} mm, across {p.drill} mm
"""


def _set_bar(p: SetBar) -> str:
    foot = f"out {p.height - p.root} mm"
    if p.domed:
        tip, long = "round", p.root + p.rise + p.wire / 2
    else:
        tip, long = "flat", p.root + p.rise
    rods = "\n".join(
        f"rod r{k}: right {x} mm, up {y} mm, {foot}, wire {p.wire} mm, long {long} mm, tip {tip}"
        for k, (x, y) in enumerate(p.prongs())
    )
    return f"""
stone row: round {p.across} mm, gem garnet, row {p.stones}, every {p.pitch} mm, out {p.height - p.sink} mm
bar frame: size {p.length} x {p.width} x {p.height} mm, corner {p.corner} mm
hollow back: in frame, wall {p.wall} mm, roof {p.roof} mm
seat s: for row, in frame, hole 50 %
{rods}
"""


def _set_bar_recipe(p: SetBar) -> Recipe:
    """The ready recipe with posy's own seat section turned by the exact kernel, and with the
    hollow's corners as posy leaves them (square: the wall is thicker than the corner)."""
    recipe = [step for step in p.recipe() if step[0] == "add" or step[1][0] == "box"]
    facets = CUTS["round"].facets(p.across, p.across, tolerance=0.005)
    section = turned_profile(facets.points, p.across / 2, 0.04, 0.5, 5.0, 5.0)
    steps = []
    for x in p.centres():
        z = p.height - p.sink
        spots = [(float(r), float(h)) for r, h in np.asarray(section)]
        outline = [("start", spots[0]), *(("line", s) for s in spots[1:]), ("line", spots[0])]
        # The outline turns about the second axis of its plane; stand it up, then move it.
        turned = "turned", outline, (0, 0, 0), (0, 1, 0), 360
        steps.append(["cut", turned, ("turn", (0, 0, 0), (1, 0, 0), 90), ("shift", (x, 0, z))])
    body = [step for step in recipe if step[1][0] != "cylinder" and step[1][0] != "sphere"]
    rods = [step for step in recipe if step[1][0] in ("cylinder", "sphere")]
    return [*body, *steps, *rods]


def _jump_ring(p: JumpRing) -> str:
    return f"jump-ring j: wire {p.wire} mm, inside {p.inside} mm"


def _looped_bar(p: LoopedBar) -> str:
    ring = (p.inside + p.wire) / 2
    return f"""
bar b: size {p.length} x {p.width} x {p.height} mm, corner {p.corner} mm
jump-ring j: right {p.length / 2 + ring} mm, out {p.height / 2} mm, wire {p.wire} mm, inside {p.inside} mm
"""


def _beaded_plate(p: BeadedPlate) -> str:
    return f"""
bar b: size {p.length} x {p.width} x {p.height} mm
ball g: row {p.beads}, every {p.pitch} mm, across {p.bead} mm, out {p.height - p.bead / 2} mm
"""


def _flat_band(p: FlatBand) -> str:
    return f"band b: inside {p.inside} mm, wide {p.width} mm, thick {p.thickness} mm"


def _domed_band(p: DomedBand) -> str:
    profile = "court" if p.comfort else "d"
    return f"band b: inside {p.inside} mm, wide {p.width} mm, thick {p.thickness} mm, profile {profile}"


def _ball_post(p: BallPost) -> str:
    return f"""
ball b: across {p.ball} mm, inward {p.ball / 2} mm
rod r: wire {p.wire} mm, long {p.length} mm, inward {p.length} mm
"""


def _bent_wire(p: BentWire) -> str:
    t = radians(p.turn)
    mid = p.leg + p.bend * sin(t / 2), p.bend * (1 - cos(t / 2))
    (x0, y0, _), (x1, y1, _), (x2, y2, z2) = (step[-1] for step in p.path()[2:])
    ahead = cos(t), sin(t)
    half = pi / 4
    over = x1 + p.lift * sin(half) * ahead[0], y1 + p.lift * sin(half) * ahead[1]
    rise = p.lift * (1 - cos(half))
    return f"""
path l: through (0, 0, 0) to ({p.leg}, 0, 0 mm) over ({mid[0]}, {mid[1]}, 0 mm) to ({x0}, {y0}, 0 mm) to
  ({x1}, {y1}, 0 mm) over ({over[0]}, {over[1]}, {rise} mm) to ({x2}, {y2}, {z2} mm)
wire w: along l, round {p.wire} mm
""".replace(" to\n  ", " to ")


def _pierced_oval(p: PiercedOval) -> str:
    return f"""
plate o: oval {p.length} x {p.width} mm, thick {p.thickness} mm
pierce window: at face of o, oval {p.window_length} x {p.window_width} mm
drill hole: at face of o, up {p.drill_up} mm, across {p.drill} mm
"""


COURT = replace(PIECES["court band"], edge=1.15)  # type: ignore[type-var]
TEXTS: dict[str, tuple[str, Recipe]] = {
    "plain bar": (_plain_bar(PlainBar()), PlainBar().recipe()),
    "tube": (_tube(Tube()), Tube().recipe()),
    "drilled disc": (_drilled_disc(DrilledDisc()), DrilledDisc().recipe()),
    "set bar": (_set_bar(SetBar()), _set_bar_recipe(SetBar())),
    "set bar, domed prongs": (_set_bar(SetBar(domed=True)), _set_bar_recipe(SetBar(domed=True))),
    "jump ring": (_jump_ring(JumpRing()), JumpRing().recipe()),
    "looped bar": (_looped_bar(LoopedBar()), LoopedBar().recipe()),
    "beaded plate": (_beaded_plate(BeadedPlate()), BeadedPlate().recipe()),
    "flat band": (_flat_band(FlatBand()), FlatBand().recipe()),
    "D-section band": (_domed_band(DomedBand()), DomedBand().recipe()),
    "court band": (_domed_band(COURT), COURT.recipe()),  # type: ignore[arg-type, attr-defined]
    "ball on a post": (_ball_post(BallPost()), BallPost().recipe()),
    "bent wire": (_bent_wire(BentWire()), BentWire().recipe()),
    "pierced oval": (_pierced_oval(PiercedOval()), PiercedOval().recipe()),
}


@cache
def _exact() -> dict[str, float]:
    measured = exact_many([recipe for _, recipe in TEXTS.values()])
    return {name: found.volume for name, found in zip(TEXTS, measured, strict=True)}


@pytest.mark.parametrize("name", TEXTS)
def test_volume_against_the_exact_kernel(name: str) -> None:
    require_exact()
    (part,) = built(TEXTS[name][0]).parts
    exact = _exact()[name]
    assert part.volume == pytest.approx(exact, rel=NEAR), f"{part.volume / exact - 1:+.5%}"
    assert abs(part.volume - exact) <= part.error + 2e-5 * exact
