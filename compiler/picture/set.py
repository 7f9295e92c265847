"""The set a picture is taken on: metal, stones, ground, peg or cord, camera, as the renderer's own
plain records. Lengths mm; the world is that of rest.py."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from ...stdlib.alloys import ALLOYS
from ...stdlib.gem_light import light_of
from ...stdlib.gems import GEMS, Gem
from ...stdlib.optics import linear, polished
from ..drawing.outline import edges_of
from ..drawing.scene import Scene, scene_of
from ..judging.hanging import Loop
from ..making.result import Built
from ..measures.kinds import frame_of
from .names import FINISHES
from .rest import Rest

if TYPE_CHECKING:
    from types import ModuleType

FIELD = 13.0  # degrees the camera sees, the shorter way: a long lens, little foreshortening
ROOM = 1.18  # how much wider than the piece the picture is
UP = np.array((0.0, 0.0, 1.0))
CORD, PEG = "#2b2523", "#cfc7bb"
MILKY = 0.55  # share of light that a milky stone scatters at its face; our own figure


@dataclass(frozen=True)
class Wish:
    """What picture is wanted: ``ground`` #rrggbb, ``finish`` by name, ``size`` in pixels."""

    ground: str
    finish: str
    size: tuple[int, int]


def picture_set(mi: ModuleType, built: Built, rest: Rest, wish: Wish) -> dict[str, Any] | None:
    """All that the renderer is told but for its light; None where there is nothing to show."""
    scene = scene_of(built)
    if scene is None:
        return None
    points = scene.points @ rest.turn.T
    low, high = points.min(axis=0), points.max(axis=0)
    middle, size = (low + high) / 2, float(np.linalg.norm(high - low)) / 2
    shapes = dict(_bodies(mi, built, scene, points, rest, wish.finish))
    shapes |= _ground(mi, rest, middle, low, high, size, wish.ground)
    shapes |= _peg(mi, built, rest, points) if rest.kind == "stand" else {}
    shapes |= _cords(built, rest, size) if rest.kind == "hanging" else {}
    shapes["camera"] = _camera(mi, points, rest, middle, size, wish.size)
    return shapes


# --- metal and stones


def _bodies(
    mi: ModuleType, built: Built, scene: Scene, points: np.ndarray, rest: Rest, finish: str
) -> Iterator[tuple[str, Any]]:
    """A mesh for each metal and each stone."""
    bends = edges_of(scene).bends @ rest.turn.T
    parts = [part for part in built.parts if len(part.triangles)]
    for k, body in enumerate(scene.bodies):
        mine = scene.body == k
        corners = points[scene.triangles[mine]]
        if body.stone:
            gem = GEMS.get(built.stones[k - len(parts)].gem)
            flat = None if body.faceted else bends[mine]
            yield f"stone-{body.number}", _mesh(mi, corners, flat, _gem(gem))
        else:
            yield f"metal-{k}", _mesh(mi, corners, bends[mine], _metal(parts[k].metal, finish))


def _mesh(mi: ModuleType, corners: np.ndarray, bends: np.ndarray | None, look: dict[str, Any]) -> Any:
    """Triangles (m, 3, 3) with the normals at their corners, or flat ones."""
    rows = corners.reshape(-1, 3)
    if bends is not None:
        rows = np.concatenate((rows, np.round(bends.reshape(-1, 3), 4)), axis=1)
    rows, which = np.unique(np.round(rows, 7), axis=0, return_inverse=True)
    told = mi.Properties()
    told["look"] = mi.load_dict(look)
    if bends is None:
        told["face_normals"] = True
    mesh = mi.Mesh("", len(rows), len(corners), has_vertex_normals=bends is not None, props=told)
    figures = mi.traverse(mesh)
    figures["vertex_positions"] = rows[:, :3].astype(np.float32).ravel()
    if bends is not None:
        figures["vertex_normals"] = rows[:, 3:].astype(np.float32).ravel()
    figures["faces"] = which.reshape(-1).astype(np.uint32)
    figures.update()
    return mesh


def _rgb(colour: tuple[float, float, float]) -> dict[str, Any]:
    return {"type": "rgb", "value": [float(value) for value in colour]}


def _metal(name: str, finish: str) -> dict[str, Any]:
    alloy = ALLOYS.get(name)
    colour = polished(alloy) if alloy else (0.8, 0.8, 0.8)
    return {
        "type": "roughconductor", "material": "none", "distribution": "ggx",
        "alpha": FINISHES[finish][0], "specular_reflectance": _rgb(colour),
    }  # fmt: skip


def _gem(gem: Gem | None) -> dict[str, Any]:
    """A stone by its index and how light goes through it; one no table names looks like glass."""
    if gem is None or gem.index_high < 1.0:  # a stone of the house's own may have no index
        return {"type": "dielectric", "int_ior": 1.55}
    index, colour = (gem.index_low + gem.index_high) / 2, linear(gem.colour)
    body = light_of(gem.name).body
    if body == "clear":
        through = tuple(value**0.5 for value in colour)  # light goes in and out: twice a face
        return {"type": "dielectric", "int_ior": index, "specular_transmittance": _rgb(through)}  # type: ignore[arg-type]
    glazed: dict[str, Any] = {
        "type": "roughplastic", "int_ior": index, "alpha": 0.12 if body == "pearl" else 0.04,
        "nonlinear": True, "diffuse_reflectance": _rgb(colour),
    }  # fmt: skip
    if body not in ("milky", "play"):  # a play of colour is not drawn
        return glazed
    clear = {"type": "dielectric", "int_ior": index, "specular_transmittance": _rgb(colour)}
    glazed = {"type": "twosided", "look": glazed}
    return {"type": "blendbsdf", "weight": MILKY, "clear": clear, "glazed": glazed}


# --- what it stands on


def _matt(colour: str) -> dict[str, Any]:
    return {"type": "twosided", "look": {"type": "diffuse", "reflectance": _rgb(linear(colour))}}


def _ground(
    mi: ModuleType, rest: Rest, middle: np.ndarray, low: np.ndarray, high: np.ndarray, size: float,
    colour: str,
) -> dict[str, Any]:
    """A wall behind what hangs; a floor that sweeps up into a wall under what lies or stands."""
    if rest.kind == "hanging":
        away = high[1] + 0.35 * size
        wall = np.array(((-40.0, 0, -40), (40, 0, -40), (40, 0, 40), (-40, 0, 40))) * size
        spots, faces = wall + np.array((middle[0], away, middle[2])), [(0, 1, 2), (0, 2, 3)]
        return {"ground": _mesh(mi, spots[faces], None, _matt(colour))}
    bend = np.radians(np.linspace(-90.0, 0.0, 61))
    curve = np.stack((10.0 + 5.0 * np.cos(bend), 5.0 + 5.0 * np.sin(bend)), axis=1)
    profile = np.concatenate((((-40.0, 0.0),), curve, ((15.0, 7.0),))) * size
    sides = [np.column_stack((np.full(len(profile), x * size), profile)) for x in (-40.0, 40.0)]
    back = -rest.toward[:2]
    level = np.hypot(*back)
    back = back / level if level > 0.2 else rest.up[:2] / np.hypot(*rest.up[:2])
    turn = np.array(((back[1], back[0], 0.0), (-back[0], back[1], 0.0), (0.0, 0.0, 1.0)))
    spots = np.concatenate(sides) @ turn.T + (middle[0], middle[1], low[2])
    n = len(profile)
    faces = [(k, k + n, k + 1) for k in range(n - 1)] + [(k + 1, k + n, k + n + 1) for k in range(n - 1)]
    return {"ground": _mesh(mi, spots[faces], None, _matt(colour))}


def _peg(mi: ModuleType, built: Built, rest: Rest, points: np.ndarray) -> dict[str, Any]:
    """The peg that a ring hangs on: through its hole, touching it at the top."""
    bore = built.worn.bore if built.worn else None
    if bore is None:
        return {}
    axis = rest.turn @ bore.axis
    axis = axis if axis @ rest.toward < 0 else -axis  # away from us
    radius = 0.45 * bore.radius
    middle = rest.turn @ bore.middle + UP * (bore.radius - radius)
    reach = np.abs((points - middle) @ axis).max() + 0.25 * bore.radius
    front, back = middle - axis * reach, middle + axis * 14 * bore.radius
    return {
        "peg": {"type": "cylinder", "p0": front.tolist(), "p1": back.tolist(), "radius": radius,
                "look": _matt(PEG)},
        "peg-end": _mesh(mi, _disc(front, axis, radius), None, _matt(PEG)),
    }  # fmt: skip


def _disc(middle: np.ndarray, axis: np.ndarray, radius: float) -> np.ndarray:
    """A flat disc square to ``axis`` as triangles (96, 3, 3)."""
    one, two = frame_of(axis)
    angle = np.linspace(0.0, 2 * np.pi, 97)[:, None]
    rim = middle + radius * (np.cos(angle) * one + np.sin(angle) * two)
    return np.stack((np.broadcast_to(middle, (96, 3)), rim[:-1], rim[1:]), axis=1)


def _cords(built: Built, rest: Rest, size: float) -> dict[str, Any]:
    """The cord a piece hangs on: through each loop along the axis of its hole, then up."""
    loops: tuple[Loop, ...] = built.worn.loops if built.worn else ()
    runs = []
    for loop in loops:
        home = rest.turn @ loop.middle
        ways = (-1.0, 1.0) if len(loops) == 1 else (np.sign(home[0]),)
        runs += [_strand(loop, home, rest.turn @ loop.axis, way, size) for way in ways]
    return {f"cord-{k}-{name}": shape for k, run in enumerate(runs) for name, shape in run.items()}


def _strand(loop: Loop, home: np.ndarray, axis: np.ndarray, way: float, size: float) -> dict[str, Any]:
    """One strand: from where it bears in the hole, past the wire of the loop, up and aside."""
    thick = min(0.3 * loop.inside, 0.6)
    along = np.array((0.34 * way, 0.0, 1.0))
    start = home + UP * (loop.inside / 2 - thick / 2)
    side = way * (axis if axis[0] > 0.5 or axis[1] < 0 else -axis)
    past = start + side * (loop.wire / 2 + 0.6 * thick) + UP * (0.4 * loop.wire)
    look, shapes = _matt(CORD), {}
    for name, a, b in (("in", start, past), ("out", past, past + 8 * size * along)):
        shapes[name] = {"type": "cylinder", "p0": a.tolist(), "p1": b.tolist(),
                        "radius": thick / 2, "look": look}  # fmt: skip
    for name, at in (("start", start), ("bend", past)):
        shapes[name] = {"type": "sphere", "center": at.tolist(), "radius": thick / 2, "look": look}
    return shapes


def _camera(
    mi: ModuleType, points: np.ndarray, rest: Rest, middle: np.ndarray, size: float, pixels: tuple[int, int]
) -> dict[str, Any]:
    """A camera far enough for the whole piece to lie in the picture with room around it."""
    wide, tall = pixels
    right = np.cross(rest.up, rest.toward)
    off = points - middle
    x, y, z = off @ right, off @ rest.up, off @ rest.toward
    shift = (x.max() + x.min()) / 2 * right + (y.max() + y.min()) / 2 * rest.up
    half_wide, half_tall = np.ptp(x) / 2, np.ptp(y) / 2
    slope = np.tan(np.radians(FIELD / 2))
    short = min(wide, tall)
    away = ROOM * max(half_wide * short / wide, half_tall * short / tall) / slope + z.max()
    target = middle + shift
    place = target + rest.toward * away
    return {
        "type": "perspective", "fov": FIELD, "fov_axis": "smaller",
        "to_world": mi.ScalarTransform4f().look_at(place.tolist(), target.tolist(), rest.up.tolist()),
        "near_clip": size * 0.05, "far_clip": size * 1000.0,
    }  # fmt: skip
