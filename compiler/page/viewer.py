"""One built piece as the page is sent it. Works in the process that builds: what goes to the page
is plain bytes and plain data."""

from __future__ import annotations

from typing import Any

from ..judging.piece import Piece
from ..making.result import Built
from ..making.weights import weigh
from ..metal.part import Part
from .faces import metal_arrays
from .figures import figures_told
from .gems import stone_arrays
from .packet import packed
from .poses import poses_told


class Viewer:
    """Makes what the page shows of a build: ``packet`` as soon as there is metal, ``poses`` when the
    rules are done."""

    def packet(self, built: Built, piece: Piece) -> bytes:
        """Metal, stones, lines and figures of a piece that has metal."""
        return piece_packet(built, figures=figures_told(piece, built.path, built.settable))

    def poses(self, piece: Piece) -> dict[str, Any]:
        """How it lies, hangs and is worn."""
        return poses_told(piece)


def piece_packet(built: Built, **more: Any) -> bytes:
    """The packet of a piece that has metal; ``more`` is told with it."""
    parts: tuple[Part, ...] = built.parts
    built.adopt_tables()
    metal, arrays = metal_arrays(parts, built.tolerance)
    stones, more_arrays = stone_arrays(built.stones)
    told = {
        "title": built.title,
        "metal": built.metal,
        "note": built.note,
        "tolerance": built.tolerance,
        **metal,
        **stones,
        "features": [[one.name, one.word, _line(built, one.span.path, one.span.line)] for one in built.features],
        "text": built.texts.get(built.path, "").removeprefix("\ufeff"),
        **more,
    }
    return packed(told, {**arrays, **more_arrays})


def _line(built: Built, path: str, line: int) -> int:
    """A line of the piece's own text; 0 for one of another file."""
    return line if path == built.path else 0


def weights_told(built: Built) -> dict[str, Any]:
    """Weights of a piece as the page tells them."""
    from .told import weights_data

    weights, _ = weigh(built)
    return {} if weights is None else weights_data(weights)
