"""Degenerate figures: every one makes a sound solid or gives a fault at its line, never a traceback."""

from __future__ import annotations

from pathlib import Path

import pytest
import trimesh

from posy.compiler.command import main

# Two bodies that share a face, an edge or a point; tools flush with faces; extremes of size.
CASES = {
    "shared face": "bar a: size 4 x 4 x 2 mm\nbar b: size 4 x 4 x 2 mm, right 4 mm",
    "same place": "bar a: size 4 x 4 x 2 mm\nbar b: size 4 x 4 x 2 mm",
    "same rounded": "bar a: size 4 x 4 x 2 mm, corner 1 mm\nbar b: size 4 x 4 x 2 mm, corner 1 mm",
    "shared edge": "bar a: size 4 x 4 x 2 mm\nbar b: size 4 x 4 x 2 mm, right 4 mm, out 2 mm",
    "shared corner": "bar a: size 4 x 4 x 2 mm\nbar b: size 4 x 4 x 2 mm, right 4 mm, up 4 mm, out 2 mm",
    "ball on a face": "bar a: size 6 x 6 x 2 mm\nball b: across 2 mm, out 2 mm",
    "balls that touch": "ball a: line 3, every 1 mm, across 1 mm",
    "balls half in": "bar a: size 6 x 6 x 2 mm\nball b: across 2 mm, out 1 mm",
    "hole at the edge": "bar a: size 6 x 6 x 2 mm\ndrill h: in a, right 3 mm, out 2 mm, across 1 mm",
    "hole touching the edge": "bar a: size 6 x 6 x 2 mm\ndrill h: in a, right 2.5 mm, out 2 mm, across 1 mm",
    "hole as large": "disc a: across 5 mm, height 2 mm\ndrill h: in a, across 5 mm, out 2 mm",
    "hole misses": "disc a: across 5 mm, height 2 mm\ndrill h: in a, across 1 mm, right 50 mm, out 2 mm",
    "drill to the back": "disc a: across 5 mm, height 2 mm\ndrill h: at face of a, across 1 mm, deep 2 mm",
    "tube in tube": "tube a: outside 4 mm, inside 3 mm, height 3 mm\ntube b: outside 3 mm, inside 2 mm, height 3 mm",
    "rod fills tube": "tube a: outside 4 mm, inside 3 mm, height 3 mm\nrod b: across 3 mm, long 3 mm",
    "full corner": "bar a: size 4 x 4 x 2 mm, corner 2 mm",
    "too much corner": "bar a: size 4 x 4 x 2 mm, corner 2.1 mm",
    "zero size": "bar a: size 0 x 4 x 2 mm",
    "negative size": "bar a: size -1 x 4 x 2 mm",
    "infinite": "bar a: size 1 / 0 x 4 x 2 mm",
    "not a number": "bar a: size sqrt(-1) mm x 4 x 2 mm",
    "huge": "bar a: size 99999999999 x 4 x 2 mm",
    "tiny": "bar a: size 0.000001 x 4 x 2 mm",
    "thin": "bar a: size 4 x 4 x 0.011 mm",
    "no wall": "tube a: outside 4 mm, inside 4 mm, height 3 mm",
    "inverted wall": "tube a: outside 4 mm, inside 5 mm, height 3 mm",
    "all hollow": "bar a: size 6 x 6 x 2 mm\nhollow h: in a, wall 3 mm, roof 1 mm",
    "no roof": "bar a: size 6 x 6 x 2 mm\nhollow h: in a, wall 1 mm, roof 2 mm",
    "half ball": "dome a: across 6 mm, height 3 mm",
    "over half": "dome a: across 6 mm, height 3.1 mm",
    "line back on itself": "line l: through (0, 0) to (4, 0 mm) to (0, 0)\nwire w: along l, round 1 mm",
    "line in one spot": "line l: through (0, 0) to (0, 0)\nwire w: along l, round 1 mm",
    "arc in line": "line l: through (0, 0) over (1, 0 mm) to (2, 0 mm)\nwire w: along l, round 1 mm",
    "tight arc": "line l: through (0, 0) over (0.2, 0.2 mm) to (0.4, 0 mm)\nwire w: along l, round 1 mm",
    "sharp corner": "line l: through (0, 0) to (5, 0 mm) to (0, 0.4 mm)\nwire w: along l, round 1 mm",
    "closed square": "line l: through (0, 0) to (5, 0 mm) to (5, 5 mm) to (0, 5 mm), closed\nwire w: along l, round 1 mm",
    "figure of eight": "line l: through (0, 0) to (5, 5 mm) to (5, 0 mm) to (0, 5 mm), closed\nwire w: along l, round 1 mm",
    "helix-like": "line l: through (3, 0, 0 mm) to (0, 3, 1 mm) to (-3, 0, 2 mm) to (0, -3, 3 mm), smooth\nwire w: along l, round 1 mm",
    "upright line": "line l: through (0, 0, 0) to (0, 0, 5 mm)\nwire w: along l, round 1 mm",
    "stones overlap": "stone s: round 3 mm, gem ruby, line 3, every 1 mm\nbar a: size 12 x 6 x 2.5 mm, under s\nseat c: for s, in a",
    "stone too large": "stone s: round 9 mm, gem ruby\nbar a: size 6 x 6 x 2.5 mm, under s\nseat c: for s, in a",
    "seat in nothing": "stone s: round 3 mm, gem ruby\nseat c: for s",
    "beads wider than the rim": "disc a: across 2 mm, height 1 mm\nbead-line b: along rim of a, bead 2.5 mm, inset 0.9 mm",
    "beads off the rim": "disc a: across 8 mm, height 1 mm\nbead-line b: along rim of a, bead 0.5 mm, inset 0 mm",
    "inset past the middle": "disc a: across 4 mm, height 1 mm\nbead-line b: along rim of a, bead 0.5 mm, inset 2.5 mm",
    "far away": "bar a: size 4 x 4 x 2 mm, right 300 mm",
    "all cut away": "bar a: size 4 x 4 x 2 mm\ndrill h: across 20 mm, out 5 mm",
    "mirror in place": "bar a: size 4 x 4 x 2 mm\nmirror b: of a",
    "turned in place": "disc a: across 4 mm, height 2 mm\nturn b: of a, times 5",
    "copy of nothing": "line l: through (0, 0) to (4, 0 mm)\ncopy b: of l",
    "group of nothing": "group g\n  line l: through (0, 0) to (4, 0 mm)",
}


@pytest.mark.parametrize("name", CASES)
def test_degenerate_figures(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    piece = tmp_path / "piece.posy"
    piece.write_text(CASES[name] + "\n", encoding="utf-8")
    out = tmp_path / "out"
    code = main(["build", str(piece), "--into", str(out), "--format", "short"])
    said = capsys.readouterr()
    text = said.out + said.err
    assert "Traceback" not in text
    assert code in (0, 1), text
    if code == 1:
        assert "fault[" in text and "piece.posy:" in text, text
        assert not list(out.glob("*.stl")), "a faulty piece must not leave a mesh"
        return
    (path,) = out.glob("*.stl")
    mesh = trimesh.load(path, force="mesh")
    assert mesh.is_watertight and mesh.volume > 0, text
