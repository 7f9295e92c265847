"""An order as files: for each receiver a folder's worth, and the same as one zip."""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Callable, Mapping
from typing import Any

from ..files.summary import json_bytes
from ..files.threemf import clockless
from .caster import caster_data, caster_sheet
from .handed import Handed
from .setter import setter_data, setter_sheet
from .stones import stones_data, stones_sheet

Data = tuple[dict[str, Any], dict[str, bytes]]
SHEETS: Mapping[str, tuple[Callable[[Handed], bytes], Callable[[Handed], Data]]] = {
    "caster": (caster_sheet, caster_data),
    "setter": (setter_sheet, setter_data),
    "stones": (stones_sheet, stones_data),
}
"""The sheet of each receiver, and its figures as data."""


def files_for(receiver: str, handed: Handed, stem: str) -> dict[str, bytes]:
    """The files for one receiver by name, all but the record that lists them."""
    sheet, data = SHEETS[receiver]
    _, tables = data(handed)
    files = {f"{stem}-{receiver}.html": sheet(handed)}
    files |= {f"{stem}-{name}": content for name, content in tables.items()}
    return {**files, **(handed.meshes if receiver == "caster" else {})}


def with_record(receiver: str, handed: Handed, stem: str, files: Mapping[str, bytes]) -> dict[str, bytes]:
    """The files with the record of the order, which tells their checksums."""
    record, _ = SHEETS[receiver][1](handed)
    listed = [
        {"file": name, "bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}
        for name, content in files.items()
    ]
    return {**files, f"{stem}-{receiver}.json": json_bytes({**record, "files": listed})}


def zipped(files: Mapping[str, bytes]) -> bytes:
    """Files as one zip, the same bytes every time."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as pack:
        for name in sorted(files):
            pack.writestr(clockless(name), files[name], zipfile.ZIP_DEFLATED)
    return held.getvalue()
