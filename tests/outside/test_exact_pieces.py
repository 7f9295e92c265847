"""Whole pieces against an exact boundary-representation kernel.

Source: OpenCASCADE as carried by the `gmsh` wheel, in its own process (see exact.py). Every
piece is written twice from the same figures, as a posy text and as a recipe: see exact_pieces."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from exact import Recipe, exact_many, require_exact
from exact_pieces import PIECES, SetBar
from texts import built

from posy.compiler.shapes.seat import turned_profile
from posy.stdlib.cuts import CUTS

NEAR = 0.001


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


COURT = replace(PIECES["court band"], edge=1.15)  # type: ignore[type-var]
TEXTS: dict[str, tuple[str, Recipe]] = {
    name: (p.text(), _set_bar_recipe(p) if isinstance(p, SetBar) else p.recipe())
    for name, p in {**PIECES, "court band": COURT}.items()
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
