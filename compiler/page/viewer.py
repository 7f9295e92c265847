"""One built piece as the page is sent it, made where the metal is: plain bytes and plain data."""

from __future__ import annotations

import hashlib
from typing import Any

from ..making.result import Built
from ..making.setting import is_worked
from .faces import metal_arrays
from .figures import figures_told
from .gems import stone_arrays
from .packet import packed
from .poses import poses_told


class Viewer:
    """What the page shows: ``packet`` as soon as there is metal, ``poses`` when the rules are done."""

    def packet(self, built: Built) -> bytes:
        """Metal, stones, lines and figures of a piece that has metal."""
        figures = figures_told(built.piece, built.path, built.settable) if built.piece else []
        return piece_packet(built, figures=figures)

    def poses(self, built: Built) -> dict[str, Any]:
        """How it lies, hangs and is worn."""
        return poses_told(built.piece) if built.piece else {}


def piece_packet(built: Built, **more: Any) -> bytes:
    """The packet of a piece that has metal; ``more`` is told with it."""
    built.adopt_tables()
    metal, arrays = metal_arrays(built.parts, built.tolerance)
    stones, more_arrays = stone_arrays(built.stones)
    seen = packed({**metal, **stones}, {**arrays, **more_arrays})
    told = {
        "seen": hashlib.blake2b(seen, digest_size=12).hexdigest(),  # the same for all that looks the same
        "title": built.title,
        "metal": built.metal,
        "note": built.note,
        "tolerance": built.tolerance,
        "worked": built.piece is not None and is_worked(built.piece),
        **metal,
        **stones,
        "features": [
            [one.name, one.word, one.span.line if one.span.path == built.path else 0]
            for one in built.features
        ],
        "text": built.texts.get(built.path, "").removeprefix("\ufeff"),
        **more,
    }
    return packed(told, {**arrays, **more_arrays})
