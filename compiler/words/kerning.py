"""How a font draws two letters together: pair kerning of its GPOS table, else its `kern` table.

Figures are in font units, negative where the letters move closer. Source: the OpenType specification, GPOS
lookup type 2 (pair adjustment) and type 9 (extension)."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

Kern = Callable[[str, str], float]
PAIRS, EXTENSION = 2, 9  # lookup types


def kerning(font: Any) -> Kern:
    """The pair kerning of an open `fontTools` font, by glyph names."""
    if "GPOS" in font and font["GPOS"].table.LookupList is not None:
        lookups = [list(_subtables(lookup)) for lookup in _lookups(font["GPOS"].table)]
        if any(lookups):
            return lambda left, right: sum(_of(tables, left, right) for tables in lookups)
    if "kern" in font:
        tables = [one.kernTable for one in font["kern"].kernTables if hasattr(one, "kernTable")]
        return lambda left, right: float(sum(one.get((left, right), 0) for one in tables))
    return lambda left, right: 0.0


def _lookups(gpos: Any) -> list[Any]:
    """The lookups of the feature `kern` for Latin, or for a script of no name."""
    scripts = {record.ScriptTag: record.Script for record in gpos.ScriptList.ScriptRecord}
    script = scripts.get("latn") or scripts.get("DFLT")
    system = script.DefaultLangSys if script is not None else None
    if system is None:
        return []
    records = [gpos.FeatureList.FeatureRecord[k] for k in system.FeatureIndex]
    wanted = {k for r in records if r.FeatureTag == "kern" for k in r.Feature.LookupListIndex}
    return [gpos.LookupList.Lookup[k] for k in sorted(wanted)]


def _subtables(lookup: Any) -> Iterator[Any]:
    for table in lookup.SubTable:
        kind = lookup.LookupType
        if kind == EXTENSION:
            kind, table = table.ExtensionLookupType, table.ExtSubTable
        if kind == PAIRS:
            yield table


def _of(tables: list[Any], left: str, right: str) -> float:
    """What the first table that knows the pair says."""
    for table in tables:
        if left not in table.Coverage.glyphs:
            continue
        if table.Format == 1:
            pairs = table.PairSet[table.Coverage.glyphs.index(left)].PairValueRecord
            value = next((one.Value1 for one in pairs if one.SecondGlyph == right), None)
            if value is None:
                continue
        else:
            first = table.ClassDef1.classDefs.get(left, 0)
            second = table.ClassDef2.classDefs.get(right, 0)
            value = table.Class1Record[first].Class2Record[second].Value1
        return float(getattr(value, "XAdvance", 0) or 0)
    return 0.0
