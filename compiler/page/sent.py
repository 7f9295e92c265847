"""A piece as one page for a customer."""

from __future__ import annotations

import json
from typing import Any

from ..making.result import Built
from ..making.setting import as_set
from ..making.weights import Weights
from .document import alone
from .faces import metal_arrays
from .gems import stone_arrays
from .packet import packed
from .poses import poses_told
from .told import weights_data


def sent_page(built: Built, weights: Weights, surface: str = "polished", *, finished: bool = False) -> bytes:
    """The page of a piece that was made, as one HTML file: nothing of the text is in it. ``surface`` is the
    finish its metal is first seen in; ``finished`` shows it with its stones set."""
    weighed = weights_data(weights)
    weighed["metals"] = [row for row in weighed["metals"] if row["usual"]]  # the others concern the bench
    told: dict[str, Any] = {
        "title": built.title,
        "maker": built.house.value("", "name") or "",
        "weights": {key: weighed[key] for key in ("metal", "grams", "error", "metals", "stones", "counted")},
        "poses": poses_told(built.piece) if built.piece else {},
        "surface": surface,
        "tried": {}, "remarks": [], "stage": "checked", "checked": True, "metal_stands": True,
    }  # fmt: skip
    seen = as_set(built) if finished else built
    return alone(built.title, _packet(seen), json.dumps(told, ensure_ascii=False))


def _packet(built: Built) -> bytes:
    """Metal and stones, without names and lines of the text."""
    metal, arrays = metal_arrays(built.parts, built.tolerance)
    stones, more = stone_arrays(built.stones)
    told: dict[str, Any] = {"title": built.title, "features": [], "text": "", **metal, **stones}
    told["runs"] = [(part, -1, first, count) for part, _, first, count in metal["runs"]]
    for kind in told["kinds"]:
        for stone in kind["stones"]:
            stone["feature"] = -1
    return packed(told, {**arrays, **more})
