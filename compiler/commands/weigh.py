"""`posy weigh`: what a piece weighs in every alloy, and its stones."""

from __future__ import annotations

import sys
from dataclasses import replace
from math import fsum

from ...lang.faults import Level
from ...lang.folding import fold, width_of
from ...stdlib.cuts.tablet import spoken
from ..casting.quick import quick, quick_lines
from ..files.digits import plain, shown
from ..files.stone_weights import weight_said
from ..making.result import Built
from ..making.weights import AlloyWeight, StoneWeight, Weights, saved_by_hollowing, weigh
from ..metal.part import in_row
from ..terminal import run as making
from ..terminal.forms import Arguments
from ..terminal.output import as_cast, bench_grams, bought_lines, metal_faults, remarks_data, tell, tell_data
from ..terminal.remarks import tinted, wants_colour, width_for


def run(arguments: Arguments) -> int:
    """Build the piece and show its weights."""
    chosen = arguments.metal
    arguments.metal = chosen[0] if len(chosen) == 1 else None
    built = making.built_piece(arguments.piece, arguments, check_metal=False)
    weights, faults = weigh(built)
    if weights is not None and len(chosen) > 1:
        listed = tuple(row for row in weights.alloys if row.name in chosen)
        weights = replace(weights, alloys=listed)
    grave = (fault for fault in metal_faults(built) if fault.level is Level.FAULT)
    remarks = (*built.faults, *faults, *grave)
    if arguments.show == "data":
        from ..files.summary import weight_record

        told = {"file": built.path, "title": built.title, "metal": built.metal, **weight_record(weights)}
        tell_data("weigh", **told, **remarks_data(built, remarks))
        return making.exit_code(remarks)
    tell(built, remarks, arguments, sys.stderr)
    if weights is not None:
        colour = wants_colour(sys.stdout, arguments.no_colour)
        width = width_for(sys.stdout)
        print("\n".join(table(built, weights, colour, width)))
        if (saved := saved_by_hollowing(built, weights)) > 0:
            print("\n".join(fold(f"hollow: solid it would be {bench_grams(saved)} g more", width)))
        for line in quick_lines(quick(built)):
            print("\n".join(fold(line, width)))
    return making.exit_code(remarks)


def table(built: Built, weights: Weights, colour: bool = False, width: int = 80) -> list[str]:
    """The weights as lines of text."""
    head = f"{built.title}: {as_cast(weights)}, before finishing."
    lines = [tinted(line, "bold", colour) for line in fold(head, width)]
    lines += fold("Your caster's alloy may weigh 1 to 2 % more or less.", width)
    if len(weights.parts) > 1:
        lines += [line for one in casting_lines(weights) for line in fold(one, width, "  ")]
    lines += [line for one in bought_lines(weights) for line in fold(one, width, "  ")]
    if len(weights.parts) > 1:
        lines += fold(f"In another metal instead of {weights.metal}:", width)
    wide = max(len(row.name) for row in weights.alloys)
    for row in weights.alloys:
        lines += _alloy_lines(row, wide, width)
    return lines + [line for one in stone_lines(weights) for line in fold(one, width, "", "    ")]


def casting_lines(weights: Weights) -> list[str]:
    """The castings, a line each; those of a row that weigh alike in one."""
    said = []
    for first, *others in weights.rows:
        whole, more = bench_grams(fsum(part.grams for part in (first, *others))), len(others)
        each = f", {more + 1} of {bench_grams(first.grams)} g" if more else ""
        called = in_row(first.casting)[0] if more else first.casting
        said.append(f"{whole} g of {first.metal} {called}".rstrip() + each)
    return said


def _alloy_lines(row: AlloyWeight, wide: int, width: int) -> list[str]:
    """One alloy: weight, name, what it is and its density."""
    start = f"  {bench_grams(row.grams):>8} g  {row.name:<{wide}}"
    more = f"{row.title}, {row.density:.2f} g/cm3"
    if width_of(start) + 22 > width:
        return [start.rstrip(), *fold(more, width, " " * 14)]
    return fold(more, width, f"{start}  ")


def stone_lines(weights: Weights) -> list[str]:
    """The stones by kind and their total; nothing when there are none."""
    if not weights.stones:
        return []
    lines = [f"  {_kind(row)}" for row in weights.stones]
    count = sum(row.count for row in weights.stones if not row.is_metal)
    if not count:
        return ["coins:", *lines]
    return [
        f"stones: {count}, {shown(weights.carats)} ct by {weights.carats_by}, "
        f"{shown(weights.carats_volume)} ct by volume, {shown(weights.stone_grams)} g",
        *lines,
    ]


def _kind(row: StoneWeight) -> str:
    size = " x ".join(plain(figure, 2) for figure in row.size)
    return (
        f"{row.count} {row.gem}, {spoken(row.cut)} {size} mm, "
        f"{weight_said(row.gem, row.carats_each)} each, {weight_said(row.gem, row.carats)}"
        f"{', weighed' * row.weighed}"
    )
