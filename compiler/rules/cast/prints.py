"""Castings on the printer: what begins in mid air, hangs out, sucks on the film or is too fine, on how much
they stand, and whether they go on it at all."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import least, most, place
from ...judging.pours import place_check
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece

ATMOSPHERE = 0.101325  # N/mm2, of the room on a hollow that nothing gets into

cup = place_check(
    "cup", "most", lambda piece: (one for plan in piece.prints for one in plan.cups),
    "this hollow is open to the film alone while it prints",
    lambda one: f"{one.figure:.1f} mm2, {ATMOSPHERE * one.figure:.1f} N of pull",
    lambda bound: most(f"{bound:g} mm2"),
    "drill it through, or turn the piece on the plate",
)  # fmt: skip

island = place_check(
    "island", "most", lambda piece: (one for plan in piece.prints for one in plan.islands),
    "this begins in mid air, and no prop may hold it or reaches it",
    lambda one: f"in layer {one.other:.0f}",
    lambda _: "something under it",
    "turn the piece on the plate, let it grow from metal below, or make that work after casting",
)  # fmt: skip

under_pixel = place_check(
    "under-pixel", "most", lambda piece: (one for plan in piece.prints for one in plan.fine),
    "this is a pixel wide",
    lambda one: f"{one.figure:.0f} pixels of it, in layer {one.other:.0f}",
    lambda _: "two pixels and more",
    "make it thicker, or print with finer pixels",
)  # fmt: skip

unsupported = place_check(
    "unsupported", "most", lambda piece: (one for plan in piece.prints for one in plan.unheld),
    "this hangs out, and no prop may hold it or reaches it",
    lambda one: f"{one.figure:.1f} mm2 from layer {one.other:.0f}",
    lambda bound: most(f"{bound:g} mm2"),
    "turn the piece on the plate so that it looks up, or cut that work again at the bench",
)  # fmt: skip


def first_layer(piece: Piece) -> Iterator[Verdict]:
    for plan in piece.prints:
        bound = piece.bound("first-layer", "least", plan.feature)
        if plan.first is not None and plan.first < bound:
            yield Verdict(
                "it stands on the plate on too little",
                plan.feature,
                f"{plan.first:.2g} mm2",
                least(f"{bound:g} mm2"),
                "lift it on props (lift in [printer] of bench.toml), or turn it",
                plan.first,
                bound,
                place=place(plan.middle),
            )


def off_plate(piece: Piece) -> Iterator[Verdict]:
    for plan in piece.prints:
        bound = piece.bound("off-plate", "most", plan.feature)
        if plan.room > bound:
            yield Verdict(
                "it does not fit on the printer",
                plan.feature,
                f"{plan.room:.2f} times its room",
                most(f"{bound:g}"),
                "print it in parts, or on a larger printer ([printer] in bench.toml)",
                plan.room,
                bound,
                place=place(plan.middle),
            )
