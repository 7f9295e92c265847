"""All files of one piece as bytes in memory, ready to be written as one set."""

from __future__ import annotations

from collections.abc import Callable

from ...lang.faults import Fault, is_fatal
from ..making.result import Built
from ..making.weights import weigh
from .digits import plain
from .formats import FORMATS, Wanted
from .mesh import PrintMesh, print_mesh
from .solids import Solid, metal_solids, stone_solids

Progress = Callable[[str, float], None]


def files_of(
    built: Built, name: str, wanted: Wanted, progress: Progress | None = None
) -> tuple[dict[str, bytes], list[Fault]]:
    """The files of ``built`` by file name, the summary last; none when there are faults.

    ``name`` is the stem of every name; ``harbour-shrink-1.25.stl`` is one made larger for
    casting, ``harbour-silver-925.stl`` one of several metals. Gives also the faults found
    (``mesh-not-closed``, ``metal-not-in-table``).
    """
    if not built.made:
        return {}, []
    weights, faults = weigh(built)
    meshes, open_ones = _meshes(built, wanted)
    faults += open_ones
    if is_fatal(faults):
        return {}, faults
    files: dict[str, bytes] = {}
    stem = name + (f"-shrink-{plain(100 * wanted.shrink)}" if wanted.shrink else "")
    orders = [one for one in FORMATS if one in wanted.formats and one != "json"]
    for number, order in enumerate(orders):
        if progress:
            progress(f"writing {order}", number / len(orders))
        files.update(_files(order, stem, built, meshes, wanted))
    if "json" in wanted.formats:
        from .summary import summary_bytes

        files[f"{stem}.json"] = summary_bytes(built, weights, files, shrink=wanted.shrink)
    return files, faults


def _meshes(built: Built, wanted: Wanted) -> tuple[list[PrintMesh], list[Fault]]:
    """The print mesh of every part, checked whatever formats are asked for."""
    meshes: list[PrintMesh] = []
    faults: list[Fault] = []
    for part in built.parts:
        mesh, wrong = print_mesh(part, built.features, shrink=wanted.shrink)
        faults += wrong
        if mesh is not None:
            meshes.append(mesh)
    return meshes, faults


def _files(
    order: str, stem: str, built: Built, meshes: list[PrintMesh], wanted: Wanted
) -> dict[str, bytes]:
    """The files of one format."""
    if order in ("stl", "ply"):
        from .meshes import ply_bytes
        from .stl import stl_bytes

        write = stl_bytes if order == "stl" else ply_bytes
        several = len(meshes) > 1
        return {
            f"{stem}-{mesh.metal}.{order}" if several else f"{stem}.{order}": write(mesh)
            for mesh in meshes
        }
    solids = metal_solids(built, meshes)
    if wanted.stones or order == "glb":
        solids += stone_solids(built, wanted.shrink)
    return {f"{stem}.{order}": _together(order, solids, built)}


def _together(order: str, solids: list[Solid], built: Built) -> bytes:
    """All solids in one file."""
    from .meshes import glb_bytes, obj_bytes
    from .summary import text_hash
    from .threemf import threemf_bytes

    if order == "3mf":
        return threemf_bytes(solids, built.title, text_hash(built))
    if order == "obj":
        return obj_bytes(solids)
    return glb_bytes(solids, built.title)
