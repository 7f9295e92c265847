"""What must hold of any text, whatever it says."""

from __future__ import annotations

import math

import numpy as np
import trimesh

from posy.compiler.files.formats import Wanted
from posy.compiler.files.outputs import files_of
from posy.compiler.making import pipeline
from posy.compiler.making.session import Session
from posy.compiler.making.tidy import text_tidied
from posy.lang.faults import is_fatal
from posy.lang.loader import Texts

NAME = "made-up.posy"
COARSE = 0.05  # mm


def made(text: str, session: Session | None = None) -> pipeline.Built:
    """The text made, coarsely."""
    return pipeline.build(NAME, files=Texts({NAME: text}), session=session, tolerance=COARSE)


def held(text: str, neighbour: str | None = None) -> str:
    """Raises AssertionError where something does not hold; tells what came of the text: "fault", "metal"."""
    built = made(text)
    for fault in built.faults:
        assert fault.message and "nan" not in fault.message.casefold().split(), fault
    _tidy(text)
    if not built.made:
        assert is_fatal(built.faults), "no metal, and no fault that says why"
        return "fault"
    files, _ = files_of(built, "a", Wanted(("stl", "3mf", "json"), 0.0, False))
    assert files or is_fatal(built.faults)
    for part in built.parts:
        assert np.isfinite(part.points).all() and math.isfinite(part.volume)
        mesh = trimesh.Trimesh(part.points, part.triangles, process=False)
        assert mesh.is_watertight and mesh.is_winding_consistent, part.metal
        assert mesh.volume > 0
    again, _ = files_of(made(text), "a", Wanted(("stl", "3mf", "json"), 0.0, False))
    assert again == files, "another make gives other bytes"
    if neighbour is not None:
        session = Session()
        made(neighbour, session)
        after, _ = files_of(made(text, session), "a", Wanted(("stl", "3mf", "json"), 0.0, False))
        assert after == files, "kept work gives other bytes than a cold make"
    return "metal"


def _tidy(text: str) -> None:
    """Tidying changes neither what the text says nor, the second time, anything."""
    files = Texts({NAME: text})
    new, faults = text_tidied(text, NAME, files)
    if faults:
        assert new == text
        return
    assert text_tidied(new, NAME, files) == (new, [])
    plans = []
    for one in (text, new):
        built, piece = pipeline._laid_out(NAME, {}, None, Texts({NAME: one}))
        plans.append(None if is_fatal(built.faults) else piece.bench.plan().digest())
    assert plans[0] is None or plans[0] == plans[1], "tidying changed the plan"
