"""Random settings on random metal: stones and metal share no more than a holder's bite, tables are
free and look away from the finger, holes are open, or a remark tells it.

Measured on the finished triangles with the kernel's own intersection and plain rays (Moller and
Trumbore 1997), not by the project's rules."""

from __future__ import annotations

import random

import numpy as np
import pytest
from manifold3d import Manifold
from test_set_in_metal import corners, met, spots
from texts import solid_of

from posy.compiler.bench.stone_kind import StoneKind
from posy.compiler.bench.stone_solid import stone_solid
from posy.compiler.making.pipeline import build
from posy.compiler.making.result import Built, Stone
from posy.lang.loader import Texts

CUTS = (
    "round {a}", "oval {l} x {a}", "pear {l} x {a}", "marquise {m} x {a}", "princess {a}", "emerald {l} x {a}",
    "cushion {l} x {a}", "baguette {m} x {a}", "heart {a}", "trillion {a}", "tapered-baguette {m} x {a} x {n}",
)  # fmt: skip
SHARED = {"stone-in-metal", "prong-bite", "covered-table", "stone-overlap"}
SHUT = {"blind-seat", "crossed-hole", "stone-in-metal"}
TOUCH = 2e-3  # of a stone's volume: what the chords of curved metal leave
GIRDLE = 0.05  # mm: metal that stands at the girdle is what holds, judged by its bite


def _stone(r: random.Random, low: float, high: float) -> tuple[str, float]:
    a = r.uniform(low, high)
    size = {"a": a, "l": a * r.uniform(1.2, 1.45), "m": a * r.uniform(1.6, 2.2), "n": a * r.uniform(0.6, 0.9)}
    return r.choice(CUTS).format(**{key: f"{value:.2f}" for key, value in size.items()}) + " mm", a


def _head(r: random.Random) -> str:
    stone, a = _stone(r, 3, 7)
    up = a * 0.62 + r.uniform(0.1, 0.8)
    foot = f"for c, foot {up + r.uniform(0.3, 0.7):.2f} mm"
    setting = r.choice([
        f"basket head: {foot}", f"prong head: {foot}, wire 1 mm", f"bezel head: {foot}",
        f"basket head: {foot}\nhalo ring: for c, gem diamond",
    ])  # fmt: skip
    profile = r.choice(["", ", profile half-round, taper 2 x 1.7 mm", ", profile court"])
    band = f'band shank: finger "us 7", wide {r.uniform(2.2, 5):.2f} mm, thick {r.uniform(1.7, 2.4):.2f} mm{profile}'
    return f"{band}\nstone c: {stone}, gem sapphire, at top of shank, out {up:.2f} mm\n{setting}"


def _row(r: random.Random) -> str:
    a = r.uniform(1.5, 2.6)
    stone = r.choice([f"round {a:.2f} mm", f"princess {a:.2f} mm", f"oval {1.3 * a:.2f} x {a:.2f} mm"])
    setting = r.choice([
        "seat: for row, in shank\nprong p: for row, shared", "bead-set b: for row, in shank",
        "seat: for row, in shank\nprong p: for row", "channel c: for row",
    ])  # fmt: skip
    band = f'band shank: finger "us 7", wide {a * 1.6 + 1.6:.2f} mm, thick {a * 0.75 + 1.1:.2f} mm'
    stretch = f", stretch -{(share := r.uniform(8, 20)):.1f} % to {share:.1f} %"
    gap = r.uniform(0.12, 0.4)
    return f"{band}\nstone row: {stone}, gem ruby, along around of shank{stretch}, gap {gap:.2f} mm\n{setting}"


def _pendant(r: random.Random) -> str:
    stone, a = _stone(r, 2, 5)
    body = r.choice(["plate d: round {w} mm, thick {t} mm", "dome d: across {w} mm, height 4 mm, wall {t} mm"])
    body = body.format(w=f"{2.2 * a + r.uniform(5, 9):.1f}", t=f"{r.uniform(1.3, 3):.2f}")
    setting = r.choice(["seat: for c, in d\nprong p: for c", "bezel b: for c", "bead-set b: for c, in d"])
    return f"{body}\nstone c: {stone}, gem topaz, at face of d\n{setting}"


def _cabochon(r: random.Random) -> str:
    a = r.uniform(4, 9)
    host = f"disc d: across {a * 1.5 + 4:.2f} mm, thick {r.uniform(1, 2):.2f} mm"
    return f"{host}\nstone c: cabochon {a * 1.3:.2f} x {a:.2f} mm, gem onyx, at face of d\nbezel b: for c, blind"


KINDS = [_head, _head, _row, _row, _pendant, _cabochon]


def _buried(solids: list[Manifold], stone: Stone, kind: StoneKind) -> list[float]:
    """Shares of a stone that lie in metal away from its girdle, each separate part."""
    body, frame = stone_solid(kind).transform(stone.frame), stone.frame
    back = np.concatenate([frame[:, :3].T, -frame[:, :3].T @ frame[:, 3:]], axis=1)
    found = []
    for solid in solids:
        for part in (solid ^ body).transform(back).decompose():
            _, _, low, _, _, high = part.bounding_box()
            if low > GIRDLE or high < -GIRDLE:
                found.append(part.volume() / body.volume())
    return found


def _piece(seed: int) -> tuple[str, Built]:
    """The first piece of a seed that can be made: some shared prongs cannot reach both stones."""
    r = random.Random(f"settings {seed}")
    for _ in range(6):
        text = 'piece "Random"\n  metal gold-750-yellow\n' + KINDS[seed % len(KINDS)](r) + "\n"
        made = build("piece.posy", files=Texts({"piece.posy": text}))
        if made.parts:
            return text, made
    raise AssertionError(text)


@pytest.mark.parametrize("seed", range(13))
def test_stones_and_metal_only_touch_or_it_is_told(seed: int) -> None:
    text, made = _piece(seed)
    said = {fault.code for fault in made.faults}
    solids = [solid_of(p) for p in made.parts]
    metal, ring = corners(made), "shank" in text
    for stone in made.stones[:: max(1, len(made.stones) // 5)]:
        kind = StoneKind(stone.cut, stone.size, stone.gem)
        up, home = stone.frame[:, 2], stone.frame[:, 3]
        if not said & SHARED:
            assert max(_buried(solids, stone, kind), default=0.0) < TOUCH, text
            over = met(metal, home + (kind.crown() + 0.01) * up + 1e-3 * stone.frame[:, 0], up)
            assert not (over > 0).any(), text
        if ring and stone.gem != "diamond":
            assert up @ (home * (1, 0, 1)) > 0.9 * np.linalg.norm(home * (1, 0, 1)), text
        if kind.pavilion() > 0 and not said & SHUT and "head" not in text:
            for start in spots(stone.frame, 0.1 * min(stone.size[:2])):
                down = met(metal, start, -up)
                assert not ((down > 0) & (down < kind.pavilion() + 0.3)).any(), text
