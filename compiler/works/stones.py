"""Stones: true cuts, laid out, each with its girdle plane at its own place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ...lang.bench import Call
from ...lang.faults import Fault
from ...lang.values import ByWeight
from ...lang.words import Kind, Take, Word
from ...stdlib.cuts import CUTS
from ...stdlib.gems import GEMS, find_gem
from .. import frames as fr
from ..feature import Feature, Lines, Offer, Places, length as mm, number, spot
from ..lines import ring
from ..outlines import trace
from ..placing import placed
from .common import Made

if TYPE_CHECKING:
    from ..bench import PieceBench

CUT_NAMES = tuple(CUTS)


class Setting:
    """What a line of stones is made of: cut, size (mm), gem; and how its stones stand in a row.

    ``chains`` lists (first, last + 1, closed) index ranges of stones that are neighbours.
    """

    def __init__(self, cut: str, size: tuple[float, ...], gem: str) -> None:
        self.cut, self.size, self.gem = cut, size, gem
        self.chains: tuple[tuple[int, int, bool], ...] = ()

    @property
    def length(self) -> float:
        """Along the stone's own x, mm."""
        return self.size[0]

    @property
    def width(self) -> float:
        """Along the stone's own y, mm."""
        return self.size[1] if len(self.size) > 1 else self.size[0]

    @property
    def narrow(self) -> float | None:
        """The narrow end of a tapered stone, mm."""
        return self.size[2] if len(self.size) > 2 else None

    @property
    def figures(self) -> tuple[Any, ...]:
        """Cut and full size as plain hashable figures for shapes."""
        size = (self.length, self.width)
        return (self.cut, *size) if self.narrow is None else (self.cut, *size, self.narrow)


def _stone(bench: PieceBench, call: Call) -> Made:
    setting, faults = _setting(call)
    if setting is None:
        return None, faults
    frames, more = placed(call)
    faults = faults + more
    if frames is None:
        return None, faults
    feature = bench.new_feature(call, frames)
    setting.chains = _chains(call, len(frames))
    feature.stones = (setting,)
    feature.offers = _offers(bench, feature, setting)
    bench.set_stones(feature, setting, frames)
    return feature, faults


def _setting(call: Call) -> tuple[Setting | None, list[Fault]]:
    name = next(key for key in CUT_NAMES if call.given(key))
    gem, value, cut = call.get("gem"), call.get(name), CUTS[name]
    found = find_gem(gem)
    if found is None:  # the choices were checked before
        return None, []
    if isinstance(value, ByWeight):
        try:
            size = cut.size_for(value.grams / 0.2, found.density)
        except ValueError:
            return None, [
                call.fault(
                    "odd-size",
                    f"no {name} stone weighs {value.grams / 0.2:g} ct",
                    name,
                    seen=f"{value.grams / 0.2:g} ct",
                    remedy="check the unit, or give its size in mm",
                )
            ]
    else:
        size = value if isinstance(value, tuple) else (value,)
    width = size[1] if len(size) > 1 else size[0]
    problem = cut.problem(size[0], width, size[2] if len(size) > 2 else None)
    if problem:
        return None, [call.fault("odd-size", problem, name, remedy="change the size, or the cut")]
    return Setting(name, tuple(float(s) for s in size), found.name), []


def _chains(call: Call, count: int) -> tuple[tuple[int, int, bool], ...]:
    """Which stones are neighbours in a row: by the layout clause, or the order of the places."""
    if call.given("grid"):
        return ()
    per = call.get("line") or call.get("circle")
    if per:
        closed = call.given("circle") and per > 2
        return tuple((first, first + per, closed) for first in range(0, count, per))
    closed = call.given("along") and count > 2 and call.get("along").lines[0].closed
    return ((0, count, closed),)


def _offers(bench: PieceBench, feature: Feature, setting: Setting) -> dict[str, Offer]:
    cut = CUTS[setting.cut]
    sizes = (setting.length, setting.width)
    outline = ("stone", *setting.figures)
    return {
        "centres": lambda: spot(),
        "girdle": lambda: Lines((ring(trace(outline), 0.0),)),
        "across": lambda: mm(setting.width),
        "length": lambda: mm(setting.length),
        "width": lambda: mm(setting.width),
        "crown": lambda: mm(cut.crown_height(*sizes) + cut.girdle_thickness(*sizes) / 2),
        "pavilion": lambda: mm(cut.pavilion_depth(*sizes) + cut.girdle_thickness(*sizes) / 2),
        "girdle-height": lambda: mm(cut.girdle_thickness(*sizes)),
        "corners": lambda: _corners(setting),
        "count": lambda: number(len(feature.frames)),
    }


def _corners(setting: Setting) -> Places:
    """Where prongs belong round one stone: on the girdle, x pointing away from the stone."""
    rows = CUTS[setting.cut].corners(setting.length, setting.width, setting.narrow)
    frames = [fr.compose(fr.shifted(x, y), fr.turned(2, degrees)) for x, y, degrees in rows]
    return Places(np.concatenate(frames))


def gaps(feature: Feature) -> Places | str:
    """The places between neighbours in a row, and one beyond each end; or why there are none.

    Each frame stands on the line between two stones' centres, x from one to the next. Figures:
    ``apart`` centre to centre, ``before`` and ``after`` the two stones' widths, mm. Beyond an end
    stone the same gap is continued, so that end stones are held like the others.
    """
    if not feature.stones:
        return "only stones have gaps"
    setting = feature.stones[0]
    if not setting.chains:
        return "stones in a grid have no gaps to share; give each its own prongs"
    frames, apart = [], []
    for first, last, closed in setting.chains:
        if last - first < 2:
            return "a single stone has no gap to share"
        made = _chain_gaps(feature.frames[first:last], closed)
        frames.append(made[0])
        apart.append(made[1])
    spread = np.concatenate(apart)
    across = np.full(len(spread), setting.width)
    return Places(np.concatenate(frames), {"apart": spread, "before": across, "after": across})


def _chain_gaps(frames: np.ndarray, closed: bool) -> tuple[np.ndarray, np.ndarray]:
    centres, outs = frames[:, :, 3], frames[:, :, 2]
    if closed:
        following, out_after = np.roll(centres, -1, axis=0), np.roll(outs, -1, axis=0)
        start, out = centres, outs + out_after
    else:
        first = 2 * centres[:1] - centres[1:2]
        last = 2 * centres[-1:] - centres[-2:-1]
        start = np.concatenate([first, centres])
        following = np.concatenate([centres, last])
        out = np.concatenate([outs[:1], outs]) + np.concatenate([outs, outs[-1:]])
    way = following - start
    return fr.from_axes(start + way / 2, way, out), np.linalg.norm(way, axis=1)


def _take(name: str) -> Take:
    cut = CUTS[name]
    parts = {1: (1,), 2: (1, 2) if cut.square else (2,), 3: (2, 3)}[cut.sizes]
    what = {1: "across", 2: "length x width", 3: "length x wide end x narrow end"}[cut.sizes]
    return Take(name, Kind.STONE_SIZE, f"{cut.help} Size {what} in mm, or weight in ct.", parts=parts)


WORDS = (
    Word(
        "stone",
        "Stones of one cut, size and gem; each stands with the middle of its girdle at its place.",
        "stones",
        (
            *(_take(name) for name in CUT_NAMES),
            Take("gem", Kind.CHOICE, "what it is", needed=True, choices=tuple(GEMS)),
        ),
        one_of=(CUT_NAMES,),
        example="stone row: round 2.5 mm, gem garnet, line 7, every 2.75 mm",
        offers={
            "centres": "the middle of each stone",
            "girdle": "the line round each stone",
            "gaps": "the places between neighbours, and one beyond each end of a row; each has "
            "`apart`, `before` and `after`",
            "corners": "where prongs belong round each stone, x pointing away from it",
            "across": "width of a stone",
            "length": "length of a stone",
            "width": "width of a stone",
            "crown": "from the middle of the girdle up to the table",
            "pavilion": "from the middle of the girdle down to the culet",
            "girdle-height": "thickness of the girdle",
            "count": "how many",
        },
        made_by=_stone,
    ),
)
