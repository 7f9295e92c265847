"""Which settings leave the metal behind a stone open, and how wide the way out of a light hole is."""

import numpy as np
import pytest
from manifold3d import Manifold
from texts import built, metal_of

from posy.compiler.measures.light import Holes, shut_holes
from posy.compiler.measures.skin import Skin

ON = {
    "disc": "disc back: across 16 mm, thick 1.4 mm\nstone cab: {stone}, at face of back\n",
    "bar": "bar back: size 16 x 8 x 1.6 mm\nstone cab: {stone}, on back\n",
    "wire": "path ring: finger us 7, outset 1 mm\nwire back: along ring, round 2 mm\n"
    "stone cab: {stone}, at top of back, out 1.3 mm\n",
    "shank": "band back: finger us 7, wide 3 mm, thick 1.8 mm\nstone cab: {stone}, at top of back, out 0.5 mm\n",
}
THROUGH = 5.0  # mm straight down from a girdle, past all metal that is behind it


def skin_of(metal: Manifold) -> Skin:
    mesh = metal.to_mesh()
    faces = np.asarray(mesh.tri_verts, dtype=np.int64)
    return Skin(np.asarray(mesh.vert_properties, dtype=float)[:, :3], faces, np.zeros(len(faces), dtype=np.int64))


@pytest.mark.parametrize("metal", ON)
@pytest.mark.parametrize(("gem", "opens"), [("moonstone", True), ("onyx", False)])
def test_a_flat_back_is_left_open_where_light_comes_through_it(metal, gem, opens):
    """House choice, no source: a cabochon that light comes through wants an open back, an opaque one none."""
    text = ON[metal].format(stone=f"cabochon 4 x 4 mm, gem {gem}") + "bezel cup: for cab, on back\n"
    made = built(text, check_metal=False)
    (stone,) = made.stones
    down = -stone.frame[None, :, 2]
    far, _ = skin_of(metal_of(made)).grid.cast(stone.frame[None, :, 3] + 0.02 * down, down, leaving=False)
    assert (far[0] > THROUGH) == opens


@pytest.mark.parametrize("way", [0.12, 0.21, 0.26, 0.36, 0.5])
def test_the_way_out_is_as_wide_as_what_a_ledge_leaves(way):
    """A round hole of 1 mm in a plate, a ledge right behind it up to ``way`` from its far side: the ball that
    comes out is that wide (elementary geometry), of 0.33 mm that are wanted."""
    plate = Manifold.cube((6.0, 6.0, 1.5)).translate((-3.0, -3.0, -1.5))
    hole = Manifold.cylinder(4.0, 0.5, 0.5, 96).translate((0.0, 0.0, -2.0))
    ledge = Manifold.cube((6.0, 4.0, 1.0)).translate((-3.0, -0.5 + way, -2.5))
    frame = np.hstack([np.eye(3), np.array([[0.0], [0.0], [-0.2]])])[None]
    size = [np.array([one]) for one in (0.3, 0.6, 0.5, 0.33)]
    (shut,) = shut_holes(skin_of(plate - hole + ledge), Holes(frame, *size))
    if way > 0.33:
        assert shut is None
    elif way > 0.33 / 2:
        assert shut is not None and shut.way == pytest.approx(way, abs=0.1 * 0.33 + 0.02)
    else:
        assert shut is not None and shut.way == 0.0
