"""The pieces that are timed, as posy texts: the examples, and pieces of many stones."""

from __future__ import annotations

from pathlib import Path

EXAMPLES = Path(__file__).parents[2] / "examples"


def row(stones: int, bead: float = 0.5, wire: float = 0.9, remark: str = "") -> str:
    """A straight row pendant: hollow back, beads touching one another all round the rim, seats,
    shared prongs; ``bead`` and ``wire`` in mm are what an edit changes."""
    pitch, across = 2.85, 2.6
    long = (stones - 1) * pitch + across + 1.6
    return f"""# {remark}
stone row: round {across} mm, gem garnet, row {stones}, every {pitch} mm, out 2.05 mm
bar frame: size {long} x 4.9 x 2.4 mm, corner 0.6 mm
hollow back: in frame, wall 0.9 mm, roof 1.1 mm
bead-line grain: along rim of frame, inset 0.3 mm, bead {bead} mm, pitch 0.39 mm
seat: for row, in frame, hole 50 %, clearance 0 mm
rod claws: at claw-gaps of row, inward 0.15 mm, turn 90 deg, row 2, every 1.65 mm, wire {wire} mm, long 1.45 mm, tip round
jump-ring loops: at ends of frame, right 1.5 mm, wire 1 mm, inside 2 mm
"""


def field(columns: int, rows: int) -> str:
    """A plate set all over in straight rows, a pair of prongs at each corner of the cells."""
    pitch, across, wire = 1.65, 1.5, 0.52
    long, wide = ((n - 1) * pitch + across + 1.2 for n in (columns, rows))
    grid = f"grid {columns + 1} x {rows + 1}, every {pitch} mm, out 1.4 mm"
    rod = f"wire {wire} mm, long 0.96 mm, tip round"
    return f"""
stone field: round {across} mm, gem garnet, grid {columns} x {rows}, every {pitch} mm, out 1.55 mm
bar plate-bar: size {long} x {wide} x 1.8 mm, corner 1 mm
seat: for field, in plate-bar, hole 53 %, clearance 0 mm
rod left-claws: {grid}, left {0.55 * wire} mm, {rod}
rod right-claws: {grid}, right {0.55 * wire} mm, {rod}
"""


def spiral(stones: int) -> str:
    """A disc set in a sunflower's spiral: no two places alike, every stone's prongs turned otherwise."""
    spread = 1.5  # mm; the nearest stones stand about 1.7 times as far apart
    return f"""
disc plate: across {2 * spread * stones**0.5 + 5} mm, thick 1.8 mm
each k from 1 to {stones}
  measure far = {spread} * sqrt(k) * 1 mm
  stone one: round 1.5 mm, gem garnet, right far * cos(k * 137.508 deg), up far * sin(k * 137.508 deg), out 1.6 mm
  seat: for one, in plate, hole 50 %
  prong claws: for one, count 4, wire 0.5 mm, start k * 17 deg, foot 0.6 mm
"""


ETERNITY = """
measure size = "iso 60"
band shank: finger size, wide 3.2 mm, thick 1.9 mm, profile flat
stone row: round 2 mm, gem diamond, along around of shank, gap 0.2 mm, out 0.2 mm
seat: for row, in shank, hole 50 %
prong claws: for row, shared, wire 0.7 mm, foot 0.9 mm
"""

PAVE = """
dome mound: across 22 mm, height 6 mm, wall 1.8 mm
stone field: round 1.3 mm, gem sapphire, upon mound, every 1.55 mm, inset 1.5 mm
bead-set pave: for field, in mound, bead 0.5 mm, clearance 0.02 mm
"""

MADE = {
    "row of 5": row(5),
    "row of 50": row(50),
    "row of 200": row(200),
    "field of 100": field(10, 10),
    "field of 400": field(20, 20),
    "field of 1,000": field(40, 25),
    "spiral of 200": spiral(200),
    "spiral of 800": spiral(800),
    "eternity band": ETERNITY,
    "domed pave": PAVE,
}


# What examples take from other files.
PARTS = {f"parts/{path.name}": path.read_text("utf-8") for path in sorted(EXAMPLES.glob("parts/*.posy"))}


def texts() -> dict[str, str]:
    """Every piece's text by its name, the examples first."""
    found = {path.stem: path.read_text(encoding="utf-8") for path in sorted(EXAMPLES.glob("*.posy"))}
    return found | {name: titled(text) for name, text in MADE.items()}


def titled(text: str) -> str:
    """The text below the head of a piece."""
    return f'piece "Trial"\n  metal silver-925\n{text}'
