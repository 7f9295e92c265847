"""Stones as a browser draws them: facets to be seen, and the planes that bound the light inside."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import numpy as np

from ...stdlib.cuts import CUTS
from ...stdlib.gem_light import light_of
from ...stdlib.gems import GEMS
from ..bench.stone_solid import stone_mesh
from ..drawing.scene import Body, Scene
from ..making.result import Stone
from ..measures.triangles import crosses
from .faces import bent_normals, folded

_PLAIN, _USUAL_INDEX = "#dfe6ea", 1.55  # for what no table names
GIRDLE = 3  # of the many flats of a round girdle one in three bounds the light
MANY = 24  # flats from which a girdle counts as round
APART = 1e-4  # mm: a plane that leaves corners farther outside does not bound a hollow shape


def stone_arrays(stones: Sequence[Stone]) -> tuple[dict[str, Any], dict[str, np.ndarray]]:
    """What is told of the stones and their arrays.

    Told: ``kinds``, each with its cut, size and gem, how it takes light, its run of ``facets``
    (triangles) and of ``planes``, and the numbers of its stones. Arrays: ``facets`` (m, 3, 3) mm and
    ``facet-normals`` (m, 3, 2) in the stone's own frame; ``planes`` (p, 4): a point is inside where
    normal . point <= offset; ``frames`` (s, 3, 4), kind by kind."""
    groups: dict[tuple[str, tuple[float, ...], str], list[Stone]] = {}
    for stone in stones:
        groups.setdefault((stone.cut, tuple(map(float, stone.size)), stone.gem), []).append(stone)
    kinds, facets, normals, planes, frames = [], [], [], [], []
    faces_so_far = planes_so_far = 0
    for (cut, size, gem), alike in groups.items():
        corners, bends, bounds = _shape(cut, size)
        facets.append(corners)
        normals.append(bends)
        planes.append(bounds)
        frames += [stone.frame for stone in alike]
        kinds.append(
            {
                **_light(cut, gem),
                "cut": cut.partition("@")[0], "size": [round(one, 4) for one in size], "gem": gem,
                "facets": [faces_so_far, len(corners)], "planes": [planes_so_far, len(bounds)],
                "stones": [
                    {"number": one.number, "feature": one.feature, "carats": round(one.carats, 4)}
                    for one in alike
                ],
            }
        )  # fmt: skip
        faces_so_far += len(corners)
        planes_so_far += len(bounds)
    if not kinds:
        return {"kinds": []}, {}
    return {"kinds": kinds}, {
        "facets": np.concatenate(facets).astype(np.float32),
        "facet-normals": np.concatenate(normals),
        "planes": np.concatenate(planes).astype(np.float32),
        "frames": np.array(frames).astype(np.float32),
    }


def _light(cut: str, gem: str) -> dict[str, Any]:
    """How a stone of this cut takes light."""
    row, light = GEMS.get(gem), light_of(gem)
    index = (row.index_low + row.index_high) / 2 if row else _USUAL_INDEX
    return {
        "title": row.title if row else gem,
        "spoken": row.spoken if row else gem,
        "colour": row.colour if row else _PLAIN,
        "index": round(index, 4),
        "dispersion": light.dispersion,
        "body": light.body,
        "faceted": CUTS[cut].facet_count > 0,
    }


@lru_cache(maxsize=64)
def _shape(cut: str, size: tuple[float, ...]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Corners (m, 3, 3), folded normals (m, 3, 2) and bounding planes (p, 4) of a stone."""
    long, *rest = size
    figures = (cut, long, rest[0] if rest else long, *rest[1:])
    points, triangles = stone_mesh(figures)
    scene = Scene(
        points, triangles, np.zeros(len(triangles), dtype=np.int32),
        np.zeros(len(triangles), dtype=np.int32),
        (Body(_PLAIN, 1, CUTS[cut].facet_count > 0),), 0.01,
    )  # fmt: skip
    if not CUTS[cut].facet_count:
        return points[triangles], folded(bent_normals(scene)), _planes(figures)
    turned = crosses(points[triangles])
    flat = turned / np.maximum(np.linalg.norm(turned, axis=1, keepdims=True), 1e-300)
    return points[triangles], folded(np.repeat(flat[:, None], 3, axis=1)), _planes(figures)


def _planes(figures: tuple[Any, ...]) -> np.ndarray:
    """The planes of a faceted stone, (p, 4), those that cut into it left out; none of a smooth one."""
    name, long, wide, *rest = figures
    cut = CUTS[name]
    if not cut.facet_count:
        return np.zeros((0, 4))
    facets = cut.facets(long, wide, rest[0] if rest else None)
    corners = [facets.points[list(face)] for face in facets.faces]
    found: list[np.ndarray] = []
    flats = sum(one.startswith("girdle") for one in facets.names)
    seen = 0
    for spots, named in zip(corners, facets.names, strict=True):
        if named.startswith("girdle"):
            seen += 1
            if flats > MANY and seen % GIRDLE:
                continue
        plane = _plane(spots)
        inside = (facets.points @ plane[:3] - plane[3]).max() <= APART
        if inside and not any(np.allclose(plane, one, atol=1e-6) for one in found):
            found.append(plane)
    return np.array(found)


def _plane(spots: np.ndarray) -> np.ndarray:
    """The plane (4,) of a flat face, its corners counter-clockwise from outside."""
    turned = np.cross(spots, np.roll(spots, -1, axis=0)).sum(axis=0)
    normal = turned / np.linalg.norm(turned)
    return np.array([*normal, (spots @ normal).mean()])
