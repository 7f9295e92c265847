"""Every setting word with every cut of stone it takes, small, middle and large, in the plainest scene a
newcomer writes: nothing is said but what the word cannot do without.

A text is named ``WORD CUT WIDTH``. How high a stone stands over its metal, and how much metal lies under
it, are the scene's own figures (common practice, no source)."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from posy.compiler.bench.stone_kind import StoneKind, corners_of
from posy.compiler.geometry.outlines import trace
from posy.compiler.judging.done import done
from posy.compiler.making.pipeline import build
from posy.compiler.rules import all_rules
from posy.lang.faults import Fault, Level
from posy.lang.loader import Texts
from posy.stdlib.cuts import CUTS, Cut

SMALL, MIDDLE, LARGE, LONGEST = 1.5, 3.0, 8.0, 12.0  # mm
LEAST_POINTED = 2.5  # mm; of hearts and trillions hardly any smaller is cut (common practice, no source)
LYING = 4.0  # mm; what lies in metal is no wider: a thicker plate would be told as heavy


def is_advice(found: Fault) -> bool:
    """Whether a remark asks for a step at the bench or another stone: no usual value is to blame."""
    rule = all_rules().get(found.code)
    return rule is not None and rule.advice


def usual_texts() -> dict[str, str]:
    """All of them by name."""
    found: dict[str, str] = {}
    for cut in CUTS.values():
        for wide in widths(cut):
            scenes = pearl_scenes(cut, wide) if cut.name == "pearl" else stone_scenes(cut, wide)
            found |= {f"{word} {cut.name} {wide:g}": text for word, text in scenes}
    return found


def widths(cut: Cut) -> tuple[float, ...]:
    if cut.name == "pearl":
        return MIDDLE + 1, LARGE, LONGEST
    least = LEAST_POINTED if one_way(cut) and cut.ratio == 1 else SMALL
    return least, MIDDLE, min(LARGE, LONGEST / cut.ratio)


def one_way(cut: Cut) -> bool:
    """Whether its two ends differ, as those of a pear do."""
    kind = _kind(cut, 4.0)
    spots = trace(kind.outline)
    other = np.linalg.norm(spots * (-1.0, 1.0) - spots[:, None], axis=2).min(axis=0)
    return bool(other.max() > 0.1)


def takes_shared(cut: Cut) -> bool:
    """Whether neighbours can share claws or walls: alike at both ends, four corners, sharp or rounded."""
    return not one_way(cut) and len(corners_of(_kind(cut, 4.0)).frames) == 4


def _kind(cut: Cut, wide: float) -> StoneKind:
    sizes = {1: (wide,), 2: (cut.ratio * wide, wide), 3: (cut.ratio * wide, wide, cut.narrow_ratio * wide)}
    return StoneKind(cut.name, sizes[cut.sizes], "ruby")


def said(cut: Cut, wide: float) -> str:
    """A stone of the cut's usual proportions, as a text says it."""
    sizes = wide, cut.ratio * wide, cut.narrow_ratio * wide
    order = {1: sizes[:1], 2: (sizes[1], wide), 3: (sizes[1], wide, sizes[2])}[cut.sizes]
    return f"stone one: {cut.name} {' x '.join(f'{size:.4g}' for size in order)} mm, gem ruby"


def stone_scenes(cut: Cut, wide: float) -> Iterator[tuple[str, str]]:
    stone, long = said(cut, wide), (cut.ratio if cut.sizes > 1 else 1.0) * wide
    # Long stones lie side by side across a row.
    row = f"{stone}{', swivel 90 deg' if long > wide else ''}, row 4, gap 0.2 mm"
    shank = f"band shank: finger us 7, wide {max(2.2, min(wide, 4.0)):.1f} mm, thick 2 mm"
    low, high = f"{shank}\n{stone}, on shank, level back, out", f"{stone}\nbasket head: for one, foot"
    yield "basket", f"{stone}\nbasket head: for one"
    yield "bezel", f"{stone}\nbezel cup: for one"
    yield "half bezel", f"{stone}\nbezel cup: for one, cut-away 30 %"
    if wide <= LYING:
        yield "basket on a shank", f"{low} 1.6 mm\nbasket head: for one, on shank"
        yield "bezel on a shank", f"{low} 0.4 mm\nbezel cup: for one, on shank"
    if cut.name == "round":
        yield "collet", f"{stone}\ncollet cup: for one"
        yield "collet on a shank", f"{low} 0.4 mm\ncollet cup: for one, on shank"
        yield "cathedral", f"{low} 1.6 mm\nbasket head: for one, on shank\ncathedral arms: for one, on shank"
    if takes_shared(cut):
        yield "shared basket", f"{row}\nbasket head: for one, shared"
    if wide > SMALL + 1:
        yield "halo", f"{high} {max(3.4, wide / 2 + 1):.2f} mm\nhalo tray: for one, gem ruby"
        if cut.name == "round":
            yield "cluster", f"{high} {max(3.4, wide / 2 + 1):.2f} mm\ncluster petals: for one, gem ruby"
    if wide <= LYING:
        yield from lying_scenes(cut, wide, long, stone, row)


def lying_scenes(cut: Cut, wide: float, long: float, stone: str, row: str) -> Iterator[tuple[str, str]]:
    """In a plate or a bar under it."""
    thick = 0.75 * wide + 1.2
    plate = f"plate ground: rectangle {long + 5:.1f} x {wide + 5:.1f} mm, thick {thick:.1f} mm"
    bar = f"bar ground: size {4 * wide + 6:.1f} x {long + 2.5:.1f} x {thick:.1f} mm"
    if not cut.domed:
        yield "bead-set", f"{plate}\n{stone}, on ground\nbead-set grains: for one, in ground"
        yield "flush", f"{plate}\n{stone}, on ground, level table\nflush held: for one, in ground"
        yield "prong", f"{plate}\n{stone}, on ground\nseat: for one, in ground\nprong claws: for one"
        if takes_shared(cut):
            yield "channel", f"{row}\nchannel track: for one"
            yield "channel in", f"{bar}\n{row}, on ground, level table\nchannel track: for one, in ground"
    elif cut.name == "rectangle":
        yield "inlay", f"{plate}\n{stone}, deep 1 mm, on ground, level table\ninlay pocket: for one, in ground"
    if takes_shared(cut):
        yield "shared prong", f"{bar}\n{row}, on ground\nseat: for one, in ground\nprong claws: for one, shared"


def pearl_scenes(cut: Cut, wide: float) -> Iterator[tuple[str, str]]:
    base = f"disc base: across {wide * 0.6:.1f} mm, thick 1 mm, inward {wide / 2 + 1.4:.2f} mm"
    yield "pearl-cup", f"{base}\nstone one: pearl {wide:g} mm, gem pearl\npearl-cup cup: for one"


ODD = {  # figures too small and too large, by what holds the stone
    "basket": (
        "wire 0.5 mm", "wire 1.6 mm", "foot 1 mm", "rail 0.3 mm", "rise 0.1 mm", "rise 2 mm", "bite 0 %",
        "bite 48 %", "splay 25 deg", "rails 4", "count 3",
    ),
    "bezel": ("wall 0.3 mm", "wall 1.2 mm", "lip 0.1 mm", "bearing 0.1 mm", "foot 0.5 mm", "clearance 0.3 mm"),
    "collet": ("wall 0.3 mm", "wall 1.2 mm", "lip 0.1 mm", "bearing 0.1 mm", "foot 0.5 mm", "narrow 40 %"),
    "halo": ("gap 0.5 mm", "bead 0.3 mm", "thick 1 mm", "drop 1.5 mm"),
    "cluster": ("wire 0.4 mm", "wire 1.4 mm", "gap 0.8 mm", "thick 1 mm", "rise 0.1 mm", "rim 0.3 mm"),
    "bead-set": ("bead 0.2 mm", "bead 0.9 mm", "rise 0.2 mm", "hole 25 %", "hole 80 %", "foot 0.1 mm"),
    "flush": ("hole 25 %", "hole 80 %", "clearance 0.2 mm"),
    "prong": ("wire 0.4 mm", "wire 1.6 mm", "bite 0 %", "bite 48 %", "rise 0.1 mm", "rise 2 mm", "foot 0.2 mm"),
    "channel": ("wall 0.4 mm", "cover 4 %", "cover 30 %", "lip 0.1 mm", "bar 0.4 mm", "clearance 0.2 mm"),
    "inlay": ("clearance 0.3 mm",),
    "pearl-cup": ("across 2 mm", "wall 0.3 mm", "peg 0.6 mm", "deep 0.6 mm"),
}  # fmt: skip


def odd_texts() -> dict[str, str]:
    """The texts of stones of the middle size, each with one clause of its setting at an odd figure."""
    texts = {name: text for name, text in usual_texts().items() if float(name.split()[-1]) in (MIDDLE, LARGE)}
    return {
        f"{name}, {odd}": f"{text}, {odd}"
        for name, text in texts.items()
        if name.endswith(f" {MIDDLE:g}") or "pearl" in name
        for odd in ODD.get(text.rsplit("\n", 1)[-1].split()[0], ())
    }


def what_remedies_leave(text: str) -> list[str]:
    """For each remark on a text whose remedy can be done: whether it stands still, and new faults."""
    told = _told(text)
    faults = {one.code for one in told if one.level is Level.FAULT}
    found = []
    for one in told:
        new = None if is_advice(one) else done(text, one)
        if new is not None:
            after = _told(new)
            same = [a for a in after if (a.code, _gist(a), a.level) == (one.code, _gist(one), one.level)]
            worse = [a for a in after if a.level is Level.FAULT and a.code not in faults]
            found += [f"{one.code}, do: {one.remedy}; {a.code}: {a.message}, {a.seen}" for a in (*same, *worse)]
    return found


def _told(text: str) -> tuple[Fault, ...]:
    return build("p.posy", files=Texts({"p.posy": text})).faults


def _gist(one: Fault) -> str:
    return one.message.partition(" (")[0]
