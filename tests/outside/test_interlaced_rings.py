"""Three bands interlaced, as the text that `posy words russian` shows: circles of Villarceau on one torus, each linked
with each (Villarceau 1848, fibres of Hopf 1931; both from memory). Measured on the metal by the kernel, and linked by
the integral of Gauss (1833) along the middle lines."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from texts import built, laid, solid_of

from posy.compiler.words.standard import trade_lines

FINGER = 17.35  # mm, us 7: ISO 8653 tables and most sizers agree within 0.05 mm


def _linked(one: np.ndarray, other: np.ndarray) -> float:
    """The linking number of two closed lines (n, 3)."""
    steps = [np.roll(line, -1, axis=0) - line for line in (one, other)]
    go = (one + steps[0] / 2)[:, None] - (other + steps[1] / 2)[None]
    volume = (np.cross(steps[0][:, None], steps[1][None]) * go).sum(axis=2)
    return float((volume / np.linalg.norm(go, axis=2) ** 3).sum() / (4 * math.pi))


@pytest.mark.parametrize("thick", [1.6, 2.4, 2.8])
def test_three_bands_interlace_and_never_touch(thick: float) -> None:
    text = "\n".join(trade_lines("russian")).replace("thick = 2.4 mm", f"thick = {thick} mm")
    made = built(text)
    assert not made.faults
    off, middle = 0.64 * (thick + 0.15), FINGER / 2 + 0.64 * (thick + 0.15) + thick / 2
    share = off / middle
    apart = math.sqrt(3) * off * (1 - share / 2) * math.sqrt(1 - share**2) - thick
    solids = [solid_of(p) for p in made.parts]
    assert [part.metal for part in made.parts] == ["gold-750-yellow", "gold-750-white", "gold-750-rose"]
    for one, other in itertools.combinations(solids, 2):
        assert (one ^ other).volume() == 0
        assert one.min_gap(other, 3.0) == pytest.approx(apart, abs=0.03)
    lines = [laid(text, name).look("path").lines[0].fine(0.2).points for name in ("yellow", "white", "rose")]
    for one, other in itertools.combinations(lines, 2):
        assert abs(_linked(one, other)) == pytest.approx(1, abs=0.01)
    points = np.concatenate([part.points for part in made.parts])
    assert 2 * np.hypot(points[:, 0], points[:, 2]).min() == pytest.approx(FINGER, abs=0.06)
    for part in made.parts:  # each a torus: 2 pi2 R r2
        assert part.volume == pytest.approx(2 * math.pi**2 * middle * thick**2 / 4, rel=2e-3)
