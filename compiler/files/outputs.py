"""All files of one piece as bytes in memory, ready to be written as one set."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from ...lang.faults import Fault, is_fatal
from ..judging.one_file import one_file
from ..making.result import Built
from ..making.weights import weigh
from ..metal.part import in_row
from . import earlier
from .digits import plain
from .formats import FORMATS, Wanted
from .mesh import PrintMesh, print_mesh
from .solids import metal_solids, stone_solids
from .summary import json_bytes

Progress = Callable[[str, float], None]


def files_of(
    built: Built, name: str, wanted: Wanted, progress: Progress | None = None
) -> tuple[dict[str, bytes], list[Fault]]:
    """The files of ``built`` by file name, the summary last; none when there are faults.

    ``name`` is the stem of every name; ``harbour-shrink-1.25.stl`` is one made larger for
    casting, ``harbour-left.stl`` the casting called left, ``harbour-silver-925.stl`` one of several
    metals, ``harbour-link-30-times.stl`` thirty of one row that are alike. Gives also the faults found
    (``mesh-not-closed``, ``metal-not-in-table``)."""
    if not built.made:
        return {}, []
    weights, faults = weigh(built)
    meshes, open_ones = _meshes(built, wanted)
    faults += open_ones
    if is_fatal(faults):
        return {}, faults
    files: dict[str, bytes] = {}
    stem = stem_of(name, wanted)
    orders = [one for one in FORMATS if one in wanted.formats and one != "json"]
    for number, order in enumerate(orders):
        if progress:
            progress(f"writing {order}", number / len(orders))
        files.update(_files(order, stem, built, meshes, wanted))
    if "json" in wanted.formats:
        from .summary import summary_bytes

        own = {
            f"{name}.{order}": {
                "casting": alike[0].casting, "metal": alike[0].metal, "count": len(alike),
                "castings": [mesh.casting for mesh in alike],
            }
            for order in ("stl", "ply")
            for name, alike in by_file(stem, built, meshes).items()
        }  # fmt: skip
        files[f"{stem}.json"] = summary_bytes(built, weights, files, own, shrink=wanted.shrink)
    return files, faults


def stem_of(name: str, wanted: Wanted) -> str:
    """How the names of all files of a making begin."""
    return name + (f"-shrink-{plain(100 * wanted.shrink)}" if wanted.shrink else "")


def write_making(
    built: Built, folder: Path, name: str, wanted: Wanted, progress: Progress | None = None
) -> tuple[dict[Path, int], list[Fault]]:
    """Write the files of ``built``, and an earlier summary anew; gives paths with bytes, and faults."""
    if earlier.summary_at(folder / f"{stem_of(name, wanted)}.json") is not None:
        wanted = replace(wanted, formats=tuple(dict.fromkeys([*wanted.formats, "json"])))
    files, faults = files_of(built, name, wanted, progress)
    if is_fatal(faults):
        return {}, faults
    written, trouble = write_files(files, folder)
    return written, [*faults, *trouble]


def write_files(files: Mapping[str, bytes], folder: Path) -> tuple[dict[Path, int], list[Fault]]:
    """Write the files of one making, by name, into ``folder``; gives their paths with sizes in bytes,
    and faults. Files of an earlier making that its summary lists are removed (see ``earlier``)."""
    from .atomic import write_set

    files, faults = dict(files), []
    gone: list[Mapping[str, Any]] = []
    what = "earlier"
    register = next((name for name in files if name.endswith(".json")), None)
    before = register and earlier.summary_at(folder / register)
    if register and before:
        now = json.loads(files[register])
        kept, changed = earlier.left_behind(folder, before, files)
        if earlier.alike(before, now):  # other formats of the same making
            now["files"] += kept
            files[register] = json_bytes(now)
        else:
            gone, faults = kept, earlier.told_changed(changed)
            what = earlier.differs(before, now)
    done, trouble = write_set({folder / name: content for name, content in files.items()})
    if not trouble:
        faults += earlier.taken_away(folder, gone, what)
    return {path: len(files[path.name]) for path in done}, [*faults, *trouble]


def _meshes(built: Built, wanted: Wanted) -> tuple[list[PrintMesh], list[Fault]]:
    """The print mesh of every cast part, checked whatever formats are asked for."""
    meshes: list[PrintMesh] = []
    faults: list[Fault] = []
    for part in built.parts:
        if part.bought:
            continue
        mesh, wrong = print_mesh(part, built.features, shrink=wanted.shrink)
        faults += wrong
        if mesh is not None:
            meshes.append(mesh)
    return meshes, faults


def _files(order: str, stem: str, built: Built, meshes: list[PrintMesh], wanted: Wanted) -> dict[str, bytes]:
    if order in ("stl", "ply"):
        from .meshes import ply_bytes, stl_bytes

        write = stl_bytes if order == "stl" else ply_bytes
        return {f"{name}.{order}": write(alike[0]) for name, alike in by_file(stem, built, meshes).items()}
    shown = order == "glb"
    bought = [part for part in built.parts if part.bought] if shown else []
    more = [print_mesh(part, built.features, shrink=wanted.shrink)[0] for part in bought]
    solids = metal_solids(built, [*meshes, *(mesh for mesh in more if mesh is not None)])
    if wanted.stones or shown:
        solids += stone_solids(built, wanted.shrink)
    from .meshes import glb_bytes, obj_bytes
    from .summary import text_hash
    from .threemf import threemf_bytes

    if order == "3mf":
        data = threemf_bytes(solids, built.title, text_hash(built))
    else:
        data = obj_bytes(solids) if order == "obj" else glb_bytes(solids, built.title)
    return {f"{stem}.{order}": data}


def by_file(stem: str, built: Built, meshes: Sequence[PrintMesh]) -> dict[str, list[PrintMesh]]:
    """The meshes that one file serves, the first of them written, by its name: ``stem``, its casting if that
    has a name, how many times it is cast if more than once, and its metal where its casting has several."""
    parts = [part for part in built.parts if not part.bought]
    kinds = [(part.metal, in_row(part.casting)[0]) for part in parts]
    metals = Counter(mesh.casting for mesh in meshes)
    found: dict[str, list[PrintMesh]] = {}
    for numbers in one_file(built.piece, parts, kinds):
        first, times = meshes[numbers[0]], len(numbers)
        called = f"{in_row(first.casting)[0]} {times} times" if times > 1 else first.casting
        said = [stem, *re.split(r"[ .]", called)] if called else [stem]
        name = "-".join([*said, first.metal] if metals[first.casting] > 1 else said)
        count = 1
        while name in found:  # a casting called as a metal is, or by the number of another
            count += 1
            name = f"{'-'.join(said)}-{count}-{first.metal}"
        found[name] = [meshes[k] for k in numbers]
    return found
