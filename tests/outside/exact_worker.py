"""Exact volumes by the OpenCASCADE kernel in the `gmsh` wheel: the process that loads it.

Run as a program: a JSON list of recipes on stdin, a JSON list of answers on stdout. It is a
process of its own because gmsh is under GPLv2 or later and needs X and GL system libraries;
nothing of posy imports it. `exact.py` describes the recipe format and is the way to call it."""

from __future__ import annotations

import json
import math
import os
import sys
from typing import Any

Tags = list[tuple[int, int]]
SOLID, FACE, CURVE = 3, 2, 1


def _box(occ: Any, x: float, y: float, z: float, dx: float, dy: float, dz: float) -> Tags:
    return [(SOLID, occ.addBox(x, y, z, dx, dy, dz))]


def _cylinder(occ: Any, origin: list[float], axis: list[float], r: float) -> Tags:
    return [(SOLID, occ.addCylinder(*origin, *axis, r))]


def _cone(occ: Any, origin: list[float], axis: list[float], r0: float, r1: float) -> Tags:
    return [(SOLID, occ.addCone(*origin, *axis, r0, r1))]


def _sphere(occ: Any, centre: list[float], r: float) -> Tags:
    return [(SOLID, occ.addSphere(*centre, r))]


def _torus(occ: Any, centre: list[float], axis: list[float], big: float, small: float) -> Tags:
    tag = occ.addTorus(*centre, big, small, -1, 2 * math.pi, axis)
    return [(SOLID, tag)]


def _rounded_box(occ: Any, x: float, y: float, z: float, dx: float, dy: float, dz: float, r: float) -> Tags:
    x1, y1 = x + dx, y + dy
    outline = [
        ["start", [x + r, y]],
        ["line", [x1 - r, y]],
        ["arc", [x1 - r, y + r], [x1, y + r]],
        ["line", [x1, y1 - r]],
        ["arc", [x1 - r, y1 - r], [x1 - r, y1]],
        ["line", [x + r, y1]],
        ["arc", [x + r, y1 - r], [x, y1 - r]],
        ["line", [x, y + r]],
        ["arc", [x + r, y + r], [x + r, y]],
    ]
    tags = _prism(occ, outline, dz)
    occ.translate(tags, 0, 0, z)
    return tags


def _prism(occ: Any, outline: list[Any], height: float) -> Tags:
    return _solids(occ.extrude([(FACE, _face(occ, outline))], 0, 0, height))


def _turned(occ: Any, outline: list[Any], origin: list[float], axis: list[float], degrees: float) -> Tags:
    face = [(FACE, _face(occ, outline))]
    return _solids(occ.revolve(face, *origin, *axis, math.radians(degrees)))


def _pipe(occ: Any, path: list[Any], r: float) -> Tags:
    curves = _curves(occ, path)
    wire = occ.addWire(curves)
    start = path[0][1]
    disc = occ.addDisk(*start, r, r, -1, _heading(path), [])
    tags = _solids(occ.addPipe([(FACE, disc)], wire))
    occ.remove([(FACE, disc)])
    return tags


def _heading(path: list[Any]) -> list[float]:
    """Direction in which the path leaves its start (an arc leaves square to its radius)."""
    start, step = path[0][1], path[1]
    if step[0] == "line":
        return [b - a for a, b in zip(start, step[1], strict=True)]
    u = [a - c for a, c in zip(start, step[1], strict=True)]
    v = [b - c for b, c in zip(step[2], step[1], strict=True)]
    along = sum(a * b for a, b in zip(u, v, strict=True)) / sum(a * a for a in u)
    return [b - along * a for a, b in zip(u, v, strict=True)]


def _curves(occ: Any, path: list[Any]) -> list[int]:
    """Kernel curves of a path: ["start", p], ["line", p], ["arc", centre, p] (under 180)."""

    def spot(place: list[float]) -> int:
        return occ.addPoint(*place, *[0.0] * (3 - len(place)))

    if path[0][0] == "ellipse":
        (cx, cy), (rx, ry) = path[0][1:]
        return [_ellipse(occ, cx, cy, rx, ry)]
    first = last = spot(path[0][1])
    curves = []
    for n, step in enumerate(path[1:], 2):
        closes = n == len(path) and math.dist(step[-1], path[0][1]) < 1e-12
        end = first if closes else spot(step[-1])
        if step[0] == "line":
            curves.append(occ.addLine(last, end))
        else:
            curves.append(occ.addCircleArc(last, spot(step[1]), end))
        last = end
    return curves


def _ellipse(occ: Any, cx: float, cy: float, rx: float, ry: float) -> int:
    if rx >= ry:
        return occ.addEllipse(cx, cy, 0, rx, ry)
    return occ.addEllipse(cx, cy, 0, ry, rx, -1, 0, 2 * math.pi, [0, 0, 1], [0, 1, 0])


def _face(occ: Any, outline: list[Any]) -> int:
    return occ.addPlaneSurface([occ.addCurveLoop(_curves(occ, outline))])


def _solids(tags: Tags) -> Tags:
    return [tag for tag in tags if tag[0] == SOLID]


MAKERS: dict[str, Any] = {
    "box": _box,
    "cylinder": _cylinder,
    "cone": _cone,
    "sphere": _sphere,
    "torus": _torus,
    "rounded-box": _rounded_box,
    "prism": _prism,
    "turned": _turned,
    "pipe": _pipe,
}


def _move(occ: Any, tags: Tags, move: list[Any]) -> None:
    if move[0] == "shift":
        occ.translate(tags, *move[1])
    elif move[0] == "turn":
        _, origin, axis, degrees = move
        occ.rotate(tags, *origin, *axis, math.radians(degrees))
    else:
        raise ValueError(f"no such move: {move[0]}")


def _make(occ: Any, solid: list[Any], moves: list[Any]) -> Tags:
    kind, *figures = solid
    tags = _build(occ, figures[0]) if kind == "group" else MAKERS[kind](occ, *figures)
    for move in moves:
        _move(occ, tags, move)
    return tags


def _build(occ: Any, recipe: list[Any]) -> Tags:
    """Work through the steps in order; steps of one kind in a row are done together."""
    done: Tags = []
    n = 0
    while n < len(recipe):
        op = recipe[n][0]
        tools: Tags = []
        while n < len(recipe) and recipe[n][0] == op:
            tools += _make(occ, recipe[n][1], recipe[n][2:])
            n += 1
        done = _work(occ, op, done, tools)
    return done


def _work(occ: Any, op: str, done: Tags, tools: Tags) -> Tags:
    if op not in ("add", "cut"):
        raise ValueError(f"no such op: {op}")
    if op == "cut":
        return occ.cut(done, tools)[0]
    whole = done + tools
    return whole if len(whole) == 1 else occ.fuse(whole[:1], whole[1:])[0]


def _measure(gmsh: Any, recipe: list[Any]) -> dict[str, Any]:
    gmsh.clear()
    occ = gmsh.model.occ
    tags = _build(occ, recipe)
    occ.synchronize()
    masses = [occ.getMass(*tag) for tag in tags]
    centres = [occ.getCenterOfMass(*tag) for tag in tags]
    volume = math.fsum(masses)
    centre = [math.fsum(m * c[k] for m, c in zip(masses, centres, strict=True)) / volume for k in range(3)]
    skin = gmsh.model.getBoundary(tags, combined=True, oriented=False)
    area = math.fsum(occ.getMass(*tag) for tag in skin)
    return {"volume": volume, "centroid": centre, "area": area, "pieces": len(tags)}


def main() -> int:
    """Answer every recipe; one that cannot be built answers {"error": reason}."""
    answers_to = os.fdopen(os.dup(1), "w")
    os.dup2(2, 1)  # whatever the kernel prints must not mix with the answers
    import gmsh

    recipes = json.load(sys.stdin)
    gmsh.initialize(["exact", "-noenv"], readConfigFiles=False, interruptible=False)
    gmsh.option.setNumber("General.Terminal", 0)
    gmsh.option.setNumber("General.NumThreads", 1)
    answers: list[dict[str, Any]] = []
    for recipe in recipes:
        try:
            answers.append(_measure(gmsh, recipe))
        except Exception as slip:  # the kernel raises plain Exception; the caller decides
            answers.append({"error": f"{type(slip).__name__}: {slip}"})
    gmsh.finalize()
    json.dump(answers, answers_to)
    answers_to.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
