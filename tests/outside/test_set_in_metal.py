"""Random pieces, each stone in its metal as a setter leaves it: light comes through, the far side
is left alone, the table looks away, stone and metal only touch, and what lies upon a face lies on it.

Measured on the finished triangles by plain rays (Moller and Trumbore, Fast, minimum storage
ray/triangle intersection, 1997), not by anything of the project's own. How deep the metal is comes
from the same body without any seat."""

from __future__ import annotations

import random
from functools import cache

import numpy as np
import pytest
from hosts import HOSTS, Host
from manifold3d import CrossSection, Manifold
from texts import built, solid_of

from posy.compiler.bench.stone_kind import StoneKind
from posy.compiler.bench.stone_solid import stone_solid
from posy.compiler.making.result import Built, Stone

TOLERANCE = 0.02  # mm
SEEDS = range(36)
FINE = 0.004  # mm: where two ways of bending meet, and on a ball, facets lie 2.6 times so far inside
ON_FACE = 0.011  # mm
SOLDER = 0.1  # mm: parts nearer than this are one metal


CUTS = ["round {} mm", "round {} mm", "princess {} mm", "oval {} x 1.4 mm", "square-step {} mm"]
SETTINGS = ["seat s: for f", "seat s: for f", "flush s: for f", "bead-set s: for f"]


def piece(seed: int) -> tuple[Host, str, str]:
    """The host, the stones' line and the setting's of one random piece."""
    r = random.Random(seed)
    host = HOSTS[seed % len(HOSTS)](r)
    size = r.uniform(1.5, 2.0)
    cut = r.choice(CUTS).format(f"{size:.2f}")
    setting = r.choice(SETTINGS)
    if host.name == "b" and r.random() < 0.5 and not setting.startswith("seat"):
        setting = "seat s: for f"
    every = f", every {size * r.uniform(1.5, 1.9):.2f} mm, inset {size * 0.8:.2f} mm"
    stones = f"stone f: {cut}, gem garnet, {host.laid}" + (every if "upon" in host.laid else "")
    if not setting.startswith("seat") or r.random() < 0.6:
        setting += f", in {host.name}"
    return host, stones, setting


@cache
def finished(seed: int) -> Built:
    """That piece with its setting."""
    host, stones, setting = piece(seed)
    return built(f"{host.text}\n{stones}\n{setting}", tolerance=TOLERANCE, check_metal=False)


def some(made: Built) -> list[Stone]:
    """A few of the stones, first and last among them: rays are slow in plain numpy."""
    return [made.stones[k] for k in np.unique(np.linspace(0, len(made.stones) - 1, 14).astype(int))]


def corners(made: Built) -> np.ndarray:
    return np.concatenate([part.points[part.triangles] for part in made.parts])


def met(triangles: np.ndarray, start: np.ndarray, way: np.ndarray) -> np.ndarray:
    """Distances (n,) along one ray to every triangle it goes through, in order."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    side, other = b - a, c - a
    across = np.cross(way, other)
    size = (side * across).sum(axis=1)
    size = np.where(np.abs(size) < 1e-14, np.nan, size)
    off = start - a
    u = (off * across).sum(axis=1) / size
    turned = np.cross(off, side)
    v, t = turned @ way / size, (other * turned).sum(axis=1) / size
    return np.sort(t[(u >= 0) & (v >= 0) & (u + v <= 1)])


def stretches(triangles: np.ndarray, start: np.ndarray, way: np.ndarray) -> list[list[float]]:
    """Where a ray runs in metal, from and to, both mm; solder fills the smallest gaps."""
    hits = met(triangles, start, way)
    found: list[list[float]] = []
    for into, out in zip(hits[::2], hits[1::2], strict=False):
        if found and into - found[-1][1] < SOLDER:
            found[-1][1] = float(out)
        else:
            found.append([float(into), float(out)])
    return found


def spots(frame: np.ndarray, radius: float) -> np.ndarray:
    """Places in the girdle plane of a stone, over its light hole."""
    turn = np.arange(6) * np.pi / 3 + 0.123
    flat = np.concatenate([[[0.0011, 0.0007]], radius * np.stack([np.cos(turn), np.sin(turn)], 1)])
    return frame[:, 3] + flat @ frame[:, :2].T


@pytest.mark.parametrize("seed", SEEDS)
def test_light_comes_through_and_no_farther(seed: int) -> None:
    host, stones, setting = piece(seed)
    bare = corners(built(f"{host.text}\n{stones}", tolerance=TOLERANCE, check_metal=False))
    made = finished(seed)
    metal = corners(made)
    share = 0.55 if setting.startswith("seat") else 0.5
    assert len(made.stones) > 1
    for stone in some(made):
        kind = StoneKind(stone.cut, stone.size, stone.gem)
        way, culet = -stone.frame[:, 2], kind.pavilion()
        for start in spots(stone.frame, 0.45 * share * kind.width):
            behind = [one for one in stretches(bare, start, way) if one[1] > 0]
            left = [one for one in stretches(metal, start, way) if one[1] > 0]
            back = behind[0][1] if behind and behind[0][0] < culet else culet
            assert not left or left[0][0] > max(back, culet) + 0.005, "the hole is not open"
            beyond = [one for one in behind if one[0] > max(back, culet) + SOLDER]
            if beyond:  # the far side of a ring, another part: untouched, but for their own holes
                first = [one for one in left if one[0] < beyond[0][0] - 0.02]
                assert not first, "metal where there was none"
                if host.text.startswith(("disc", "signet")) or "part" in host.laid:
                    assert left[0][0] == pytest.approx(beyond[0][0], abs=0.02), "cut too far"


@pytest.mark.parametrize("seed", SEEDS)
def test_tables_look_away_and_stones_only_touch(seed: int) -> None:
    *_, setting = piece(seed)
    made = finished(seed)
    metal = corners(made)
    solids = [solid_of(part) for part in made.parts]
    for stone in some(made):
        kind = StoneKind(stone.cut, stone.size, stone.gem)
        up, middle = stone.frame[:, 2], stone.frame[:, 3]
        start = middle + (kind.crown() + 0.01) * up + 1e-3 * stone.frame[:, 0]
        assert not (met(metal, start, up) > 0).any(), "metal over the table"
        if setting.startswith(("seat", "flush")):
            body = stone_solid(kind).transform(stone.frame)
            shared = sum((solid ^ body).volume() for solid in solids)
            assert shared < 1e-4 * body.volume(), "metal in the stone"


@pytest.mark.parametrize("seed", SEEDS)
def test_what_lies_upon_a_face_lies_on_it(seed: int) -> None:
    host, stones, _ = piece(seed)
    if not host.upon:
        pytest.skip("laid along a line, not upon a face")
    made = built(f"{host.text}\n{stones}", tolerance=FINE, check_metal=False)
    metal = corners(made)
    for stone in some(made):
        up, middle = stone.frame[:, 2], stone.frame[:, 3]
        start = middle + up + 1e-4 * stone.frame[:, 0] + 2e-4 * stone.frame[:, 1]
        down = met(metal, start, -up)
        nearest = down[down > 0][0]
        assert nearest == pytest.approx(1.0, abs=ON_FACE)


BACKS = {
    "bar": "bar b: size 14 x 5 x 2.4 mm\nstone f: round 2 mm, gem garnet, row 4, every 2.6 mm, out 2.4 mm",
    "thin bar": "bar b: size 14 x 5 x 0.9 mm\nstone f: round 2 mm, gem garnet, row 4, every 2.6 mm, out 0.9 mm",
    "band": "band b: inside 17 mm, wide 4 mm, thick 2.4 mm\n"
    "stone f: round 2 mm, gem garnet, along around of b, stretch -20 % to 20 %, gap 0.3 mm",
    "rail": "path s: through (-18 mm, 0) over (0, -5 mm) to (18, 0 mm)\nwire b: along s, flat 4 x 3 mm\n"
    "stone f: round 2 mm to 3 mm to 2 mm, gem garnet, along s, number 9, gap 0.3 mm, out 1.5 mm",
}


@pytest.mark.parametrize("name", BACKS)
def test_an_azure_is_widest_where_the_metal_ends(name: str) -> None:
    """By sections of the metal square to each stone: from its beginning the hole never narrows, and
    at the back it is 80 % of the stone, as its line says without figures."""
    made = built(f"{BACKS[name]}\nseat: for f\nazure: for f", check_metal=False)
    (part,) = made.parts
    metal = solid_of(part)
    for stone in some(made):
        wide, frame = stone.size[0], stone.frame
        back = np.concatenate([frame[:, :3].T, -frame[:, :3].T @ frame[:, 3:]], axis=1)
        seen, thick = metal.transform(back), {"bar": 2.4, "thin bar": 0.9, "band": 2.4, "rail": 3.0}
        widths = [_opening(seen.slice(-d)) / wide for d in np.arange(0.3 * wide, thick[name] - 0.02, 0.05)]
        assert (np.diff(widths) > -0.012).all()
        at_back = _opening(seen.slice(-(thick[name] - 0.002))) / wide
        assert at_back == pytest.approx(0.8, abs=0.03)


def _opening(section: CrossSection) -> float:
    """Diameter of the largest circle about the axis that a section leaves free, mm."""
    loops = [np.array(loop, float) for loop in section.to_polygons()]
    a = np.concatenate(loops)
    way = np.concatenate([np.roll(loop, -1, axis=0) for loop in loops]) - a
    share = np.clip(-(a * way).sum(axis=1) / np.maximum((way**2).sum(axis=1), 1e-12), 0, 1)
    return 2 * float(np.linalg.norm(a + share[:, None] * way, axis=1).min())


ORDER = (
    "stone one: round 2 mm, gem garnet\nbar frame: size 8 x 6 x 2 mm, under one\n{}"
    "plate back: rectangle 7 x 5 mm, thick 1 mm, inward 2.9 mm\n{}"
)


@pytest.mark.parametrize(
    ("before", "after", "through"),
    [("seat: for one\n", "", False), ("", "seat: for one", True), ("", "seat: for one, in frame", False)],
)
def test_the_order_of_work_says_what_a_hole_goes_through(before: str, after: str, through: bool) -> None:
    """A plate soldered behind later shuts the hole; one above the seat's line is cut with it."""
    made = built(ORDER.format(before, after), check_metal=False)
    (stone,) = made.stones
    down = met(corners(made), stone.frame[:, 3] + (0.001, 0.002, 0), -stone.frame[:, 2])
    assert (not (down > 0).any()) == through


@pytest.mark.parametrize(
    "text",
    [
        "band b: inside 17 mm, wide 4 mm, thick 2 mm\ndrill h: at top of b, across 1 mm",
        "band b: inside 17 mm, wide 4 mm, thick 2 mm\npierce h: at top of b, oval 3 x 2 mm",
    ],
)
def test_a_hole_in_a_ring_leaves_its_back_alone(text: str) -> None:
    """Metal taken away: the hole through one wall, by its closed form (a prism through the ring's
    wall, which is 2 mm thick at the middle and a little more beside it)."""
    ring = built(text.split("\n")[0], check_metal=False).parts[0].volume
    left = built(text, check_metal=False).parts[0].volume
    area = np.pi / 4 * (1.0 if "drill" in text else 6.0)
    assert ring - left == pytest.approx(2 * area, rel=0.02)


@pytest.mark.parametrize("mouth", (0.0, 0.2, 0.5))
def test_a_groove_follows_the_crown_and_stays_clear_of_the_stone(mouth: float) -> None:
    """Metal stands over the girdle from 'mouth' on, the clearance of 0.04 mm off the stone; over the
    table there is none."""
    text = "bar b: size 10 x 10 x 6 mm\nstone s: round 5 mm, gem quartz, at face of b, inward 1.5 mm\n"
    made = built(f"{text}seat: for s, in b, mouth {mouth} mm\n", check_metal=False)
    (part,), (set_in,) = made.parts, made.stones
    metal = solid_of(part)
    stone = stone_solid(StoneKind(set_in.cut, set_in.size, set_in.gem)).translate((0, 0, 4.5))
    assert (metal ^ stone).volume() < 1e-6
    assert 0.025 < metal.min_gap(stone, 1.0) < 0.041  # the bearing is as much wider all the way down
    over = max(mouth, 0.1) + 0.1  # above the girdle plane: metal from just outside the crown
    rim = 2.5 + 0.04 - (over - max(mouth, 0.088)) * 0.6 / 0.509
    ring = CrossSection.circle(2.5, 256) - CrossSection.circle(rim + 0.1, 256)
    shell = ring.extrude(0.02).translate((0, 0, 4.5 + over))
    assert (metal ^ shell).volume() == pytest.approx(shell.volume(), rel=0.01)
    assert (metal ^ Manifold.cylinder(1.0, 1.35).translate((0, 0, 5.4))).volume() < 1e-6


def test_a_flat_back_of_a_round_stone_lies_on_a_ledge() -> None:
    """Half pearls: metal below the back from the light hole, half as wide as the stone, to its edge."""
    text = "bar b: size 6 x 6 x 2 mm\nstone s: cabochon 2 mm, gem pearl, at face of b, level back, inward 0.6 mm\n"
    (part,) = built(f"{text}seat: for s, in b, hole 50 %\n", check_metal=False).parts
    metal = solid_of(part)
    ring = CrossSection.circle(0.98, 256) - CrossSection.circle(0.52, 256)
    ledge = ring.extrude(0.5).translate((0, 0, 2 - 0.6 - 0.55))
    assert (metal ^ ledge).volume() == pytest.approx(ledge.volume(), rel=1e-6)
    over = CrossSection.circle(1.0, 256).extrude(1.0).translate((0, 0, 1.4))
    assert (metal ^ over).volume() < 1e-9
