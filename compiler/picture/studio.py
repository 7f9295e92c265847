"""The light a piece is shown in: one painted surrounding, bright panels with dark between.

Polished metal shows what stands around it; so the surrounding is drawn, not left to lamps. One
image lights a scene with far less noise than lamps do."""

from __future__ import annotations

import numpy as np

WIDE, TALL = 512, 256

# Panels: middle (degrees round from the camera, degrees above the level), half size, light.
_PANELS = (
    (-60.0, 76.0, 80.0, 18.0, 5.5),  # overhead, more to the left
    (120.0, 80.0, 90.0, 12.0, 2.0),
    (-72.0, 28.0, 22.0, 34.0, 4.2),  # to the left
    (82.0, 30.0, 14.0, 38.0, 3.2),  # to the right
    (140.0, 30.0, 26.0, 16.0, 1.3),  # behind, to one side
    (14.0, 38.0, 22.0, 9.0, 1.1),  # above the camera
    (0.0, -4.0, 46.0, 16.0, 0.5),  # about the camera: a face that looks at us is not dark
)
# Lamps, small and strong: what stones sparkle by.
_LAMPS = (
    (-34.0, 58.0, 40.0), (40.0, 66.0, 40.0), (-120.0, 50.0, 30.0), (130.0, 44.0, 30.0),
    (8.0, 74.0, 30.0), (64.0, 48.0, 24.0), (-62.0, 72.0, 24.0),
)  # fmt: skip
_LAMP = 2.2  # degrees, half across


def surroundings() -> np.ndarray:
    """Light from everywhere, (TALL, WIDE, 3) float32: rows from straight up to straight down,
    columns once round, the middle one where the camera stands."""
    above = 90.0 - (np.arange(TALL) + 0.5) * 180.0 / TALL
    around = (np.arange(WIDE) + 0.5) * 360.0 / WIDE - 180.0
    a, b = np.meshgrid(around, above)
    light = 0.22 + 0.60 * np.clip((b + 20.0) / 110.0, 0.0, 1.0)  # a room, brighter above
    for middle, high, half, half_high, strong in _PANELS:
        light += strong * _edge(np.abs(_round(a - middle)), half) * _edge(np.abs(b - high), half_high)
    for middle, high, strong in _LAMPS:
        apart = np.hypot(_round(a - middle) * np.cos(np.radians(high)), b - high)
        light += strong * _edge(apart, _LAMP, 0.8)
    tint = np.array((1.0, 0.99, 0.97))
    return (light[:, :, None] * tint).astype(np.float32)


def _round(degrees: np.ndarray) -> np.ndarray:
    return (degrees + 180.0) % 360.0 - 180.0


def _edge(apart: np.ndarray, half: float, soft: float = 5.0) -> np.ndarray:
    """1 inside, 0 outside, ``soft`` degrees from one to the other."""
    return np.clip((half - apart) / soft + 0.5, 0.0, 1.0)
