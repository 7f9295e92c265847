"""Beads and rope lie in from an edge of metal, and along any other line on it: places reckoned by hand."""

from __future__ import annotations

import numpy as np
import pytest
from texts import built

BAR = "bar m: size 20 x 8 x 2 mm, corner 1 mm\n"
BAND = "band m: inside 18 mm, wide 6 mm, thick 2 mm\n"
BEADS, ROPE = "bead-line t: along {}, bead 0.6 mm\n", "rope-edge t: along {}, wire 0.4 mm\n"


def proud(text: str, face: int) -> np.ndarray:
    """The points of the metal above z = 2 mm (a bar), or more than 11 mm from the axis (a band), (n, 3)."""
    (part,) = built(text, check_metal=False).parts
    points = part.points
    height = points[:, 2] if face == 0 else np.hypot(points[:, 0], points[:, 2]) - 9.0
    return points[height > 2.02]


@pytest.mark.parametrize("line", [BEADS, ROPE])
@pytest.mark.parametrize(
    "path, base, along",
    [
        ("around of m", BAND, ""),
        ("p", BAR, "path p: through (-8, 0) to (8, 0 mm), on m\n"),
        ("q", BAR, "path p: through (-8, 0) to (8, 0 mm), on m\npath q: beside p\n"),
    ],
)
def test_a_line_that_is_no_edge_is_followed(line: str, path: str, base: str, along: str) -> None:
    stands = proud(base + along + line.format(path), int(base is BAND))
    assert stands[:, 1].max() == pytest.approx(-stands[:, 1].min(), abs=0.02)


@pytest.mark.parametrize("line, inset, half", [(BEADS, 0.36, 0.3), (ROPE, 0.4, 0.4)])
@pytest.mark.parametrize("edge", ["rim of m", "m", "p", "rim of m + rim of far"])
def test_an_edge_is_kept_clear_of(line: str, inset: float, half: float, edge: str) -> None:
    more = "path p: beside rim of m\nbar far: size 4 x 4 x 2 mm, right 10 mm\n"
    stands = proud(BAR + more + line.format(edge), 0)
    assert stands[:, 1].max() == pytest.approx(4.0 - inset + half, abs=0.03)


def test_what_is_drawn_beside_an_edge_is_none() -> None:
    stands = proud(BAR + "path p: beside rim of m, inset 2 mm\n" + BEADS.format("p"), 0)
    assert stands[:, 1].max() == pytest.approx(4.0 - 2.0 + 0.3, abs=0.02)
