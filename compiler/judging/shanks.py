"""How strong a shank is: the section of the metal round a band, and its section modulus.

Method. Half planes through the finger's axis cut the skin every `STEP` degrees; area, middle and second
moment of what they cut come from the cut lines by Green's theorem, exact for the mesh. Bending is that of the
ring squeezed in its own plane."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..geometry import frames as fr
from ..measures.kinds import Floats, place_of
from ..measures.section import cuts
from ..measures.skin import Skin

STEP = 10.0
QUARTER = 90.0  # degrees
IN_HOLE = 0.1  # mm; metal that stands farther into the hole is no shank
LEVELS = 24  # heights at which the metal above is left out of a section
SHANK = 3.0  # mm above its inside, where those heights lie: what stands higher is a head
LEVEL_SHARE = 0.2  # of its thickness, what lies above is moved out as a band grows thicker
REACH = 12.0  # mm beyond the bore, where metal is no shank any more


@dataclass(frozen=True)
class Section:
    """The metal at one angle round a band (from the head toward the right, degrees): area mm2,
    section modulus mm3, thickness (radial) and width mm of what is that strong (no head that stands on
    it), its middle in the piece, and its outline round the bore of a radius."""

    angle: float
    area: float
    modulus: float
    thick: float
    wide: float
    at: tuple[float, float, float]
    outline: tuple[Floats, Floats, float]

    def thicker(self, more: float) -> float:
        """Its section modulus, mm3, were the band so much thicker there and cut into as deep as now."""
        start, end, inner = self.outline
        low = max(float(start[:, 0].min()), inner) + LEVEL_SHARE * self.thick
        grown = [line + (line[:, :1] > low) * (more, 0.0) for line in (start, end)]
        part = _section(grown[0], grown[1], inner)
        return part[1] if part is not None else 0.0


def sections_round(skin: Skin, frame: Floats, inner: float) -> list[Section]:
    """Sections of the metal round a band that stands at a (3, 4) ``frame``, its bore of radius
    ``inner`` mm."""
    local = fr.apply(fr.inverse(frame), skin.points)
    if fr.mirrored(frame):
        local = local * (-1.0, 1.0, 1.0)  # keep the faces outward
    corners = np.ascontiguousarray(skin.triangles.T)
    found = []
    for angle in np.arange(0.0, 180.0, STEP):
        turn = np.radians(angle)
        out = np.array([np.sin(turn), 0.0, np.cos(turn)])
        side = np.array([np.cos(turn), 0.0, -np.sin(turn)])
        axes = np.stack((local @ out, local[:, 1], local @ side), axis=1)
        above = axes[:, 2] >= 0
        one, two, three = (np.take(above, corner) for corner in corners)
        cut = np.flatnonzero((one != two) | (two != three))
        start, end, _, _ = cuts(axes[skin.triangles[cut]], np.zeros(1))
        for sign in (1.0, -1.0):
            mine = np.minimum(sign * start[:, 0], sign * end[:, 0]) > 0
            # Pressed flat onto the farthest reach what lies beyond it: the outline stays closed.
            most = inner + REACH, np.inf
            one, two = (np.minimum(line[mine] * (sign, 1.0), most) for line in (start, end))
            part = _section(one, two, inner)
            if part is not None:
                area, modulus, size, centre = part
                where = fr.apply(frame, (centre[0] * sign * out + (0, centre[1], 0))[None])[0]
                degrees = angle if sign > 0 else angle + 180.0
                outline = one, two, inner
                found.append(Section(degrees, area, modulus, size[0], size[1], place_of(where), outline))
    return found


def away_from_ends(sections: list[Section]) -> list[Section]:
    """Those a quarter turn and more from where no metal stands; all of a ring that closes."""
    angles = np.array([part.angle for part in sections])
    bare = np.setdiff1d(np.arange(0.0, 360.0, STEP), angles)
    if not len(bare):
        return sections
    off = np.abs((angles[:, None] - bare + 180.0) % 360.0 - 180.0).min(axis=1)
    return [part for part, far in zip(sections, off.tolist(), strict=True) if far >= QUARTER]


def _section(
    start: Floats, end: Floats, inner: float
) -> tuple[float, float, tuple[float, float], Floats] | None:
    """Area, section modulus about the finger's direction, size and middle of a closed outline
    given by its lines (radius, along the finger), in any order but of one turning sense, round a bore of
    radius ``inner``."""
    if len(start) < 3:
        return None
    (x, y), (u, v) = start.T, end.T
    turn = x * v - u * y
    area = float(turn.sum() / 2)
    if abs(area) < 1e-6:
        return None
    centre = np.array([((x + u) * turn).sum(), ((y + v) * turn).sum()]) / (6 * area)
    both = np.concatenate((start, end))
    low, high = max(both[:, 0].min(), inner - IN_HOLE), both[:, 0].max()
    # Metal taken away makes no section stronger: a rail above the shank counts only where it helps.
    tops = np.append(np.linspace(low, min(high, low + SHANK), LEVELS + 1)[1:], high)
    moduli = _moduli(start, end, low, tops)
    top = tops[moduli.argmax()]
    wide = float(np.ptp(both[both[:, 0] <= top, 1]))
    return abs(area), float(moduli.max()), (float(top - low), wide), centre


def _moduli(start: Floats, end: Floats, low: float, tops: Floats) -> Floats:
    """The section moduli (k,) of what lies between ``low`` and each of some radii ``tops`` (k,),
    mm3, by Green's theorem: what lies beyond is pressed flat onto them, where it takes no part."""
    x, (run, along) = start[:, 0], (end - start).T
    top = tops[:, None, None]
    level = np.stack(np.broadcast_arrays(low - x, tops[:, None] - x), axis=2)  # (k, n, 2)
    met = np.divide(level, run[:, None], out=np.zeros_like(level), where=run[:, None] != 0)
    share = np.zeros((*met.shape[:2], 4))
    share[:, :, 1:3], share[:, :, 3] = np.sort(np.clip(met, 0.0, 1.0), axis=2), 1.0
    at = np.clip(x[:, None] + share * run[:, None], low, top)
    a, b = at[:, :, :-1], at[:, :, 1:]
    rise = np.diff(share, axis=2) * along[:, None]
    area = (rise * (a + b)).sum(axis=(1, 2)) / 2
    some = np.flatnonzero(np.abs(area) >= 1e-6)
    a, b, rise, at, area = a[some], b[some], rise[some], at[some], area[some]
    middle = (rise * (a * a + a * b + b * b)).sum(axis=(1, 2)) / 6 / area
    second = (rise * (a + b) * (a * a + b * b)).sum(axis=(1, 2)) / 12 / area
    far = np.maximum(at.max(axis=(1, 2)) - middle, middle - at.min(axis=(1, 2)))
    moduli = np.zeros(len(tops))
    moduli[some] = np.abs(area) * np.maximum(second - middle**2, 0.0) / np.maximum(far, 1e-9)
    return moduli
