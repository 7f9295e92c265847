"""The row pendant of raw_row.py as a posy text, and a job that builds it with an empty memo."""

from __future__ import annotations

from dataclasses import dataclass

from raw_row import RowFigures, rim_spots

from posy.compiler.making.pipeline import build
from posy.compiler.making.session import Session
from posy.lang.loader import Texts


def text(f: RowFigures, bead: float | None = None) -> str:
    """The text: same figures, same number of beads; seats as posy cuts them, with no clearance."""
    line = (f.length - 2 * f.inset, f.width - 2 * f.inset, f.corner - f.inset)
    beads = len(rim_spots(*line, f.bead_pitch))
    size = bead or f.bead
    off = f.across / 2 + f.wire / 2 - f.bite
    return f"""
stone row: round {f.across} mm, gem garnet, line {f.stones}, every {f.pitch} mm, out {f.height - f.sink} mm
bar frame: size {f.length} x {f.width} x {f.height} mm, corner {f.corner} mm
hollow back: in frame, wall {f.wall} mm, roof {f.roof} mm
ball grain: along rim of frame, inset {f.inset} mm, number {beads}, across {size} mm, inward {size / 2} mm
seat s: for row, in frame, hole {100 * f.light / f.across} %, clearance 0 mm
rod claws: at gaps of row, out {f.sink - f.root} mm, turn 90 deg, line 2,
  every {2 * (off**2 - (f.pitch / 2) ** 2) ** 0.5} mm,
  across {f.wire} mm, long {f.root + f.rise + f.wire / 2} mm, tip round
jump-ring loops: at ends of frame, right {(f.loop_inside + f.loop_wire) / 2} mm,
  wire {f.loop_wire} mm, inside {f.loop_inside} mm
"""


@dataclass(frozen=True)
class Made:
    """A finished part, asked like a kernel solid."""

    triangles: int
    mesh_volume: float

    def num_tri(self) -> int:
        """How many triangles."""
        return self.triangles

    def volume(self) -> float:
        """Volume of the mesh, mm3."""
        return self.mesh_volume


def posy_build(source: str, tolerance: float, session: Session | None = None) -> list[Made]:
    """Build a text to its finished parts; an empty memo unless a session is given."""
    made = build(
        "row.posy",
        files=Texts({"row.posy": source}),
        tolerance=tolerance,
        check_metal=False,
        session=session,
    )
    faults = [f.message for f in made.faults if f.level.value == "fault"]
    if faults:
        raise RuntimeError("; ".join(faults))
    return [Made(len(part.triangles), part.mesh_volume) for part in made.parts]
