"""Bridges of sawn letters against the font's own outline, read by fontTools and summed line by line; a
hammer's blows against caps of a ball (Bronshtein and Semendyayev, Handbook of Mathematics, from
memory); double claws counted and measured on a section through the mesh (trimesh)."""

from __future__ import annotations

import io
import math
from itertools import pairwise

import numpy as np
import pytest
import trimesh
from texts import built, volume

from posy.compiler.words.letters import standard_font

THICK = 1.5
PLATE = f"plate sheet: rectangle 20 x 20 mm, thick {THICK} mm\n"


def _rims(sign: str, tall: float) -> list[np.ndarray]:
    """The rims of a letter as the font draws them, each (n, 2), mm; an H is ``tall`` mm high."""
    from fontTools.pens.boundsPen import BoundsPen
    from fontTools.pens.recordingPen import DecomposingRecordingPen
    from fontTools.ttLib import TTFont

    font = TTFont(io.BytesIO(standard_font()))
    glyphs, names = font.getGlyphSet(), font.getBestCmap()
    glyphs[names[ord("H")]].draw(bounds := BoundsPen(glyphs))
    glyphs[names[ord(sign)]].draw(pen := DecomposingRecordingPen(glyphs))
    rims: list[list[np.ndarray]] = []
    for name, points in pen.value:
        corners = [np.array(p, float) * tall / bounds.bounds[3] for p in points]
        if name == "moveTo":
            rims.append(corners)
        elif name == "lineTo":
            rims[-1] += corners
        elif name == "curveTo":
            a, (b, c, d) = rims[-1][-1], corners
            for t in np.linspace(0, 1, 65)[1:]:
                rims[-1].append((1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t**2 * (1 - t) * c + t**3 * d)
    return [np.array(rim) for rim in rims]


def _area_beside_bar(rims: list[np.ndarray], wide: float) -> float:
    """What is left of an area inside ``rims`` without an upright bar at the middle of its counter, mm2."""
    ys = np.concatenate(rims)[:, 1]
    counter = min(rims, key=lambda rim: np.ptp(rim[:, 0]))[:, 0]
    middle = (counter.min() + counter.max()) / 2
    bar = middle - wide / 2, middle + wide / 2
    levels = np.linspace(ys.min(), ys.max(), 4001)
    levels = (levels[1:] + levels[:-1]) / 2
    total = 0.0
    for y in levels:
        crossings = []
        for rim in rims:
            for (ax, ay), (bx, by) in zip(rim, np.roll(rim, -1, axis=0), strict=True):
                if (ay > y) != (by > y):
                    crossings.append(ax + (y - ay) / (by - ay) * (bx - ax))
        crossings.sort()
        for left, right in zip(crossings[::2], crossings[1::2], strict=True):
            total += right - left - max(0.0, min(right, bar[1]) - max(left, bar[0]))
    return total * (ys.max() - ys.min()) / len(levels)


@pytest.mark.parametrize("sign", ["O", "0"])
@pytest.mark.parametrize("wide", [0.6, 1.2])
def test_a_bridge_leaves_a_bar_of_the_letter_standing(sign: str, wide: float) -> None:
    cut = f'{PLATE}pierce name: letters "{sign}", tall 10 mm, style roman, bridge {wide} mm, at face of sheet, in sheet'
    sawn = _area_beside_bar(_rims(sign, 10), wide) * THICK
    (part,) = built(cut, tolerance=0.01).parts
    mesh = trimesh.Trimesh(part.points, part.triangles)
    assert 20 * 20 * THICK - mesh.volume == pytest.approx(sawn, rel=6e-3)  # 40 chords round an O: 0.4 %
    assert mesh.body_count == 1  # what stands inside the letter hangs on its bars


def test_even_blows_are_caps_of_the_hammers_ball() -> None:
    look = "hammered look: upon sheet, every 2 mm, ball 10 mm, deep 0.05 mm, inset 1.5 mm, uneven {} %"
    cap = math.pi * 0.05**2 * (3 * 5 - 0.05) / 3  # 1.41 mm wide, so that none meets the next
    whole = 20 * 20 * THICK
    blows = (whole - volume(PLATE + look.format(0), tolerance=0.005)) / cap
    assert blows == pytest.approx(round(blows), rel=1e-2)  # whole blows, less what chords leave
    # on 17 mm square every 2 mm: a square pattern has 8 to 9 a row, a staggered one 2 / sqrt(3) as many
    assert 8**2 <= round(blows) <= 9**2 * 2 / math.sqrt(3)
    uneven = (whole - volume(PLATE + look.format(40), tolerance=0.005)) / cap
    # a cap's volume goes with its height squared: depths within a fifth of what is said
    assert 0.8**2 * 0.9 * blows < uneven < 1.2**2 * 1.1 * blows
    assert uneven != pytest.approx(blows, rel=1e-3)


def test_double_claws_are_two_round_wires_in_place_of_each() -> None:
    text = "stone main: oval 7 x 9 mm, gem amethyst, out 6 mm\nbasket head: for main, splay 0 deg, wire 0.8 mm{}"
    found = []
    for double in ("", ", double"):
        (part,) = built(text.format(double)).parts
        mesh = trimesh.Trimesh(part.points, part.triangles)
        section = mesh.section(plane_origin=[0, 0, 6.05], plane_normal=[0, 0, 1])
        found.append([rim[:-1, :2] for rim in section.discrete])
    single, double = found
    assert (len(single), len(double)) == (4, 8)
    middles = sorted((rim.mean(axis=0) for rim in double), key=lambda at: math.atan2(at[1], at[0]))
    widths = [np.ptp(rim, axis=0).max() for rim in double]
    apart = [math.dist(a, b) for a, b in pairwise(middles)]
    assert max(widths) < min(np.ptp(rim, axis=0).max() for rim in single)  # each is slimmer
    assert min(apart) > max(widths)  # side by side, not one in the other
