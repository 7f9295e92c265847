"""Pictures of a page, taken by a browser that is installed here and opens it unseen."""

from __future__ import annotations

import tempfile
from pathlib import Path

from ...lang.faults import Fault
from ..files.browser import made

PATIENCE = 180.0  # s for one picture drawn by the processor
PNG = b"\x89PNG\r\n\x1a\n"
EMPTY = 0.02  # bytes a pixel: a picture of nothing is smaller, one of a piece many times larger


def still(program: str, page: bytes, view: str, size: tuple[int, int]) -> tuple[bytes, list[Fault]]:
    """A picture (PNG) of ``page`` from ``view``, one of names.STILLS, ``size`` pixels wide and tall."""
    with tempfile.TemporaryDirectory() as folder:
        source, target = Path(folder) / "page.html", Path(folder) / "still.png"
        source.write_bytes(page)
        image = made(
            program, folder, target, "--hide-scrollbars", "--disable-gpu-watchdog", "--use-angle=swiftshader",
            "--enable-unsafe-swiftshader", "--force-device-scale-factor=1", "--force-color-profile=srgb",
            f"--window-size={size[0]},{size[1]}", "--virtual-time-budget=4000", f"--screenshot={target}",
            f"{source.as_uri()}#still={view}&wide={size[0]}&tall={size[1]}", patience=PATIENCE,
        )  # fmt: skip
    good = image is not None and image.startswith(PNG) and len(image) > EMPTY * size[0] * size[1]
    if good and image:
        return image, []
    return b"", [Fault(
        "still-not-taken", f"{program} gave no picture of the {view}",
        remedy="open the page itself, which is written, and take the picture there",
    )]  # fmt: skip
