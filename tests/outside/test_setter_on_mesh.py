"""The setter's figures measured again on the mesh the caster is sent: levels through each setting, cut by
the kernel of manifold3d, looked at with numpy alone. Stones stand as the text has them; their outline is the
hull of the stone. Lengths mm, z up from the middle of the girdle."""

import re

import numpy as np
import pytest
from manifold3d import CrossSection, Manifold, Mesh64, OpType
from orders import Order

from posy.compiler.bench.stone_solid import stone_mesh
from posy.compiler.making.pipeline import build

PIECES = (
    "comet-halo", "terrace-row", "island-cab", "alder-solitaire", "dune-bombe", "skerry-channel", "shoal-cuff",
    "plover-pearls", "fern-studs",
)  # fmt: skip
NEAR = 0.02  # as near as figures of 0.01 mm and facets of 0.01 mm let


class Setting:
    """A stone of a piece, its row on the sheet, and the written metal in the stone's own frame."""

    def __init__(self, row, stone, kind, solid):
        self.row = row
        shape, facets = (np.asarray(one) for one in stone_mesh(kind.figures))
        self.shape = Manifold(Mesh64(shape.astype(float), facets.astype(np.uint64)))
        self.top = float(shape[:, 2].max())
        hull = CrossSection.hull_points(shape[:, :2]).to_polygons()[0]
        self.around = np.asarray(hull)
        turn = stone.frame[:, :3].T
        self.solid = solid.transform(np.column_stack((turn, -turn @ stone.frame[:, 3])))

    def says(self, key):
        return [float(one) for one in re.findall(r"-?\d+\.?\d*", self.row[key])]

    def level(self, z):
        return [np.asarray(loop) for loop in self.solid.slice(z).to_polygons()]

    def inside(self, points):
        """How far points (n, 2) lie within the stone's outline; negative outside."""
        a, b = self.around, np.roll(self.around, -1, axis=0)
        way = (b - a) / np.linalg.norm(b - a, axis=1, keepdims=True)
        normal = np.column_stack((-way[:, 1], way[:, 0]))
        return ((points[:, None] - a) * normal).sum(axis=2).min(axis=1)

    def covered(self, z, off, around=None):
        """How much of a line ``off`` beside the stone, or another outline, is metal at a level."""
        loops = self.level(z)
        if not loops:
            return 0.0
        line = np.asarray(max((around or CrossSection([self.around])).offset(off).to_polygons(), key=len))
        dot = CrossSection.circle(0.006, 8)
        dots = CrossSection.batch_boolean([dot.translate(tuple(at)) for at in line[:: max(1, len(line) // 60)]], OpType.Add)
        return (dots ^ CrossSection(loops)).area() / dots.area()


def area(loop):
    x, y = loop.T
    return 0.5 * float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())


def middle(loop):
    """Its centre of area."""
    x, y = loop.T
    part = x * np.roll(y, -1) - np.roll(x, -1) * y
    return np.array([((x + np.roll(x, -1)) * part).sum(), ((y + np.roll(y, -1)) * part).sum()]) / (6 * area(loop))


def wide(loop):
    """Across a loop, square to the line from the stone's middle to it, and along that line."""
    out = loop.mean(axis=0) / np.linalg.norm(loop.mean(axis=0))
    return np.ptp(loop @ out)


@pytest.fixture(scope="module")
def settings(tmp_path_factory):
    """One of each setting on the sheets of nine pieces (not printed: that takes longest)."""
    folder = tmp_path_factory.mktemp("bench")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("posy.compiler.sheets.pdf.browser", lambda: None)
        return ordered(folder)


def ordered(folder):
    found = {}
    for name in PIECES:
        order = Order(folder, name)
        castings = [Manifold(Mesh64(one.vertices.astype(float), one.faces.astype(np.uint64))) for one in order.meshes]
        solid = Manifold.batch_boolean(castings, OpType.Add)
        built = build(str(order.text), tolerance=0.05, check_metal=False)
        rows = order.table("setter", "settings")
        seen = set()
        for row, stone in zip(rows, built.stones, strict=True):
            alike = tuple(row[key] for key in row if key not in ("number", "lot"))
            if alike not in seen:
                seen.add(alike)
                kind = built.piece.stones.of(stone.number - 1)
                found[name, stone.number] = Setting(row, stone, kind, solid)
    return found


def of(settings, what):
    found = {key: one for key, one in settings.items() if what in one.row["held_by"]}
    assert found
    return found.items()


def holding(one, z):
    """Loops of metal at a level that lie over the stone's outline, each with how far."""
    loops = [loop for loop in one.level(z) if area(loop) > 0]
    return [(loop, deep) for loop in loops if (deep := one.inside(loop).max()) > 0.01]


def test_prongs_are_as_many_as_thick_and_as_far_over_the_girdle_as_told(settings):
    """A wire that leans by an angle is cut into an oval of its own area over the angle's cosine. At the point
    of a pear it lies over the girdle along the stone's axis."""
    for key, one in of(settings, "prongs"):
        held = holding(one, 0.05)
        assert len(held) == one.says("held_by")[0], key
        upper = [middle(loop) for loop, _ in holding(one, 0.1)]
        rise = np.array([np.abs(np.linalg.norm(np.array(upper) - middle(loop), axis=1)).min() for loop, _ in held])
        lean = np.cos(np.arctan2(rise, 0.05))
        wires = [np.sqrt(4 * area(loop) / np.pi * c) for (loop, _), c in zip(held, lean, strict=True)]
        assert [min(wires), max(wires)] == pytest.approx(np.array(one.says("wire_mm"))[[0, -1]], abs=NEAR), key
        over = [
            one.around[:, 0].max() - loop[:, 0].min() if abs(middle(loop)[1]) < 0.02 < middle(loop)[0] else deep
            for loop, deep in holding(one, 0.02)
        ]  # fmt: skip
        assert [min(over), max(over)] == pytest.approx(np.array(one.says("over_girdle_mm"))[[0, -1]], abs=NEAR), key


def test_beads_are_as_many_as_thick_and_as_far_over_the_girdle_as_told(settings):
    """Two that run into one another are a loop of less than twice the area of one."""
    for key, one in of(settings, "beads"):
        held = holding(one, 0.1)
        wires = [wide(loop) for loop, _ in held]
        told = np.array(one.says("wire_mm"))
        assert min(wires) == pytest.approx(told[0], abs=NEAR) and max(wires) <= told[-1] + NEAR, key
        beads = sum(int(np.ceil(area(loop) / (np.pi / 4 * told[-1] ** 2) - 0.15)) for loop, _ in held)
        assert beads == one.says("held_by")[0], key
        over = [deep for _, deep in held]
        assert [min(over), max(over)] == pytest.approx(np.array(one.says("over_girdle_mm"))[[0, -1]], abs=NEAR), key


def test_a_wall_all_round_is_as_thick_and_as_high_as_told(settings):
    for key, one in of(settings, "a wall"):
        loops = sorted(one.level(0.5), key=area)
        for axis in (0, 1):
            sizes = [np.ptp(loop[:, axis]) for loop in (loops[0], loops[-1])]
            assert (sizes[1] - sizes[0]) / 2 == pytest.approx(one.says("wire_mm")[0], abs=NEAR), key
        high = one.says("spare_mm")[0]
        assert one.level(high - NEAR) and not one.level(high + NEAR), key


def test_spare_stands_above_the_table_or_the_girdle(settings):
    """The highest metal over the stone and close beside it."""
    for key, one in settings.items():
        if not one.row["spare_mm"]:
            continue
        over = one.says("spare_mm")[0] + (one.top if one.row["spare_above"] == "table" else 0.0)
        assert [loop for loop in one.level(over - NEAR) if one.inside(loop).max() > -0.8], key
        for loop, _ in holding(one, 0.1):  # a wire leans a little on its way up
            above = [np.linalg.norm(other.mean(axis=0) - loop.mean(axis=0)) for other in one.level(over + NEAR)]
            assert min(above, default=np.inf) > 0.1, key


def test_light_holes_come_out_and_are_as_wide_as_told(settings):
    """The narrowest of the levels through the seat (of a princess, square); where none is told, metal shuts the way or there is no seat in metal."""
    seen = 0
    for key, one in settings.items():
        if not one.row["light_hole_mm"]:
            continue
        seen += 1
        deep = one.says("depth_below_girdle_mm")[0]
        holes = [
            loop for z in np.linspace(-0.6 * deep, -deep - 0.1, 5) for loop in one.level(z)
            if area(loop) < 0 and one.inside(loop).min() > 0
        ]  # fmt: skip
        assert holes, key
        across = 2 * min(np.abs(loop).max() if one.row["cut"] == "princess" else np.linalg.norm(loop, axis=1).mean() for loop in holes)
        assert across == pytest.approx(one.says("light_hole_mm")[0], abs=NEAR), key
    assert seen >= 4
    blind = settings["island-cab", 1]
    assert not blind.row["light_hole_mm"]
    assert not [loop for loop in blind.level(-0.2) if area(loop) < 0 and blind.inside(loop).min() > 0]


def test_the_room_round_a_stone_is_as_told(settings):
    """Below the girdle, where no prong or bead lies over the stone, there is a level at which no metal stands
    nearer to it than told, and some does a hair farther off."""
    seen = set()
    for key, one in settings.items():
        if not one.row["clearance_mm"]:
            continue
        seen.add(re.sub(r"^\d+ ", "", one.row["held_by"]))
        room, deep = one.says("clearance_mm")[0], max(one.says("depth_below_girdle_mm")[0], 0.2)
        levels = [(z, one.shape.slice(z)) for z in [*np.linspace(-0.97 * deep, -0.04, 40), 0.02]]
        assert any(
            one.covered(z, room + NEAR, ring) > 0.1 and one.covered(z, room - NEAR, ring) < 0.02
            for z, ring in levels if not ring.is_empty()
        ), key  # fmt: skip
    assert seen == {"prongs", "beads", "the metal beside it", "a wall all round"}


def test_a_peg_is_as_thick_and_stands_as_deep_in_its_pearl_as_told(settings):
    for key, one in of(settings, "peg"):
        bottom = -one.says("depth_below_girdle_mm")[0]

        def pegs(z, one=one):
            return [loop for loop in one.level(z) if one.inside(loop).min() > 0]

        (peg,) = pegs(bottom + 1.0)
        assert np.sqrt(4 * area(peg) / np.pi) == pytest.approx(one.says("wire_mm")[0], abs=NEAR), key
        top = bottom + one.says("peg_deep_mm")[0]
        assert pegs(top - NEAR) and not pegs(top + NEAR), key


def test_the_girdle_lies_as_far_below_the_face_as_told(settings):
    """By how high metal goes on beside the stone: it covers the line close beside the outline just below
    the face and leaves it just above."""
    told = [(key, one) for key, one in settings.items() if one.row["girdle_below_face_mm"]]
    assert len(told) >= 5
    for key, one in told:
        face, off = one.says("girdle_below_face_mm")[0], max(one.says("clearance_mm")[0], 0.04) + 0.06
        below, above = one.covered(face - 0.05, off), one.covered(face + 0.08, off)
        assert below > 0.35 and above < below - 0.25, (key, below, above)
