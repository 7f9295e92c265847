"""The set plate of raw_field.py as a posy text."""

from __future__ import annotations

from raw_field import FieldFigures


def text(f: FieldFigures) -> str:
    """The text: same figures; seats as posy cuts them, with no clearance."""
    long, wide = f.size
    grid = f"grid {f.columns + 1} x {f.rows + 1}, every {f.pitch} mm"
    gap = f.wire * 0.55
    rod = f"across {f.wire} mm, long {f.root + f.rise + f.wire / 2} mm, tip round"
    return f"""
stone field: round {f.across} mm, gem garnet, grid {f.columns} x {f.rows}, every {f.pitch} mm, out {f.height - f.sink} mm
bar plate-bar: size {long} x {wide} x {f.height} mm, corner {f.corner} mm
seat s: for field, in plate-bar, hole {100 * f.light / f.across} %, clearance 0 mm
rod left-claws: {grid}, left {gap} mm, out {f.height - f.root} mm, {rod}
rod right-claws: {grid}, right {gap} mm, out {f.height - f.root} mm, {rod}
"""
