"""Which edges are drawn: sharp ones and silhouettes, as far as nothing stands before them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..measures.kinds import unit
from ..measures.labels import groups
from ..measures.triangles import crosses
from .scene import Scene

# An edge sharper than SHARP is one whatever the tolerance; between lines of work, or where the
# faces are too wide to be facets of a curve, a blunter one is an edge too.
SHARP, JOINT, BLUNT, FACET = np.cos(np.radians((50.0, 18.0, 20.0, 2.5)))
ALONG = 0.8  # cosine of the greatest turn of a crease from one edge of it to the next
CRUMB = 0.02  # mm: a shorter edge goes no way of its own
SEAM = np.cos(np.radians(7.0))  # two curves that were each cut into facets may meet so
LEVEL = np.cos(np.radians(0.02))  # flatter than this, two triangles are of one flat face
SLIVER = 1e-4  # mm: a triangle lower than this has no direction of its own


@dataclass(frozen=True, eq=False)
class Edges:
    """``ends`` (e, 2) points, ``faces`` (e, 2) triangles on either side, ``sharp`` (e,), ``stone`` (e,);
    ``normals`` (m, 3), ``bends`` (m, 3, 3) the normal at each corner of a face, even across edges not sharp;
    ``like`` (m,) the face whose direction a face has: its own, or for a sliver that of a neighbour."""

    ends: np.ndarray
    faces: np.ndarray
    sharp: np.ndarray
    normals: np.ndarray
    stone: np.ndarray
    bends: np.ndarray
    like: np.ndarray


def edges_of(scene: Scene) -> Edges:
    """Every edge of the scene, once; views share this."""
    ends, faces, normals, height, sound, cosine = _paired_faces(scene)
    stone = np.array([body.stone for body in scene.bodies])[scene.body[faces[:, 0]]]
    sharp = np.where(
        stone, _stone_sharp(scene, faces, normals, cosine),
        _metal_sharp(scene, ends, faces, normals, height.min(axis=1), cosine)
        # Edges that stand up between the blows of a texture, however blunt they are.
        | np.isin(scene.feature, scene.texture)[faces].any(axis=1) & (cosine < SEAM)
        & (_rise(scene, faces, normals) < 0),
    )
    level = faces[cosine > LEVEL]
    patch = groups(len(normals), level[:, 0], level[:, 1])
    double = np.linalg.norm(crosses(scene.points[scene.triangles]), axis=1)
    weight = np.bincount(patch, double)[patch]
    soft = ~sharp & sound & (cosine > SHARP)
    bends = _bends(scene.triangles, ends, faces, normals, weight, soft)
    like = _like(len(normals), faces, sound, height.max(axis=1))
    return Edges(ends, faces, sharp & sound, normals, stone, bends, like)


def _like(count: int, faces: np.ndarray, sound: np.ndarray, height: np.ndarray) -> np.ndarray:
    """For each face the one whose direction it has: itself, or for a sliver a neighbour that has one, over
    the edge from which its neighbour reaches farthest."""
    like = np.arange(count)
    directed = np.zeros(count, dtype=bool)
    directed[faces[sound]] = True
    for _ in range(3):  # slivers beside slivers
        for side in (0, 1):
            one, other = faces[:, side], faces[:, 1 - side]
            found = np.flatnonzero(~directed[one] & directed[other])
            found = found[np.argsort(height[found], kind="stable")]
            like[one[found]] = like[other[found]]
        directed |= like != np.arange(count)
    return like


def smooth_edges(scene: Scene) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The edges over which a curve goes on as far as one can tell: their ``ends`` (e, 2) and ``faces``
    (e, 2); and the ``normals`` (m, 3) of all faces. Facets that stand for a curve turn by no more than
    its chord tolerance asks; where two lines of work meet, the wider face says whether they do."""
    ends, faces, normals, height, sound, cosine = _paired_faces(scene)
    angle = np.arccos(np.clip(cosine, -1.0, 1.0))
    joint = scene.feature[faces[:, 0]] != scene.feature[faces[:, 1]]
    width = np.where(joint, height.max(axis=1), height.min(axis=1))
    curved = (width * angle / 8.0 <= 2.0 * scene.tolerance) | (cosine > SEAM)
    soft = curved & sound & (cosine > SHARP)
    return ends[soft], faces[soft], normals


def _paired_faces(scene: Scene) -> tuple[np.ndarray, ...]:
    """Of every edge: its ends (e, 2), faces (e, 2), how far these reach from it (e, 2) mm, whether both
    have a direction, the cosine of their turn; and the normals (m, 3) of all faces, third."""
    ends, faces = _paired(scene.triangles)
    a, b, c = (scene.points[scene.triangles[:, k]] for k in range(3))
    out = crosses(scene.points[scene.triangles])
    double = np.linalg.norm(out, axis=1)
    normals = out / np.maximum(double, 1e-300)[:, None]
    length = np.linalg.norm(scene.points[ends[:, 0]] - scene.points[ends[:, 1]], axis=1)
    height = double[faces] / np.maximum(length, 1e-12)[:, None]
    longest = np.sqrt(np.maximum.reduce([((p - q) ** 2).sum(1) for p, q in ((a, b), (b, c), (c, a))]))
    sound = (double / np.maximum(longest, 1e-12))[faces].min(axis=1) > SLIVER
    cosine = np.einsum("ij,ij->i", normals[faces[:, 0]], normals[faces[:, 1]])
    return ends, faces, normals, height, sound, cosine


def _bends(
    triangles: np.ndarray, ends: np.ndarray, faces: np.ndarray, normals: np.ndarray, weight: np.ndarray,
    soft: np.ndarray,
) -> np.ndarray:
    """Normals at the corners of faces: the face's own and those beyond its soft edges, each by the
    ``weight`` of its flat face, so that what is flat stays so up to its rounded edge."""
    here: list[np.ndarray] = []
    there: list[np.ndarray] = []
    for side in (0, 1):
        for end in (0, 1):
            spot = ends[soft, end : end + 1]
            for face, found in ((faces[soft, side], here), (faces[soft, 1 - side], there)):
                found.append(3 * face + (triangles[face] == spot).argmax(axis=1))
    to, start = np.concatenate(here), np.concatenate(there)
    bends, heavy = np.repeat(normals, 3, axis=0), np.repeat(weight, 3)[:, None]
    for _ in range(4):  # from face to face round each point; more changes nothing one sees
        given = (heavy * bends)[start]
        more = [np.bincount(to, given[:, k], minlength=len(bends)) for k in range(3)]
        bends = unit(heavy * bends + np.column_stack(more))
    return bends.reshape(-1, 3, 3)


def _paired(triangles: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Edges as (low point, high point) with the two triangles that share them."""
    starts = triangles.reshape(-1)
    stops = np.roll(triangles, -1, axis=1).reshape(-1)
    low, high = np.minimum(starts, stops), np.maximum(starts, stops)
    order = np.argsort(low * (int(triangles.max()) + 1) + high, kind="stable")
    low, high, face = low[order], high[order], order // 3
    fresh = np.concatenate([[True], (low[1:] != low[:-1]) | (high[1:] != high[:-1])])
    place = np.arange(len(low)) - np.maximum.accumulate(np.where(fresh, np.arange(len(low)), 0))
    first = np.flatnonzero(~fresh[1:] & (place[:-1] % 2 == 0))
    return np.column_stack([low[first], high[first]]), np.column_stack([face[first], face[first + 1]])


def _metal_sharp(
    scene: Scene, ends: np.ndarray, faces: np.ndarray, normals: np.ndarray, width: np.ndarray,
    cosine: np.ndarray,
) -> np.ndarray:
    """Edges of metal. Facets ``width`` wide that stand for a curve turn by no more than its
    chord tolerance asks: sagitta = width x angle / 8. A crease between two of them that runs out is one as
    far as it is as blunt as a joint, through facets of any width."""
    angle = np.arccos(np.clip(cosine, -1.0, 1.0))
    too_wide = (width * angle / 8.0 > 2.0 * scene.tolerance) & (cosine < BLUNT)
    joint = (scene.feature[faces[:, 0]] != scene.feature[faces[:, 1]]) & (cosine < JOINT)
    sharp = (cosine < SHARP) | joint | too_wide
    return _carried_on(scene.points, ends, sharp, (cosine < JOINT) & (_rise(scene, faces, normals) > 0))


def _carried_on(points: np.ndarray, ends: np.ndarray, sharp: np.ndarray, blunt: np.ndarray) -> np.ndarray:
    """The sharp edges, and those blunt ones that carry them on in their line, one after another."""
    way = points[ends[:, 1]] - points[ends[:, 0]]
    length = np.linalg.norm(way, axis=1)
    way /= np.maximum(length, 1e-300)[:, None]
    found, fresh = sharp.copy(), np.flatnonzero(sharp)
    while len(fresh):
        open_edges = np.flatnonzero(blunt & ~found)
        came = np.zeros((len(points), 3))  # whence and how a crease comes to a point, the last one told
        came[ends[fresh].T.ravel()] = np.tile(way[fresh], (2, 1))
        meets = came[ends[open_edges]]
        turn = np.abs(np.einsum("eij,ej->ei", meets, way[open_edges]))
        crumb = length[open_edges] < CRUMB
        way[open_edges[crumb]] = meets[crumb, meets[crumb].any(axis=2).argmax(axis=1)]
        fresh = open_edges[(turn > ALONG).any(axis=1) | (crumb & meets.any(axis=(1, 2)))]
        found[fresh] = True
    return found


def _rise(scene: Scene, faces: np.ndarray, normals: np.ndarray) -> np.ndarray:
    """How far the second face's middle stands over the first's plane, mm (e,): above 0 in a crease."""
    middle = scene.points[scene.triangles].mean(axis=1)
    return np.einsum("ij,ij->i", middle[faces[:, 1]] - middle[faces[:, 0]], normals[faces[:, 0]])


def _stone_sharp(scene: Scene, faces: np.ndarray, normals: np.ndarray, cosine: np.ndarray) -> np.ndarray:
    """Edges between facets; not those between the many flats of a round girdle."""
    body = scene.body[faces[:, 0]]
    axis = np.array([drawn.axis for drawn in scene.bodies])[body]
    faceted = np.array([drawn.faceted for drawn in scene.bodies])[body]
    upright = [np.abs(np.einsum("ij,ij->i", normals[faces[:, k]], axis)) < 0.05 for k in (0, 1)]
    girdle = upright[0] & upright[1] & (cosine > np.cos(np.radians(25.0)))
    return np.where(faceted, (cosine < FACET) & ~girdle, cosine < SHARP)


