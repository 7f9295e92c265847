"""A piece as a browser is sent it: the length of a JSON text, the text, then plain arrays.

Four bytes, little-endian, give the length of the JSON text, which is padded with blanks to a multiple of
four. Its key ``arrays`` tells of each array its kind, its start in bytes after the text, and its count."""

from __future__ import annotations

import json
import struct
from collections.abc import Mapping
from typing import Any

import numpy as np

KINDS = {"float32": "<f4", "uint32": "<u4", "int16": "<i2"}


def packed(told: Mapping[str, Any], arrays: Mapping[str, np.ndarray]) -> bytes:
    """``told`` and ``arrays`` (of a kind of KINDS, any shape, laid out flat) in one."""
    places: dict[str, tuple[str, int, int]] = {}
    bodies: list[bytes] = []
    start = 0
    for name, values in arrays.items():
        kind = values.dtype.name
        body = np.ascontiguousarray(values, dtype=KINDS[kind]).tobytes()
        places[name] = (kind, start, int(values.size))
        body += b"\0" * (-len(body) % 4)
        bodies.append(body)
        start += len(body)
    text = json.dumps({**told, "arrays": places}, ensure_ascii=False, separators=(",", ":"))
    head = text.encode("utf-8")
    head += b" " * (-len(head) % 4)
    return b"".join((struct.pack("<I", len(head)), head, *bodies))
