"""Rays of stones side by side: their grooves leave metal between them, and none between a ray and its seat."""

from texts import made, metal_of

BED = "bar bed: size 20 x 6 x 3 mm\n"
TWO = "stone two: round 3 mm, gem ruby, at face of bed, row 2, every {apart} mm, level table\n"
SUNK = "flush sunk: for two, in bed, rays 4, deep 0.3 mm\n"


def _mouths(apart: float) -> int:
    """How many hollows are open in the face just below it."""
    slice_ = metal_of(made(BED + TWO.format(apart=apart) + SUNK)).slice(2.95)
    return len(slice_.to_polygons()) - 1


def test_rays_of_neighbours_do_not_run_together():
    assert _mouths(5.0) == _mouths(4.2) == _mouths(8.0) == 2
