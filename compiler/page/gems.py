"""Stones as a browser draws them: facets to be seen, and the planes that bound the light inside."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import numpy as np

from ...stdlib.cuts import CUTS, tablet
from ...stdlib.gem_light import light_of
from ...stdlib.gems import GEMS
from ..bench.stone_solid import placed_mesh
from ..drawing.scene import Body, Scene
from ..files.stone_weights import weight_said
from ..geometry import frames as fr
from ..making.result import Stone
from .faces import bent

_PLAIN, _USUAL_INDEX = "#dfe6ea", 1.55  # for what no table names
GIRDLE = 3  # of the many flats of a round girdle one in three bounds the light
MANY = 24  # flats from which a girdle counts as round
APART = 1e-4  # mm: a plane that leaves corners farther outside does not bound a hollow shape


def stone_arrays(stones: Sequence[Stone]) -> tuple[dict[str, Any], dict[str, np.ndarray]]:
    """What is told of the stones and their arrays.

    Told: ``kinds``, each with its cut, size and gem, how it takes light, its run of ``facets``
    (triangles) and of ``planes``, and the numbers of its stones. Arrays: ``facets`` (m, 3) numbers of
    ``gem-points`` (n, 3) mm with their folded ``gem-normals`` (n, 2), in the stone's own frame;
    ``planes`` (p, 4): a point is inside where normal . point <= offset; ``frames`` (s, 3, 4), by kind, none
    of them left-handed: a mirrored stone is of a kind of its own."""
    groups: dict[tuple[tuple[Any, ...], str, bool], list[Stone]] = {}
    for stone in stones:
        groups.setdefault((stone.shape, stone.gem, bool(fr.mirrored(stone.frame))), []).append(stone)
    kinds, points, facets, normals, planes, frames = [], [], [], [], [], []
    points_so_far = faces_so_far = planes_so_far = 0
    for (shape, gem, turned), alike in groups.items():
        own = fr.flipped(0) if turned else fr.identity()
        (spots, corners, bends), bounds = _shape(shape, turned)
        cut, size = alike[0].cut, alike[0].size
        points.append(spots)
        facets.append(corners + np.uint32(points_so_far))
        normals.append(bends)
        planes.append(bounds)
        frames += [fr.compose(stone.frame[None], own)[0] for stone in alike]
        kinds.append(
            {
                **_light(shape[0], gem),
                "cut": tablet.spoken(cut), "size": [round(one, 4) for one in size], "gem": gem,
                "facets": [faces_so_far, len(corners)], "planes": [planes_so_far, len(bounds)],
                "stones": [
                    {"number": one.number, "feature": one.feature, "weight": weight_said(gem, one.carats)}
                    for one in alike
                ],
            }
        )  # fmt: skip
        points_so_far += len(spots)
        faces_so_far += len(corners)
        planes_so_far += len(bounds)
    if not kinds:
        return {"kinds": []}, {}
    return {"kinds": kinds}, {
        "gem-points": np.concatenate(points),
        "gem-normals": np.concatenate(normals),
        "facets": np.concatenate(facets),
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
def _shape(figures: tuple[Any, ...], turned: bool) -> tuple[tuple[np.ndarray, ...], np.ndarray]:
    """Points, facets and folded normals (see ``bent``) and the bounding planes (p, 4) of a stone, or of its
    mirror image from right to left."""
    frame = (fr.flipped(0) if turned else fr.identity())[0]
    points, triangles = placed_mesh(figures, frame)
    alike = np.zeros(len(triangles), dtype=np.int32)
    scene = Scene(points, triangles, alike, alike, (Body(_PLAIN, 1),), 0.01)
    return bent(scene, flat=CUTS[figures[0]].facet_count > 0), _planes(figures, frame)


def _planes(figures: tuple[Any, ...], frame: np.ndarray) -> np.ndarray:
    """The planes of a faceted stone in a frame at the origin, (p, 4), those that cut into it left out; none
    of a smooth one."""
    name, long, wide, *rest = figures
    cut = CUTS[name]
    if not cut.facet_count:
        return np.zeros((0, 4))
    facets = cut.facets(long, wide, rest[0] if rest else None)
    girdle = np.array([one.startswith("girdle") for one in facets.names])
    kept = ~girdle | (girdle.sum() <= MANY) | (np.cumsum(girdle) % GIRDLE == 0)
    faces = [face for face, keep in zip(facets.faces, kept, strict=True) if keep]
    planes = np.array([_plane(facets.points[list(face)]) for face in faces])
    inside = (facets.points @ planes[:, :3].T - planes[:, 3]).max(axis=0) <= APART
    _, first = np.unique(np.round(planes[inside], 6), axis=0, return_index=True)
    kept = planes[inside][np.sort(first)]
    return np.column_stack((kept[:, :3] @ frame[:, :3].T, kept[:, 3]))


def _plane(spots: np.ndarray) -> np.ndarray:
    """The plane (4,) of a flat face, its corners counter-clockwise from outside."""
    turned = np.cross(spots, np.roll(spots, -1, axis=0)).sum(axis=0)
    normal = turned / np.linalg.norm(turned)
    return np.array([*normal, (spots @ normal).mean()])
