"""The files of a print: the piece as it stands on the plate, and its props as a mesh of their own."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...lang.faults import Fault
from ..files.mesh import PrintMesh, print_mesh
from ..files.meshes import stl_bytes
from ..making.result import Built
from ..metal.kernel import mesh_of
from ..metal.part import Part
from .plan import PrintPlan
from .printer import Printer

PROPS = "props"


def print_files(
    plans: Sequence[PrintPlan], built: Built, printer: Printer, stem: str
) -> tuple[dict[str, bytes], list[Fault]]:
    """STL files by name: ``stem``-print and ``stem``-props for each print, by number where there are
    several; with -bar where one is asked for. The names tell a print that is larger than the piece."""
    files: dict[str, bytes] = {}
    faults: list[Fault] = []
    for k, plan in enumerate(plans):
        end = f"-{k + 1}" if len(plans) > 1 else ""
        grown = (plan.stood.grows.max() - 1) * 100
        size = f"-{grown:.2f}pc-larger" if grown > 0.005 else ""
        for name, mesh in _meshes(plan, built, printer, faults):
            files[f"{stem}-{name}{size if name == 'print' else ''}{end}.stl"] = stl_bytes(mesh)
    return files, faults


def _meshes(
    plan: PrintPlan, built: Built, printer: Printer, faults: list[Fault]
) -> list[tuple[str, PrintMesh]]:
    made = [("print", (*plan.mesh, plan.owner))]
    if plan.props_mesh is not None:
        made.append((PROPS, _unowned(*plan.props_mesh)))
    if printer.bar:
        made.append(("bar", _unowned(*bar(plan, printer))))
    found = []
    for name, (points, triangles, owner) in made:
        part = Part(plan.metal, points, triangles.astype(np.int32), owner.astype(np.int32), 0.0, 0.0)
        mesh, wrong = print_mesh(part, built.features)
        faults += wrong
        if mesh is not None:
            found.append((name, mesh))
    return found


def _unowned(points: np.ndarray, triangles: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    return points, triangles, np.zeros(len(triangles), dtype=np.int32)


def bar(plan: PrintPlan, printer: Printer) -> tuple[np.ndarray, np.ndarray]:
    """A bar of known length beside the piece, larger by as much: measured when cast, it tells the scale."""
    from manifold3d import Manifold

    long, side = printer.bar, 2.0
    rod = Manifold.cube((long, side, side), True).scale(printer.grows.tolist())
    beside = plan.mesh[0][:, 1].max() + 2.0 + side
    return mesh_of(rod.translate((0.0, float(beside), side * float(printer.grows[2]) / 2)))
