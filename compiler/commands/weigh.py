"""`posy weigh`: what a piece weighs in every alloy, and its stones."""

from __future__ import annotations

import argparse
import json
import sys
from typing import Any

from ..files.digits import bound, plain, shown
from ..judging.messages import (
    finding_record,
    findings_text,
    tinted,
    waiver_record,
    waivers_text,
    wants_colour,
)
from ..making.result import Built
from ..making.weights import StoneWeight, Weights, weigh
from ..terminal import options as shared
from ..terminal import run as making
from ..terminal.readout import bought_lines

DETAILS = (
    "Weights are volume times the published density of the alloy; an alloy differs by recipe "
    "and maker, so weigh a casting of your caster's own and compare. Stones are weighed by the "
    "trade's formulas and by volume."
)
EXAMPLES = (
    "posy weigh ring.posy",
    "posy weigh ring.posy --set across=3mm --metal platinum-950",
)


def options(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    shared.piece_options(parser, several=False)
    shared.metal_options(parser)
    shared.common_options(parser)


def run(arguments: argparse.Namespace) -> int:
    """Build the piece and show its weights."""
    making.metal_name(arguments.metal)
    built = making.built_piece(arguments.piece, arguments, check_metal=False)
    weights, faults = weigh(built)
    findings = (*built.faults, *faults)
    if arguments.format == "json":
        print(json.dumps(_record(built, weights, findings), indent=2, ensure_ascii=False))
    else:
        colour = wants_colour(sys.stderr, arguments.no_colour)
        form, notes = arguments.format, arguments.notes
        sys.stderr.write(findings_text(findings, built.texts, form, colour, notes))
        sys.stderr.write(waivers_text(built.waivers, built.faults))
        sys.stderr.flush()
        if weights is not None:
            colour = wants_colour(sys.stdout, arguments.no_colour)
            print("\n".join(table(built, weights, colour)))
    return making.exit_code(findings)


def table(built: Built, weights: Weights, colour: bool = False) -> list[str]:
    """The weights as lines of text."""
    off = bound(weights.grams_error)
    lines = [
        tinted(f"{built.title}, {_metals(built, weights)}: {_grams(weights)} g", "bold", colour)
        + (f" (within {plain(off, 6)} g by the mesh)" if off else "")
    ]
    if len(weights.parts) > 1:
        lines += [
            f"  {part.metal:<24}{shown(part.grams, part.grams_error):>9} g  {part.casting}".rstrip()
            for part in weights.parts
        ]
    lines += bought_lines(weights)
    if len(weights.parts) > 1:
        lines.append(f"in another metal instead of {weights.metal}, g:")
    wide = max(len(row.name) for row in weights.alloys)
    lines += [
        f"  {row.name:<{wide}}  {row.density:>6.2f} g/cm3"
        f"  {shown(row.grams, row.grams_error):>9} g   {row.title}"
        for row in weights.alloys
    ]
    return lines + stone_lines(weights)


def _metals(built: Built, weights: Weights) -> str:
    """The metal of the piece, or all of them."""
    return " and ".join(metal for metal, _, _ in weights.metals) or built.metal


def stone_lines(weights: Weights) -> list[str]:
    """The stones by kind and their total; nothing when there are none."""
    if not weights.stones:
        return []
    lines = [f"  {_kind(row)}" for row in weights.stones]
    count = sum(row.count for row in weights.stones)
    return [
        f"stones: {count}, {shown(weights.carats)} ct by formula, "
        f"{shown(weights.carats_volume)} ct by volume, {shown(weights.stone_grams)} g",
        *lines,
    ]


def _kind(row: StoneWeight) -> str:
    """Stones of one kind in one line."""
    size = " x ".join(plain(figure, 2) for figure in row.size)
    return (
        f"{row.count} {row.gem}, {row.cut} {size} mm, "
        f"{shown(row.carats_each)} ct each, {shown(row.carats)} ct"
    )


def _grams(weights: Weights) -> str:
    """The weight of the metal as written."""
    return shown(weights.grams, weights.grams_error)


def _record(built: Built, weights: Weights | None, findings: Any) -> dict[str, Any]:
    """The same as plain data, in the layout of the summary."""
    from ..files.summary import weight_record

    return {
        "posy": 1,
        "command": "weigh",
        "path": built.path,
        "title": built.title,
        "metal": built.metal,
        **weight_record(weights),
        "findings": [finding_record(fault) for fault in findings],
        "waivers": [waiver_record(waiver) for waiver in built.waivers],
    }
