"""The JSON summary of a piece: everything another program may ask of a build.

The key ``posy`` is the version of this layout. It rises when a key changes its meaning or
goes; keys may be added without that, so a reader should pass over keys it does not know."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np

from ...lang.faults import Fault, Span
from ..judging.remark import LAYOUT, remark_record, waiver_record
from ..making.result import Built
from ..making.weights import PartWeight, StoneWeight, Weights
from ..measures.triangles import used
from .digits import bound, honest

NOTHING: Mapping[str, Any] = MappingProxyType({})


def summary_bytes(
    built: Built, weights: Weights | None, files: Mapping[str, bytes],
    own: Mapping[str, Mapping[str, object]] = NOTHING, *, shrink: float = 0.0,
) -> bytes:
    """The summary as UTF-8 JSON text, keys in a fixed order, no clock and no absolute path.

    ``files`` are the files written with it, by name; ``own`` tells the casting and metal of those
    that hold but one; ``shrink`` is the share they allow for."""
    return json_bytes(summary(built, weights, files, own, shrink=shrink))


def json_bytes(record: Mapping[str, Any]) -> bytes:
    """A summary as UTF-8 JSON text; what is no letter (in a file name of another code) becomes U+FFFD."""
    text = json.dumps(record, indent=2, ensure_ascii=False) + "\n"
    # The bytes of a file's name, which a plain locale does not know for letters, are UTF-8 nearly always.
    return text.encode("utf-8", "surrogateescape").decode("utf-8", "replace").encode()


def summary(
    built: Built, weights: Weights | None, files: Mapping[str, bytes],
    own: Mapping[str, Mapping[str, object]] = NOTHING, *, shrink: float = 0.0,
) -> dict[str, Any]:
    """The summary as plain data (mm, mm3, g, ct), of the finished piece whatever ``shrink`` is."""
    home = Path(built.path).parent
    return {
        "posy": LAYOUT,
        "title": built.title,
        "metal": built.metal,
        "note": built.note,
        "made": built.made,
        "tolerance_mm": built.tolerance,
        "shrink": honest(shrink, most=6),
        "text_sha256": text_hash(built),
        "box_mm": _box(built),
        **weight_record(weights),
        "measures": [
            {"name": name, "value": value if isinstance(value, str) else honest(value, most=9), "unit": unit}
            for name, (value, unit) in built.measures.items()
        ],
        "parts": _features(built, home),
        "remarks": [remark_record(_at_home(fault, home)) for fault in built.faults],
        "waivers": [
            waiver_record(replace(waiver, span=_moved(waiver.span, home)))
            for waiver in built.waivers
        ],
        "files": [
            {
                "file": name,
                "bytes": len(content),
                "sha256": hashlib.sha256(content).hexdigest(),
                **own.get(name, NOTHING),
            }
            for name, content in files.items()
        ],
    }


def text_hash(built: Built) -> str:
    """sha256 of the piece's own text as UTF-8, in hex ("" when there is no text)."""
    text = built.texts.get(built.path)
    return hashlib.sha256(text.encode()).hexdigest() if text is not None else ""


def _box(built: Built) -> dict[str, list[float]] | None:
    """Lowest and highest corner of the metal and its size, mm."""
    clouds = [used(part.points, part.triangles)[0] for part in built.parts]
    clouds = [cloud for cloud in clouds if len(cloud)]
    if not clouds:
        return None
    low = np.min([cloud.min(axis=0) for cloud in clouds], axis=0)
    high = np.max([cloud.max(axis=0) for cloud in clouds], axis=0)
    corners = {"from": low, "to": high, "size": high - low}
    return {name: [honest(one) for one in figures] for name, figures in corners.items()}


def weight_record(weights: Weights | None) -> dict[str, Any]:
    """The weights alone, under their keys."""
    return {
        "metal_weight": _metal_weight(weights) if weights else None,
        "alloys": [
            {"name": row.name, "density_g_cm3": row.density, "grams": honest(row.grams, row.grams_error)}
            for row in (weights.alloys if weights else ())
        ],
        "stones": _stones(weights) if weights else None,
    }


def _metal_weight(weights: Weights) -> dict[str, Any]:
    return {
        "grams": honest(weights.grams, weights.grams_error),
        "grams_error": bound(weights.grams_error),
        "castings": [_part(part) for part in weights.parts],
        "bought": [{**_part(part), "name": part.casting, "count": part.count} for part in weights.bought],
    }


def _part(part: PartWeight) -> dict[str, Any]:
    return {
        "casting": part.casting,
        "metal": part.metal,
        "volume_mm3": honest(part.volume, part.volume_error),
        "volume_error_mm3": bound(part.volume_error),
        "mesh_volume_mm3": honest(part.mesh_volume),
        "density_g_cm3": part.density,
        "grams": honest(part.grams, part.grams_error),
        "grams_error": bound(part.grams_error),
    }


def _stones(weights: Weights) -> dict[str, Any]:
    return {
        "count": sum(row.count for row in weights.stones),
        "carats": honest(weights.carats),
        "carats_by_volume": honest(weights.carats_volume),
        "kinds": [_kind(row) for row in weights.stones],
    }


def _kind(row: StoneWeight) -> dict[str, Any]:
    return {
        "cut": row.cut,
        "size_mm": list(row.size),
        "gem": row.gem,
        "count": row.count,
        "carats_each": honest(row.carats_each, most=4),
        "carats": honest(row.carats),
        "carats_by_volume_each": honest(row.carats_volume_each, most=4),
        "carats_by_volume": honest(row.carats_volume),
        "weighed": row.weighed,
    }


def _features(built: Built, home: Path) -> list[dict[str, Any]]:
    """Lines of work in order, with the triangles each has in the metal."""
    counts = np.zeros(len(built.features), np.int64)
    for part in built.parts:
        known = part.owner[part.owner >= 0]  # -1: faces no line owns up to
        counts += np.bincount(known, minlength=len(counts))[: len(counts)]
    return [
        {
            "name": feature.name,
            "word": feature.word,
            "triangles": int(counts[index]),
            "file": _from_home(feature.span.path, home),
            "line": feature.span.line,
            "column": feature.span.column,
        }
        for index, feature in enumerate(built.features)
    ]


def _at_home(fault: Fault, home: Path) -> Fault:
    """``fault`` with its files named from the piece's own folder."""
    return replace(
        fault, span=_moved(fault.span, home) if fault.span else None,
        also=tuple((_moved(span, home), text) for span, text in fault.also),
        trail=tuple(_moved(span, home) for span in fault.trail),
    )


def _moved(span: Span, home: Path) -> Span:
    return replace(span, path=_from_home(span.path, home))


def _from_home(path: str, home: Path) -> str:
    """A file as seen from the piece's folder: where a project lies must leave no trace."""
    if path.startswith("<"):
        return path
    try:
        return Path(path).relative_to(home).as_posix()
    except ValueError:
        return Path(path).name
