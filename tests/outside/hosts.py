"""Metal of every kind to set stones in, drawn at random."""

from __future__ import annotations

import random
from dataclasses import dataclass


@dataclass(frozen=True)
class Host:
    """A body ``b``, how stones lie on it, and what `in` may name."""

    text: str
    laid: str
    name: str = "b"
    upon: bool = True


def _bar(r: random.Random) -> Host:
    return Host(f"bar b: size 16 x 9 x {r.uniform(1.4, 3):.2f} mm, soften 0.3 mm", "upon b")


def _plate(r: random.Random) -> Host:
    return Host(f"plate b: pear 18 x 12 mm, thick {r.uniform(1.4, 3):.2f} mm", "upon b")


def _hollow(r: random.Random) -> Host:
    text = "bar b: size 16 x 9 x 4 mm\nhollow h: in b, wall 1 mm, roof {:.2f} mm"
    return Host(text.format(r.uniform(1.3, 2.4)), "upon b")


def _box(r: random.Random) -> Host:
    text = "disc b: across 14 mm, thick {:.2f} mm\ndisc far: across 14 mm, thick 1 mm, inward 4 mm"
    return Host(text.format(r.uniform(1.4, 2.2)), "upon b")


def _dome(r: random.Random) -> Host:
    wall = r.choice(["", f", wall {r.uniform(1.3, 1.8):.2f} mm"])
    return Host(f"dome b: across 15 mm, height {r.uniform(2.5, 6):.2f} mm{wall}", "upon b")


def _ball(r: random.Random) -> Host:
    return Host(f"ball b: across {r.uniform(5.5, 7):.2f} mm", "upon b")


def _turned(r: random.Random) -> Host:
    high = r.uniform(2.5, 4)
    spots = f"(6, 0 mm) to (6, 1 mm) over (4.5, {high:.2f} mm) to (0, {high + 0.6:.2f} mm)"
    return Host(f"turned b: through {spots}", "upon b")


def _band(r: random.Random) -> Host:
    profile = r.choice(["flat", "court", "d", "half-round", "knife-edge"])
    taper = r.choice(["", f", taper {r.uniform(4, 5):.2f} x {r.uniform(1.6, 2):.2f} mm"])
    part = r.choice(["", ", stretch -18 % to 18 %"])
    wide, thick = r.uniform(6, 9), r.uniform(2, 3)
    text = f"band b: inside 17 mm, wide {wide:.2f} mm, thick {thick:.2f} mm, profile {profile}{taper}"
    return Host(text, f"upon b{part}")


def _signet(r: random.Random) -> Host:
    text = "signet b: inside 18 mm, oval 12 x 13 mm, height {:.2f} mm, wide 5 mm, thick 2 mm"
    return Host(text.format(r.uniform(2.4, 3.2)), "upon b")


def _strip(r: random.Random) -> Host:
    text = "bar strip: size 30 x 7 x {:.2f} mm\nbend b: of strip, inside 17 mm"
    return Host(text.format(r.uniform(1.5, 2.2)), "upon b")


def _rail(r: random.Random) -> Host:
    high = r.uniform(1.6, 3)
    text = f"path l: through (-12 mm, 0) over (0, 4 mm) to (12 mm, 0)\nwire b: along l, flat 4 x {high:.2f} mm"
    return Host(text, f"along l, stretch 12 % to 88 %, number 5, out {high / 2:.4f} mm", upon=False)


def _group(r: random.Random) -> Host:
    text = "workpiece g: tilt {:.1f} deg\n  plate b: round 14 mm, thick {:.2f} mm"
    return Host(text.format(r.uniform(-40, 40), r.uniform(1.4, 2.4)), "upon b of g", "g")


def _word(r: random.Random) -> Host:
    text = (
        'word slab\n  help "a slab"\n  takes wide: length, default 14 mm, help "its width"\n'
        "  plate flat: round wide, thick {:.2f} mm\nslab b: wide 13 mm"
    )
    return Host(text.format(r.uniform(1.4, 2.4)), "circle 5, radius 3.5 mm, at face of b")


HOSTS = [
    _bar, _plate, _hollow, _box, _dome, _ball, _turned, _band, _band, _band, _signet, _strip,
    _rail, _group, _word,
]  # fmt: skip
