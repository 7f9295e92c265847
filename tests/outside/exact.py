"""Exact measures of solids, from a boundary-representation kernel outside the project.

The kernel is OpenCASCADE, as carried by the `gmsh` wheel (https://gmsh.info, GPLv2 or later),
run by `exact_worker.py` in its own process. Curved faces stay curved there, so its volumes
are what a faceted solid is measured against.

A recipe is a list of steps, worked in order, every one `(op, solid, *moves)`:

    op      "add" | "cut"
    solid   ("box", x, y, z, dx, dy, dz)            lowest corner and size
            ("rounded-box", x, y, z, dx, dy, dz, r)  upright edges rounded
            ("cylinder", origin, axis, r)           axis carries the height
            ("cone", origin, axis, r_start, r_end)
            ("sphere", centre, r)
            ("torus", centre, axis, ring_r, wire_r)
            ("prism", outline, height)              outline in x-y, raised from z = 0
            ("turned", outline, origin, axis, degrees)
            ("pipe", path, r)                       round section along a smooth path
            ("group", recipe)
    moves   ("shift", (dx, dy, dz)) | ("turn", origin, axis, degrees)

An outline or path is [("start", p), ("line", p), ("arc", centre, p), ...], arcs under 180
degrees, or for an outline [("ellipse", centre, half_axes)]. Lengths in mm, angles in degrees.

`exact_pieces.py` holds ready pieces. Tests that need the kernel call `require_exact()` first."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest

Recipe = list[Any]


@dataclass(frozen=True)
class Exact:
    """Volume in mm3, centre of volume in mm, area of the skin in mm2, separate pieces."""

    volume: float
    centroid: tuple[float, float, float]
    area: float
    pieces: int


class ExactError(RuntimeError):
    """The kernel could not build a recipe, or could not be run at all."""


def exact_many(recipes: list[Recipe], seconds: float = 120.0) -> list[Exact]:
    """Measure all recipes in one worker process; ExactError names the first that fails."""
    worker = Path(__file__).with_name("exact_worker.py")
    run = subprocess.run(
        [sys.executable, str(worker)], input=json.dumps(recipes), capture_output=True, text=True,
        timeout=seconds, check=False,
    )
    if run.returncode:
        raise ExactError((run.stderr.strip().splitlines() or ["worker died"])[-1])
    answers = json.loads(run.stdout)
    for n, answer in enumerate(answers):
        if "error" in answer:
            raise ExactError(f"recipe {n}: {answer['error']}")
    return [Exact(a["volume"], tuple(a["centroid"]), a["area"], a["pieces"]) for a in answers]


def exact_measures(recipe: Recipe) -> Exact:
    """Volume, centre, area and number of pieces of one recipe."""
    return exact_many([recipe])[0]


def exact_volume(recipe: Recipe) -> float:
    """Volume of one recipe in mm3."""
    return exact_measures(recipe).volume


@lru_cache(maxsize=1)
def why_no_exact() -> str | None:
    """None if the kernel runs here, else the reason it does not."""
    try:
        exact_many([])
    except (ExactError, OSError, subprocess.SubprocessError) as slip:
        return str(slip)
    return None


def require_exact() -> None:
    """Skip the calling test if the kernel cannot run; fail it under POSY_ALL_OUTSIDE=1."""
    reason = why_no_exact()
    if reason is None:
        return
    text = f"exact reference not run, gmsh does not load here: {reason}"
    if os.environ.get("POSY_ALL_OUTSIDE") == "1":
        pytest.fail(text)
    pytest.skip(text)
