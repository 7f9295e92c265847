"""What is said beside the piece: weights in every metal, stones, remarks; all as plain data."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from ...lang.faults import Fault
from ...lang.source import Source
from ...lang.tickets import told_at
from ...stdlib.alloys import ALLOYS
from ...stdlib.cuts import tablet
from ...stdlib.gems import GEMS
from ..files.digits import shown
from ..files.stone_weights import stones_said, weight_said
from ..judging.remark import Remark, is_waived, remark_record, tally
from ..making.weights import USUAL, Weights, in_other_metals


def weights_data(weights: Weights) -> dict[str, Any]:
    """Grams as cast in the piece's own metal and, for each of the table, made of it; stones by kind."""
    usual = {weights.metal, *USUAL, *(row.name for row in in_other_metals(weights))}
    return {
        "metal": weights.metal,
        "grams": weights.grams,
        "error": weights.grams_error,
        "metals": [
            {
                "name": row.name, "title": row.title, "family": row.family, "colour": ALLOYS[row.name].colour,
                "grams": row.grams, "error": row.grams_error, "usual": row.name in usual,
            }
            for row in weights.alloys
        ],
        "parts": [
            {"metal": part.metal, "casting": part.casting, "grams": part.grams} for part in weights.parts
        ],
        "bought": [
            {"name": part.casting, "metal": part.metal, "grams": part.grams, "count": part.count}
            for part in weights.bought
        ],
        "stones": [
            {
                "gem": row.gem, "spoken": GEMS[row.gem].spoken if row.gem in GEMS else row.gem,
                "cut": tablet.spoken(row.cut),
                "size": " x ".join(f"{figure:g}" for figure in row.size) + " mm", "count": row.count,
                "each": weight_said(row.gem, row.carats_each), "all": weight_said(row.gem, row.carats),
            }
            for row in weights.stones
        ],
        "carats": shown(weights.carats), "carats_by": weights.carats_by,
        "counted": stones_said(weights, lambda of: f", {shown(of.carats)} ct"),
    }  # fmt: skip


def remarks_data(faults: Sequence[Fault], texts: Mapping[str, str], path: str) -> dict[str, Any]:
    """Remarks, each with its ticket, the line it is told at, and its spot."""
    sources = {name: Source(text, name) for name, text in texts.items()}
    return {
        "tally": tally(faults),
        "remarks": [_remark(fault, sources, path) for fault in faults if not is_waived(fault)],
        "aside": [
            {"name": one.code, "text": one.message, "because": one.waived}
            for one in faults
            if isinstance(one, Remark) and is_waived(one)
        ],
    }


def _remark(fault: Fault, sources: Mapping[str, Source], path: str) -> dict[str, Any]:
    record = remark_record(fault)
    span = told_at(fault)
    source = sources.get(span.path) if span is not None else None
    told = {key: record[key] for key in ("name", "level", "text", "now", "wanted", "do", "why", "spot")}
    told["feature"] = fault.feature
    if span is not None:
        told |= {
            "line": span.line if span.path == path else 0,
            "file": "" if span.path == path else span.path,
            "said": source.line(span.line).strip() if source else "",
        }
    return told
