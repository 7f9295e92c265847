"""Every example builds to files: watertight, one body for each alloy, the same bytes every time."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
import trimesh

EXAMPLES = Path(__file__).parents[2] / "examples"
PIECES = sorted(EXAMPLES.glob("*.posy"))


def _build(piece: Path, into: Path, seed: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "posy.compiler", "make", str(piece), "--into", str(into)],
        env={**os.environ, "PYTHONHASHSEED": seed}, capture_output=True, text=True, timeout=300, check=False,
    )


def _digests(folder: Path) -> dict[str, str]:
    return {f.name: hashlib.sha256(f.read_bytes()).hexdigest() for f in sorted(folder.iterdir())}


@pytest.mark.parametrize("piece", PIECES, ids=lambda piece: piece.stem)
def test_example_is_sound_and_repeats_to_the_byte(piece: Path, tmp_path: Path) -> None:
    """Outside reference for soundness: trimesh reads the STL back (vertices merged by place)."""
    first, second = tmp_path / "first", tmp_path / "second"
    for folder, seed in ((first, "1"), (second, "4242")):
        run = _build(piece, folder, seed)
        assert run.returncode == 0, run.stdout + run.stderr
    assert _digests(first) == _digests(second)
    (summary,) = first.glob("*.json")
    findings = json.loads(summary.read_text("utf-8"))["remarks"]
    assert not [f for f in findings if f["level"] != "hint" and not f.get("because")]
    meshes = sorted(first.glob("*.stl"))
    assert meshes
    for path in meshes:
        mesh = trimesh.load(path, force="mesh")
        assert mesh.is_watertight and mesh.is_winding_consistent, path.name
        assert mesh.body_count == 1, f"{path.name}: {mesh.body_count} bodies"
        assert mesh.volume > 0


def test_there_are_the_pieces_the_readme_promises() -> None:
    names = {piece.stem for piece in PIECES}
    assert {"terrace-row", "orchard-band", "orbit-medal", "reed-drops"} <= names
