"""A set to a picture: the renderer from the registry (an extra), its denoiser, and the print.

Same set, same bytes: the renderer's numbers are seeded, its blocks do not overlap."""

from __future__ import annotations

from dataclasses import dataclass
from types import ModuleType
from typing import Any

import numpy as np

from ...stdlib.optics import linear
from ..making.result import Built
from .rest import Rest
from .set import Wish, picture_set
from .studio import surroundings

VARIANT = "scalar_rgb"  # needs no compiler at run time
EXTRA = "posy-lang[picture]"


@dataclass(frozen=True)
class Grade:
    """How good a picture is: samples a pixel, and how often a ray may turn."""

    samples: int
    turns: int


LEAST, MOST = 0.4, 1.3  # light to paper: so that the ground comes out in its own colour, within this
KNEE = 0.8  # above this, of 1, light is rolled off
_LUMINANCE = np.array((0.2126, 0.7152, 0.0722))  # IEC 61966-2-1

DRAFT, FINAL = Grade(4, 8), Grade(64, 24)


def renderer() -> ModuleType:
    """The renderer; ImportError where the extra is not installed."""
    import mitsuba as mi
    import mitsuba_oidn  # noqa: F401  its denoiser: both or neither

    mi.set_variant(VARIANT)
    mi.set_log_level(mi.LogLevel.Error)
    return mi


def picture_of(built: Built, rest: Rest, wish: Wish, grade: Grade) -> np.ndarray | None:
    """The picture, (tall, wide, 3) uint8 sRGB; None where there is nothing to show."""
    mi = renderer()
    shapes = picture_set(mi, built, rest, wish)
    if shapes is None:
        return None
    return printed(light_of(mi, shapes, rest, wish.size, grade), wish.ground)


def light_of(
    mi: ModuleType, shapes: dict[str, Any], rest: Rest, size: tuple[int, int], grade: Grade,
    around: np.ndarray | None = None,
) -> np.ndarray:
    """Light on each pixel, denoised, (tall, wide, 3) float32; lit by ``around`` (``surroundings``)."""
    import mitsuba_oidn

    told = dict(shapes)
    told["camera"] = shapes["camera"] | {
        "film": {"type": "hdrfilm", "width": size[0], "height": size[1], "rfilter": {"type": "box"},
                 "pixel_format": "rgb", "component_format": "float32"},
        "sampler": {"type": "independent", "sample_count": grade.samples, "seed": 1},
    }  # fmt: skip
    told["light"] = _light(mi, rest, surroundings() if around is None else around)
    told |= {"type": "scene", "integrator": {"type": "path", "max_depth": grade.turns, "rr_depth": 8}}
    seen = np.array(mi.render(mi.load_dict(told), seed=1), dtype=np.float32)
    seen = np.minimum(seen, 30.0)  # a lamp seen in a mirror is a lamp; more is a stray sample
    return np.asarray(mitsuba_oidn.denoise(seen, hdr=True))


def _light(mi: ModuleType, rest: Rest, lit: np.ndarray) -> dict[str, Any]:
    """The surroundings, turned with the camera. The renderer counts columns the other way and has
    y upright."""
    level = rest.toward[:2] if np.hypot(*rest.toward[:2]) > 0.2 else -rest.up[:2]
    turned = float(np.degrees(np.arctan2(level[0], -level[1])))
    t = mi.ScalarTransform4f()
    image = np.ascontiguousarray(lit[:, ::-1])
    return {
        "type": "envmap", "bitmap": mi.Bitmap(image),
        "to_world": t.rotate([0, 0, 1], turned) @ t.rotate([1, 0, 0], 90.0),
    }  # fmt: skip


def printed(light: np.ndarray, ground: str) -> np.ndarray:
    """Light to sRGB (IEC 61966-2-1), (tall, wide, 3) uint8: its border as bright as ``ground``."""
    frame = max(2, min(light.shape[:2]) // 25)
    sides = light[:frame], light[:, :frame], light[:, -frame:]
    border = np.concatenate([part.reshape(-1, 3) for part in sides])
    usual = float(np.median(border @ _LUMINANCE))
    wanted = float(np.dot(linear(ground), _LUMINANCE))
    shown = np.maximum(light, 0.0) * np.clip(wanted / max(usual, 1e-6), LEAST, MOST)
    over = shown > KNEE
    shown[over] = KNEE + (1 - KNEE) * (1 - np.exp(-(shown[over] - KNEE) / (1 - KNEE)))
    coded = np.where(shown <= 0.0031308, shown * 12.92, 1.055 * shown ** (1 / 2.4) - 0.055)
    return np.round(np.clip(coded, 0.0, 1.0) * 255.0).astype(np.uint8)
