"""Sixty slips of a first hour: two small pieces, and what a hand new to posy does to them.

Each slip changes a right piece in one way. ``follow`` does what the remark says, as somebody would
who reads it and knows nothing else."""

from __future__ import annotations

import json
from pathlib import Path
from typing import NamedTuple

PENDANT = """\
piece "Heron bar"
  metal silver-925

measure wide = 2.2 mm
stone trio: round wide, gem garnet, row 3, every 2.5 mm
bar frame: size 10 x 5 x 2.4 mm, corner 0.5 mm, under trio
hollow back: in frame, wall 0.9 mm, roof 1.1 mm
seat: for trio, in frame
prong grips: for trio, shared, wire 0.8 mm, foot 0.9 mm
bead-line edge: along rim of frame, bead 0.45 mm, inset 0.3 mm
bail loops: at ends of frame, up 1.3 mm, out 0.2 mm, wire 1.2 mm, inside 2.2 mm
"""
RING = """\
piece "Quay ring"
  metal gold-585-yellow

band shank: finger "us 7", wide 3 mm, thick 1.9 mm, profile court
stone centre: round 5 mm, gem sapphire, at top of shank, out 3.2 mm
basket head: for centre, count 4, wire 1 mm, foot 3.5 mm
bore: of shank
"""


class Slip(NamedTuple):
    """One slip: ``old`` written as ``new``; ``told`` is part of the message (empty: nothing is wrong
    with it), ``mark`` what the remark is worth: 3 place, reason and a remedy that works, 2 of the
    three two, 1 the place alone, 0 nothing or a wrong lead."""

    name: str
    old: str
    new: str
    told: str
    mark: int = 3
    ring: bool = False

    @property
    def text(self) -> str:
        """The piece with the slip."""
        whole = RING if self.ring else PENDANT
        assert self.old in whole, self.name
        return whole.replace(self.old, self.new)


_TOLD = json.loads(Path(__file__).with_name("slips.json").read_text("utf-8"))
SLIPS, FURTHER = (tuple(Slip(**row) for row in _TOLD[when]) for when in ("first hour", "later"))
"""Those of a first hour (of "a name once with a capital" each of four lines tells, and none the reason), and slips
of the same kinds that were made later."""
