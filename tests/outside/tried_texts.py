"""Texts tried from outside, and what each is to give: read from its comments, measured on its metal.

A text in ``tests/tried`` says in comments what is expected of it; a mark at the end of a line of work is
about that line. Figures of the metal are taken with trimesh and plain numpy, not by posy's rules.

    #! wants: warning thin-beside, figure 0.166 within 5 %     a remark (figure as one likes)
    #! clean of: thin-wall slender                             remarks that are not to come
    #! nothing louder than: hint
    #! nothing made                                            no metal comes of it
    #! holes: 6             stones through whose girdle a ray leaves the metal at the back
    #! facing: outward      every table looks away from the finger (the y axis)
    #! lying: 0.01 mm       stones lie on the metal below them, no farther off than this
    #! stones only touch    metal and stones share no room
    #! bodies: 1            closed bodies of all metals
    #! no slivers           no crumb, closed void or flat triangle
    #! volume: 114.612 within 0.01 %    mm3; at 0.02 mm of chord it is within 0.1 %
    #! the bound holds      of the volume, against a tenth of the tolerance (or the figure above)
    #! bore: 8.66 mm        no metal nearer to the finger's axis
    #! round: 0.03 mm       the outside, half way across the ring, leaves a circle by no more
    #! leaning: 1 %         share of the outside's area that leans more than 8 degrees from the round
    #! alike: one two       two features have the same shape, moved
    #! outward: pegs        the flat ends of these rods look away from the middle of the piece
    #! open: why            what is expected does not come yet: the day it does, the test says so"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
import trimesh
from texts import solid_of

from posy.compiler.bench.stone_kind import StoneKind
from posy.compiler.bench.stone_solid import stone_solid
from posy.compiler.judging import judge
from posy.compiler.judging.remark import Remark
from posy.compiler.making.pipeline import build
from posy.compiler.making.result import Built
from posy.lang.faults import Fault

FOLDER = Path(__file__).parents[1] / "tried"
LEVELS = "hint", "warning", "fault"
CRUMB = 1e-3  # mm3
FAR = 6.0  # mm behind a girdle: what stands farther off is the other side of a ring
_MARK = re.compile(r"#!\s*(.+?)\s*$")


@dataclass(frozen=True)
class Tried:
    """One text with its marks: (line of work or 0, what it says)."""

    path: Path

    @property
    def name(self) -> str:
        return self.path.stem

    @cached_property
    def marks(self) -> list[tuple[int, str]]:
        found = []
        for number, line in enumerate(self.path.read_text("utf-8").splitlines(), 1):
            if mark := _MARK.search(line):
                found.append((0 if line.lstrip().startswith("#!") else number, mark[1]))
        return found

    @property
    def open(self) -> str:
        """Why the expectation does not come yet, empty where it does."""
        return next((said.removeprefix("open:").strip() for _, said in self.marks if said.startswith("open:")), "")

    @cached_property
    def finest(self) -> Built:
        return self.made(0.0005)

    def made(self, tolerance: float | None = None) -> Built:
        judge.STRICT = True
        return build(str(self.path), tolerance=tolerance, check_metal=tolerance is None)


def all_tried() -> list[Tried]:
    return [Tried(path) for path in sorted(FOLDER.glob("*.posy"))]


def shortcomings(text: Tried) -> list[str]:
    """What the text does not give of what it says, in words; empty when all of it comes."""
    made, told = text.made(), []
    for line, said in text.marks:
        key, _, rest = said.partition(":")
        if key != "open":
            told += [f"{said}: {why}" for why in FORMS[key](text, made, rest.strip(), line)]
    return told


# -- remarks -------------------------------------------------------------------------------------


def _wants(text: Tried, made: Built, rest: str, line: int) -> Iterator[str]:
    what, _, figure = rest.partition(", figure ")
    level, code = what.split()
    found = [f for f in made.faults if f.code == code and f.level.value == level]
    found = [f for f in found if not line or (f.span is not None and f.span.line == line)]
    if not found:
        yield f"not told; told {sorted({f'{f.level.value} {f.code}' for f in made.faults})}"
    elif figure and not any(_agrees(f, figure) for f in found):
        yield f"told with {[f.figure for f in found if isinstance(f, Remark)]}"


def _agrees(fault: Fault, wanted: str) -> bool:
    value, within = wanted.removesuffix("%").split(" within ")
    return isinstance(fault, Remark) and fault.figure is not None and (
        abs(fault.figure / float(value) - 1) <= float(within) / 100
    )


def _clean(text: Tried, made: Built, rest: str, line: int) -> Iterator[str]:
    for fault in made.faults:
        if fault.code in rest.split():
            yield f"{fault.code}: {fault.message}; {fault.seen}"


def _nothing_louder(text: Tried, made: Built, rest: str, line: int) -> Iterator[str]:
    for fault in made.faults:
        if LEVELS.index(fault.level.value) > LEVELS.index(rest):
            yield f"{fault.level.value} {fault.code}: {fault.message}; {fault.seen}"


def _nothing_made(text: Tried, made: Built, rest: str, line: int) -> Iterator[str]:
    if made.parts:
        yield "metal was made"


# -- stones --------------------------------------------------------------------------------------


def corners(made: Built) -> np.ndarray:
    return np.concatenate([part.points[part.triangles] for part in made.parts])


def met(triangles: np.ndarray, start: np.ndarray, way: np.ndarray) -> np.ndarray:
    """Distances along a ray to the triangles it goes through (Moller and Trumbore 1997)."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    across = np.cross(way, c - a)
    size = ((b - a) * across).sum(axis=1)
    size = np.where(np.abs(size) < 1e-14, np.nan, size)
    u = ((start - a) * across).sum(axis=1) / size
    turned = np.cross(start - a, b - a)
    v, t = turned @ way / size, ((c - a) * turned).sum(axis=1) / size
    return np.sort(t[(u >= 0) & (v >= 0) & (u + v <= 1)])


def _holes(text: Tried, made: Built, rest: str, line: int) -> Iterator[str]:
    metal, turn = corners(made), np.arange(5) * 2 * np.pi / 5 + 0.123
    count = 0
    for stone in made.stones:
        ring = 0.2 * min(stone.size[:2]) * np.stack([np.cos(turn), np.sin(turn)], 1)
        starts = stone.frame[:, 3] + np.concatenate([[[1.1e-3, 7e-4]], ring]) @ stone.frame[:, :2].T
        near = metal[np.linalg.norm(metal - stone.frame[:, 3], axis=2).min(axis=1) < 2 * FAR]
        hits = [met(near, start, -stone.frame[:, 2]) for start in starts]
        count += not any(((hit > 0) & (hit < FAR)).any() for hit in hits)
    if count != int(rest):
        yield f"{count} of {len(made.stones)} open"


def _facing(text: Tried, made: Built, rest: str, line: int) -> Iterator[str]:
    assert rest == "outward"
    for stone in made.stones:
        away = stone.frame[:, 3] * (1, 0, 1)
        if stone.frame[:, 2] @ away < 0.1 * np.linalg.norm(away):
            yield f"stone {stone.number} looks to {stone.frame[:, 2].round(2)}"


def _lying(text: Tried, made: Built, rest: str, line: int) -> Iterator[str]:
    metal, limit = corners(made), _mm(rest)
    for stone in made.stones:
        up = stone.frame[:, 2]
        down = met(metal, stone.frame[:, 3] + up + 1e-4 * stone.frame[:, 0], -up)
        if not (down > 0).any() or abs(down[down > 0][0] - 1) > limit:
            yield f"stone {stone.number} is off by {down[down > 0][:1] - 1} mm"


def _only_touch(text: Tried, made: Built, rest: str, line: int) -> Iterator[str]:
    solids = [solid_of(part) for part in made.parts]
    for stone in made.stones:
        body = stone_solid(StoneKind(stone.cut, stone.size, stone.gem)).transform(stone.frame)
        shared = sum((solid ^ body).volume() for solid in solids)
        if shared > 2e-4 * body.volume():
            yield f"stone {stone.number} shares {shared:.4f} mm3 of {body.volume():.2f} with metal"


# -- bodies and figures --------------------------------------------------------------------------


def meshes(made: Built) -> list[trimesh.Trimesh]:
    return [trimesh.Trimesh(part.points, part.triangles, process=False) for part in made.parts]


def _shells(made: Built) -> list[float]:
    """Volumes of all closed shells, mm3, voids below zero."""
    return [float(one.volume) for mesh in meshes(made) for one in mesh.split(only_watertight=False)]


def _bodies(text: Tried, made: Built, rest: str, line: int) -> Iterator[str]:
    count = len([volume for volume in _shells(made) if volume > 0])
    if count != int(rest):
        yield f"{count} bodies"


def _no_slivers(text: Tried, made: Built, rest: str, line: int) -> Iterator[str]:
    small = [volume for volume in _shells(made) if abs(volume) < CRUMB]
    flat = sum(int((mesh.area_faces < 1e-10).sum()) for mesh in meshes(made))
    if small or flat:
        yield f"{len(small)} shells under {CRUMB} mm3, {flat} flat triangles"


def _volume(text: Tried, made: Built, rest: str, line: int) -> Iterator[str]:
    truth, within = (float(one) for one in rest.removesuffix("%").split(" within "))
    for have, share in ((made, within), (text.made(0.02), max(0.1, within))):
        volume = sum(part.volume for part in have.parts)
        if abs(volume / truth - 1) > share / 100:
            yield f"{volume:.4f} mm3 at {have.tolerance} mm"


def _bound(text: Tried, made: Built, rest: str, line: int) -> Iterator[str]:
    figures = [said.split() for _, said in text.marks if said.startswith("volume:")]
    for have in (made, text.made(0.02)):
        for number, part in enumerate(have.parts):
            truth = float(figures[0][1]) if figures else text.finest.parts[number].volume
            if abs(part.volume - truth) > part.error:
                yield f"off by {part.volume - truth:.5f} mm3 at {have.tolerance} mm, bound {part.error:.5f}"


# -- rings and rods ------------------------------------------------------------------------------


def _bore(text: Tried, made: Built, rest: str, line: int) -> Iterator[str]:
    least = min(float(_least_radius(corners(made)[:, :, ::2])), 1e9)
    if least < _mm(rest) - 0.02:
        yield f"metal {least:.3f} mm from the axis"


def _least_radius(flat: np.ndarray) -> float:
    """Least distance of any edge from the axis; flat (n, 3, 2) are triangles seen along it."""
    start, way = flat.reshape(-1, 2), (np.roll(flat, -1, axis=1) - flat).reshape(-1, 2)
    share = np.clip(-(start * way).sum(axis=1) / np.maximum((way**2).sum(axis=1), 1e-15), 0, 1)
    return np.linalg.norm(start + share[:, None] * way, axis=1).min()


def _round(text: Tried, made: Built, rest: str, line: int) -> Iterator[str]:
    metal = corners(made)
    turns = np.radians(np.arange(0.37, 360, 2))
    ways = np.stack([np.sin(turns), 0 * turns, np.cos(turns)], axis=1)
    outer = np.array([met(metal, np.array([0, 0.013, 0]), way)[-1] for way in ways])
    if np.ptp(outer) > 2 * _mm(rest):
        yield f"from {outer.min():.3f} to {outer.max():.3f} mm"


def _leaning(text: Tried, made: Built, rest: str, line: int) -> Iterator[str]:
    mesh = trimesh.util.concatenate(meshes(made))
    middle = mesh.triangles_center * (1, 0, 1)
    away = middle / np.linalg.norm(middle, axis=1)[:, None]
    reach = np.linalg.norm(mesh.triangles[:, :, ::2], axis=2)
    outside = (reach > reach.max() - 0.05).all(axis=1)
    off = np.degrees(np.arccos(np.clip((mesh.face_normals * away).sum(axis=1), -1, 1)))
    share = mesh.area_faces[outside & (off > 8)].sum() / mesh.area_faces[outside].sum()
    if share > float(rest.removesuffix("%")) / 100:
        yield f"{100 * share:.1f} % leans"


def _points_of(made: Built, name: str) -> np.ndarray:
    number = [feature.name for feature in made.features].index(name)
    return np.concatenate([part.points[part.triangles[part.owner == number]] for part in made.parts])


def _alike(text: Tried, made: Built, rest: str, line: int) -> Iterator[str]:
    one, two = (_points_of(made, name).reshape(-1, 3) for name in rest.split())
    for spread in (np.ptp(one, axis=0) - np.ptp(two, axis=0), np.sort(one[:, 2])[:1] - np.sort(two[:, 2])[:1]):
        if np.abs(spread).max() > 0.01:
            yield f"differ by {spread.round(3)} mm"


def _outward(text: Tried, made: Built, rest: str, line: int) -> Iterator[str]:
    triangles = _points_of(made, rest)
    mesh = trimesh.Trimesh(triangles.reshape(-1, 3), np.arange(3 * len(triangles)).reshape(-1, 3))
    for facet, normal in zip(mesh.facets, mesh.facets_normal, strict=True):
        middle = mesh.triangles_center[facet].mean(axis=0)
        side = np.linalg.norm(middle[:2])
        astray = normal[:2] @ middle[:2] < 0.9 * np.linalg.norm(normal[:2]) * side
        flat = np.hypot(*normal[:2]) < 0.1
        if len(facet) >= 6 and normal[2] > 0.1 and side > 1.5 and (astray or flat):
            yield f"at {middle.round(2)} it looks to {normal.round(2)}"


def _mm(said: str) -> float:
    return float(said.removesuffix("mm"))


FORMS: dict[str, Callable[[Tried, Built, str, int], Iterator[str]]] = {
    "wants": _wants, "clean of": _clean, "nothing louder than": _nothing_louder,
    "nothing made": _nothing_made, "holes": _holes, "facing": _facing, "lying": _lying,
    "stones only touch": _only_touch, "bodies": _bodies, "no slivers": _no_slivers, "volume": _volume,
    "the bound holds": _bound, "bore": _bore, "round": _round, "leaning": _leaning, "alike": _alike,
    "outward": _outward,
}  # fmt: skip
