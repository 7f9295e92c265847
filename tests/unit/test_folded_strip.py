"""Flat strip folded over its flat: a bend, and a run beside another, take what the strip measures that way.

Closed form: a bent strip's volume is its section times the length of its middle line (Pappus and
Guldinus; Bronshtein and Semendyayev, from memory). The mesh is measured with trimesh."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from texts import built, made

from posy.lang.faults import Fault

PLANES = {"upright, across": "({x}, 0, {z} mm)", "upright, along": "(0, {x}, {z} mm)"}


def strip(spots: list[tuple[float, float]], plane: str, wire: str) -> str:
    ways = ["through", "to", "over", "to", "to"]
    run = " ".join(f"{way} {plane.format(x=x, z=z)}" for way, (x, z) in zip(ways, spots, strict=True))
    return f"path fold: {run}\nwire w: along fold, {wire}"


def hairpin(radius: float, end: float | None = None) -> list[tuple[float, float]]:
    low = -2 * radius
    return [(20, 0), (0, 0), (-radius, -radius), (0, low), (20, low if end is None else end)]


def refusal(text: str) -> Fault:
    (fault,) = made(text, check_metal=False).faults
    return fault


@pytest.mark.parametrize("plane", PLANES.values(), ids=PLANES)
@pytest.mark.parametrize("radius", [0.51, 1.0])
def test_a_strip_folded_over_its_flat_is_sound_metal(plane: str, radius: float) -> None:
    (part,) = built(strip(hairpin(radius), plane, "flat 5 x 1 mm"), check_metal=False).parts
    mesh = trimesh.Trimesh(np.array(part.points), part.triangles)
    assert mesh.is_volume
    assert mesh.volume == pytest.approx(5 * (40 + np.pi * radius), rel=1e-3)
    assert sorted(mesh.extents) == pytest.approx(sorted([5, 2 * radius + 1, 20.5 + radius]), abs=0.01)
    # The two legs are plane and leave just the air between them.
    assert mesh.bounds[:, 2] == pytest.approx([-2 * radius - 0.5, 0.5], abs=1e-6)


def test_a_strip_on_edge_is_refused_and_the_remedy_works() -> None:
    text = strip(hairpin(1.0), PLANES["upright, across"], "flat 5 x 1 mm, facing up")
    fault = refusal(text)
    assert (fault.code, fault.seen) == ("bend-too-tight", "radius 1 mm")
    assert fault.limit.startswith("over 2.5 mm")
    said = fault.remedy.split("write ")[1].split(";")[0]
    assert said.startswith("facing ")
    built(text.replace("facing up", said), check_metal=False)


def test_a_fold_tighter_than_half_its_thickness_is_refused() -> None:
    fault = refusal(strip(hairpin(0.45), PLANES["upright, across"], "flat 5 x 1 mm"))
    assert (fault.code, fault.seen) == ("bend-too-tight", "radius 0.45 mm")
    assert fault.limit.startswith("over 0.5 mm")


def test_a_strip_that_comes_back_into_itself_is_refused_with_its_gap() -> None:
    plane = PLANES["upright, across"]
    built(strip(hairpin(2.0, -1.1), plane, "flat 5 x 1 mm"), check_metal=False)
    fault = refusal(strip(hairpin(2.0, -0.5), plane, "flat 5 x 1 mm"))
    # The ends are 0.5 mm apart, on legs 10 degrees from parallel.
    assert (fault.code, fault.seen) == ("path-meets-itself", "0.493 mm")
    assert fault.limit.startswith("0.993 mm")


@pytest.mark.parametrize("text", [
    "path s: finger us 6, arc -30 deg to 390 deg\nwire w: along s, square 1 mm",
    "path s: finger us 6, arc -30 deg to 390 deg, advance 1.1 mm\nwire w: along s, flat 2 x 1 mm",
])  # fmt: skip
def test_rounds_that_lie_in_one_another_are_refused(text: str) -> None:
    assert refusal(text).code == "path-meets-itself"


def test_how_finely_a_bend_is_drawn_does_not_turn_the_strip() -> None:
    """A tie bar's spring: its one long leg counts for more than the fine points of its bend."""
    text = (
        "path spring: through (24, 0, 0.6 mm) over (26, 0, -0.7 mm) to (24, 0, -2 mm) to (-16, 0, -2 mm)\n"
        "wire arm: along spring, flat 2 x 1 mm"
    )
    (part,) = built(text, check_metal=False).parts
    assert np.ptp(np.array(part.points)[:, 1]) == pytest.approx(2.0)
