"""Degenerate figures: each makes a sound solid, or gives the faults stated at its line."""

from __future__ import annotations

import re

import pytest
import trimesh

from posy.compiler.command import main

MADE = ""
# What comes of each text: MADE, or the codes of its faults.
# Two bodies that share a face, an edge or a point; tools flush with faces; extremes of size.
CASES = {
    "shared face": (MADE, "bar a: size 4 x 4 x 2 mm\nbar b: size 4 x 4 x 2 mm, right 4 mm"),
    "same place": (MADE, "bar a: size 4 x 4 x 2 mm\nbar b: size 4 x 4 x 2 mm"),
    "same rounded": (MADE, "bar a: size 4 x 4 x 2 mm, corner 1 mm\nbar b: size 4 x 4 x 2 mm, corner 1 mm"),
    "shared edge": ("loose-piece", "bar a: size 4 x 4 x 2 mm\nbar b: size 4 x 4 x 2 mm, right 4 mm, out 2 mm"),
    "shared corner": ("loose-piece", "bar a: size 4 x 4 x 2 mm\nbar b: size 4 x 4 x 2 mm, right 4 mm, up 4 mm, out 2 mm"),
    "ball on a face": ("unattached-bead", "bar a: size 6 x 6 x 2 mm\nball b: across 2 mm, out 2 mm"),
    "balls that touch": ("unattached-bead", "ball a: row 3, every 1 mm, across 1 mm"),
    "balls half in": (MADE, "bar a: size 6 x 6 x 2 mm\nball b: across 2 mm, out 1 mm"),
    "hole at the edge": (MADE, "bar a: size 6 x 6 x 2 mm\ndrill h: in a, right 3 mm, out 2 mm, across 1 mm"),
    "hole touching the edge": (MADE, "bar a: size 6 x 6 x 2 mm\ndrill h: in a, right 2.5 mm, out 2 mm, across 1 mm"),
    "hole as large": ("no-metal", "disc a: across 5 mm, thick 2 mm\ndrill h: in a, across 5 mm, out 2 mm"),
    "hole misses": ("idle-cut", "disc a: across 5 mm, thick 2 mm\ndrill h: in a, across 1 mm, right 50 mm, out 2 mm"),
    "drill to the back": (MADE, "disc a: across 5 mm, thick 2 mm\ndrill h: at face of a, across 1 mm, deep 2 mm"),
    "tube in tube": (MADE, "tube a: outside 4 mm, inside 3 mm, long 3 mm\ntube b: outside 3 mm, inside 2 mm, long 3 mm"),
    "rod fills tube": (MADE, "tube a: outside 4 mm, inside 3 mm, long 3 mm\nrod b: wire 3 mm, long 3 mm"),
    "full corner": (MADE, "bar a: size 4 x 4 x 2 mm, corner 2 mm"),
    "too much corner": ("corner-too-round", "bar a: size 4 x 4 x 2 mm, corner 2.1 mm"),
    "zero size": ("out-of-range", "bar a: size 0 x 4 x 2 mm"),
    "negative size": ("out-of-range", "bar a: size -1 x 4 x 2 mm"),
    "infinite": ("divided-by-zero", "bar a: size 1 / 0 x 4 x 2 mm"),
    "not a number": ("unit-apart", "bar a: size sqrt(-1) mm x 4 x 2 mm"),
    "huge": ("number-too-large", "bar a: size 99999999999 x 4 x 2 mm"),
    "tiny": ("out-of-range", "bar a: size 0.000001 x 4 x 2 mm"),
    "thin": (MADE, "bar a: size 4 x 4 x 0.011 mm"),
    "no wall": ("no-wall", "tube a: outside 4 mm, inside 4 mm, long 3 mm"),
    "inverted wall": ("no-wall", "tube a: outside 4 mm, inside 5 mm, long 3 mm"),
    "all hollow": ("wall-too-thick", "bar a: size 6 x 6 x 2 mm\nhollow h: in a, wall 3 mm, roof 1 mm"),
    "no roof": ("roof-too-thick", "bar a: size 6 x 6 x 2 mm\nhollow h: in a, wall 1 mm, roof 2 mm"),
    "half ball": (MADE, "dome a: across 6 mm, height 3 mm"),
    "over half": ("dome-too-high", "dome a: across 6 mm, height 3.1 mm"),
    "line back on itself": ("bend-too-tight", "path l: through (0, 0) to (4, 0 mm) to (0, 0)\nwire w: along l, round 1 mm"),
    "line in one spot": ("spots-coincide", "path l: through (0, 0) to (0, 0)\nwire w: along l, round 1 mm"),
    "arc in line": (MADE, "path l: through (0, 0) over (1, 0 mm) to (2, 0 mm)\nwire w: along l, round 1 mm"),
    "tight arc": ("bend-too-tight", "path l: through (0, 0) over (0.2, 0.2 mm) to (0.4, 0 mm)\nwire w: along l, round 1 mm"),
    "sharp corner": ("bend-too-tight", "path l: through (0, 0) to (5, 0 mm) to (0, 0.4 mm)\nwire w: along l, round 1 mm"),
    "closed square": (MADE, "path l: through (0, 0) to (5, 0 mm) to (5, 5 mm) to (0, 5 mm), closed\nwire w: along l, round 1 mm"),
    "figure of eight": (MADE, "path l: through (0, 0) to (5, 5 mm) to (5, 0 mm) to (0, 5 mm), closed\nwire w: along l, round 1 mm"),
    "lies on itself": ("path-meets-itself", "path l: through (0, 0) to (9, 1 mm) to (9, 3 mm) to (0, 0.5 mm)\nwire w: along l, round 1 mm"),
    "helix-like": (MADE, "path l: through (3, 0, 0 mm) to (0, 3, 1 mm) to (-3, 0, 2 mm) to (0, -3, 3 mm), smooth\nwire w: along l, round 1 mm"),
    "upright line": (MADE, "path l: through (0, 0, 0) to (0, 0, 5 mm)\nwire w: along l, round 1 mm"),
    "stones overlap": ("loose-stone stone-overlap", "stone s: round 3 mm, gem ruby, row 3, every 1 mm\nbar a: size 12 x 6 x 2.5 mm, under s\nseat c: for s, in a"),
    "stone too large": ("culet-through loose-stone", "stone s: round 9 mm, gem ruby\nbar a: size 6 x 6 x 2.5 mm, under s\nseat c: for s, in a"),
    "seat in nothing": ("no-metal", "stone s: round 3 mm, gem ruby\nseat c: for s"),
    "beads wider than the rim": (MADE, "disc a: across 2 mm, thick 1 mm\nbead-line b: along rim of a, bead 2.5 mm, inset 0.9 mm"),
    "beads off the rim": (MADE, "disc a: across 8 mm, thick 1 mm\nbead-line b: along rim of a, bead 0.5 mm, inset 0 mm"),
    "inset past the middle": ("inset-too-far", "disc a: across 4 mm, thick 1 mm\nbead-line b: along rim of a, bead 0.5 mm, inset 2.5 mm"),
    "far away": (MADE, "bar a: size 4 x 4 x 2 mm, right 300 mm"),
    "all cut away": ("no-metal", "bar a: size 4 x 4 x 2 mm\ndrill h: across 20 mm, out 5 mm"),
    "mirror in place": (MADE, "bar a: size 4 x 4 x 2 mm\nmirror b: of a"),
    "turned in place": (MADE, "disc a: across 4 mm, thick 2 mm\nwheel b: of a, times 5"),
    "copy of nothing": ("no-metal", "path l: through (0, 0) to (4, 0 mm)\ncopy b: of l"),
    "group of nothing": ("no-metal", "workpiece g\n  path l: through (0, 0) to (4, 0 mm)"),
}


@pytest.mark.parametrize(("expected", "text"), CASES.values(), ids=CASES)
def test_degenerate_figures(expected, text, tmp_path, capsys):
    piece = tmp_path / "piece.posy"
    piece.write_text(text + "\n", encoding="utf-8")
    out = tmp_path / "out"
    code = main(["make", str(piece), "--into", str(out), "--show", "lines"])
    told = capsys.readouterr()
    text = told.out + told.err
    assert "Traceback" not in text
    assert re.findall(r" fault ([\w-]+): ", text) == expected.split(), text
    if expected:
        assert code == 1 and "piece.posy" in text, text
        assert not list(out.glob("*.stl")), "a faulty piece must not leave a mesh"
        return
    assert code == 0, text
    (path,) = out.glob("*.stl")
    mesh = trimesh.load(path, force="mesh")
    assert mesh.is_watertight and mesh.volume > 0, text
