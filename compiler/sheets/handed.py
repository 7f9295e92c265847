"""What is handed over with an order, gathered once for every sheet of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from ...lang.bench import Call
from ...stdlib.alloys import ALLOYS, Alloy
from ...stdlib.cautions import cautions_for
from ...stdlib.cuts import CUTS
from ...stdlib.gems import GEMS, Gem
from ..bench.roles import Role
from ..drawing.scene import Scene
from ..files.digits import plain
from ..judging.remark import LAYOUT
from ..judging.settings import Setting, settings_of
from ..making.result import Built, Stone
from ..making.weights import Weights
from ..words.contour import CONTOURS
from .html import Markup, block, cautions, heading, paragraph, table
from .stamp import Stamp


@dataclass(frozen=True, eq=False)
class Handed:
    """A piece that was made, what it weighs and how it looks; how many are ordered, in what state
    the caster is to hand them over (``finish``), the ``shrink`` the meshes allow for (a share), and
    the meshes by file name."""

    built: Built
    weights: Weights
    scene: Scene
    stamp: Stamp
    count: int
    finish: str
    shrink: float
    meshes: Mapping[str, bytes]

    @cached_property
    def settings(self) -> list[Setting]:
        """How each stone is set, in the order of their numbers."""
        assert self.built.piece is not None
        return settings_of(self.built.piece)

    @property
    def alloys(self) -> list[Alloy]:
        """The alloys that are cast."""
        return [ALLOYS[name] for name in self.built.metals]

    def lot(self, stone: Stone) -> str:
        """What the packet of a stone is called; "" without one."""
        return str(self._call(stone).get("lot") or "")

    def measured(self, stone: Stone) -> bool:
        """Whether a stone is one that is there: it has a lot, or was weighed or measured."""
        call = self._call(stone)
        return any(call.given(key) for key in ("lot", "weighs", "deep"))

    def _call(self, stone: Stone) -> Call:
        assert self.built.piece is not None
        return self.built.piece.call(int(self.built.piece.stones.line[stone.number - 1]))

    @cached_property
    def by_hand(self) -> list[dict[str, Any]]:
        """What is engraved by hand after casting: a record for each line of it, lengths in mm."""
        piece = self.built.piece
        assert piece is not None
        lines = [(one.index, call) for one, call in piece.with_role(Role.ENGRAVING) if call.get("by-hand")]
        return [
            {
                "name": piece.name_of(line), "what": _engraved(call), "deep_mm": call.get("deep"),
                "on": call.get("in").name if call.given("in") else "",
                "tall_mm": call.get("tall") if call.given("letters") else None,
            }
            for line, call in lines
        ]  # fmt: skip

    def record(self, sheet: str) -> dict[str, Any]:
        """What every sheet tells of the piece, as plain data."""
        return {
            "posy": LAYOUT, "sheet": sheet, "title": self.built.title, "metal": self.built.metal,
            **self.stamp.record(), "note": self.built.note, "count": self.count,
            "tolerance_mm": self.built.tolerance, "shrink": self.shrink,
            "measures": [[name, *value] for name, value in self.built.measures.items()],
            "by_hand": self.by_hand,
        }  # fmt: skip


def _engraved(call: Call) -> str:
    """What a line of engraving cuts, in words."""
    if call.given("letters"):
        return f'"{call.get("letters")}"'
    if call.given("stroke"):
        return f"a stroke {plain(call.get('stroke'), 2)} mm wide"
    return next((key for key in CONTOURS if call.given(key)), "")


def to_engrave(handed: Handed) -> list[Markup]:
    """What is left to the hand, for every sheet of those who work on the cast metal."""
    if not handed.by_hand:
        return []
    rows = [
        (
            one["name"], one["what"], one["on"] or "the piece",
            plain(one["tall_mm"], 2) if one["tall_mm"] else "", plain(one["deep_mm"], 2),
        )
        for one in handed.by_hand
    ]  # fmt: skip
    heads = ("In the text", "What", "On", "Tall", "Deep")
    said = "It is not in the mould, nor in the weight; drawn with posy draw --finished."
    title = heading("Engraved by hand, after casting", "mm")
    return [block(title, table(heads, rows), paragraph(said, class_="fine"))]


def take_care(alloys: list[Alloy], *steps: str) -> Markup:
    """The cautions for some work with some metals, each once, in the order of their table. Marking is
    the business of whoever sells the piece, so it is told to nobody else."""
    found = {
        caution.key: (caution.title, caution.text)
        for alloy in alloys for caution in cautions_for(alloy, steps) if caution.key != "hallmark"
    }  # fmt: skip
    advice = found.pop("advice", None)
    return cautions([*found.values(), *([advice] if advice else [])])


def size_of(stone: Stone) -> str:
    """Its size in mm: "8 x 6"; of a flat stone, a dome, an own outline with its depth: "14 x 10 x 2"."""
    cut, long, wide, *_ = stone.shape
    thick = (CUTS[cut].total_depth(long, wide),) if CUTS[cut].plain else ()
    return " x ".join(plain(one, 2) for one in (*stone.size, *thick))


def gem_of(stone: Stone) -> str:
    """What a sheet calls its gem."""
    return GEMS[stone.gem].title


def hardness(gem: Gem) -> str:
    """Mohs: one figure, or from the softest to the hardest."""
    return " to ".join(dict.fromkeys(f"{one:g}" for one in (gem.mohs_low, gem.mohs_high)))


def numbered(numbers: list[int]) -> str:
    """Numbers in short: "1, 3 to 7"."""
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs)
