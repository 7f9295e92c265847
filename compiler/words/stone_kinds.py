"""The kinds of stones a line asks for: cut, size and gem, and what was measured of them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from ...lang.bench import Argument, Call
from ...lang.values import ByWeight, Graded
from ...stdlib.cuts import CUTS, as_deep, tablet
from ...stdlib.gems import Gem, find_gem
from ..bench.stone_kind import StoneKind
from .contour import QUARTERS

G_PER_CT = 0.2
SLIP = 2.5  # a weight further off than so many times is taken for a slip of the unit
CUT_NAMES = tuple(CUTS)


def upright(call: Call) -> Call:
    """The line with stones that it gives as width x height, 5 x 8 mm, given as length x width and swivelled
    by a quarter: their point, or one of their ends, up, a heart on its point. So too where it says so."""
    name = next(key for key in CUT_NAMES if call.given(key))
    value = call.get(name)
    members: tuple[Any, ...] = value.members if isinstance(value, Graded) else (value,)
    standing = all(isinstance(one, tuple) and len(one) == 2 and CUTS[name].stands(*one) for one in members)
    if not standing and not call.get("upright"):
        return call
    turned = tuple(one[::-1] for one in members) if standing else members
    said = call.arguments[name]
    swivel = Argument(call.get("swivel", 0.0) + 90.0 * QUARTERS.get(name, 1), said.span)
    size = replace(said, value=Graded(turned) if isinstance(value, Graded) else turned[0])
    return replace(call, arguments={**call.arguments, name: size, "swivel": swivel})


def asked_kinds(call: Call) -> list[StoneKind]:
    """The kinds a line asks for: one, or the members of a graded run."""
    name = next(key for key in CUT_NAMES if call.given(key))
    value = call.get(name)
    members = value.members if isinstance(value, Graded) else (value,)
    _alike(call, name, members)
    kinds = [_setting(call, name, member) for member in members]
    said = next((key for key in ("deep", "weighs") if call.given(key)), None)
    if said and len(kinds) > 1:
        call.refuse(
            "clauses-disagree",
            f"stones of several sizes do not share one figure of '{said}'",
            said,
            remedy="write measured stones in lines of their own",
        )
    if len({len(kind.size) for kind in kinds}) > 1:
        call.refuse(
            "size-members",
            "the sizes of a graded row are not all written alike",
            name,
            remedy="give each as many figures: oval 3 x 2 mm to 4 x 3 mm",
        )
    return kinds


def _alike(call: Call, name: str, members: tuple[Any, ...]) -> None:
    """Raises Refused where one figure would have to serve gems that are not alike, or a cut that one of
    them is not cut in."""
    gems, cut = [gem_of(said) for said in call.get("gem")], CUTS[name]
    for found in gems:
        if cut.facet_count and not found.faceted and not call.get("flat"):
            halved = "; half of one, flat behind, is written half-pearl 2 mm" if cut.sizes == 1 else ""
            call.refuse(
                "not-faceted", f"{found.spoken} is not cut in facets, so it is no {name}", name,
                remedy=f"write {'pearl' if cut.sizes == 1 else 'cabochon'} in place of {name}{halved}",
            )
    by_weight = any(isinstance(member, ByWeight) for member in members)
    said = name if by_weight else next((key for key in ("weighs", "lot") if call.given(key)), None)
    if len(gems) > 1 and said:
        one = "lot" if said == "lot" else "weight"
        apart = f"leave '{said}' out, or write each gem on a line of its own"
        call.refuse(
            "clauses-disagree", f"stones of several gems are of one size, not of one {one}", said,
            remedy="give the size in mm" if by_weight else apart,
        )


def _setting(call: Call, name: str, value: Any) -> StoneKind:
    cut, found = CUTS[name], gem_of(call.get("gem")[0])
    if isinstance(value, ByWeight):
        try:
            size = cut.size_for(value.grams / G_PER_CT, found.density, found.formula)
        except ValueError:
            call.refuse(
                "odd-size",
                f"no {name} stone weighs {value.grams / G_PER_CT:g} ct",
                name,
                seen=f"{value.grams / G_PER_CT:g} ct",
                remedy="check the unit, or give its size in mm",
            )
    else:
        size = value if isinstance(value, tuple) else (value,)
    width = size[1] if len(size) > 1 else size[0]
    problem = cut.problem(size[0], width, size[2] if len(size) > 2 else None)
    if problem:
        call.refuse("odd-size", problem, name, remedy="change the size, or the cut")
    return _measured(call, StoneKind(name, tuple(float(s) for s in size), found.name), found)


def _measured(call: Call, kind: StoneKind, gem: Gem) -> StoneKind:
    """The kind with the depth and the weight that the text says were measured."""
    form = kind.cut
    if call.given("flat") or kind.cut == "rectangle":
        form = _flat(call, kind)
        kind = StoneKind(kind.cut + tablet.NAME, kind.size, kind.gem)
    elif call.given("deep"):
        deep = call.get("deep")
        try:
            form = as_deep(CUTS[kind.cut], kind.length, kind.width, deep)
        except ValueError as error:
            call.refuse(
                "odd-size",
                f"no {kind.cut} stone of this size is {deep:g} mm deep",
                "deep",
                seen=f"{deep:g} mm",
                limit=str(error),
                remedy="measure from table to culet",
            )
    drilled = call.get("drilled", 0.0)
    if drilled > kind.width / 2:
        call.refuse(
            "odd-size",
            f"a hole of {drilled:g} mm leaves little of a bead {kind.width:g} mm across",
            "drilled",
            seen=f"{drilled:g} mm",
            limit=f"{kind.width / 2:g} mm, half its width",
            remedy="pearls are drilled 0.6 mm to 1 mm",
        )
    if not call.given("weighs"):
        return StoneKind(kind.cut, kind.size, kind.gem, form, drilled=drilled)
    carats = call.get("weighs") / G_PER_CT
    usual = CUTS[form].carats(
        kind.length, kind.width, kind.narrow, density=gem.density, formula=gem.formula
    )
    if not usual / SLIP <= carats <= usual * SLIP:
        call.refuse(
            "odd-size",
            f"a {kind.gem} of this size does not weigh {carats:g} ct",
            "weighs",
            seen=f"{carats:g} ct",
            limit=f"about {usual:.2f} ct",
            remedy="check the unit: it is what one stone weighs",
        )
    return StoneKind(kind.cut, kind.size, kind.gem, form, carats, drilled)


def _flat(call: Call, kind: StoneKind) -> str:
    """The form of a flat stone of this outline: its thickness, its edge, its corners."""
    if kind.cut != "rectangle" and CUTS[kind.cut].facet_count == 0:
        remedy = "leave 'flat' out, or name the cut whose outline it has, as in: oval 10 x 8 mm, flat"
        call.refuse("odd-size", f"a {kind.cut} is not flat", "flat", remedy=remedy)
    deep, half = call.get("deep", tablet.usual_depth(kind.width)), min(kind.length, kind.width) / 2
    corner, bevel = call.get("corner", 0.0), call.get("bevel", 0.0)
    for key, seen, most, what in (
        ("deep", deep, 2 * half, "is thicker than it is wide"),
        ("corner", corner, half, "has no room for such corners"),
        ("bevel", bevel, min(deep, half) - 0.1, "has no top or no side left"),
    ):
        if seen > most + 1e-9:
            call.refuse(
                "odd-size", f"this flat stone {what}", key,
                seen=f"{seen:g} mm", limit=f"{max(most, 0):.2f} mm", remedy="make it smaller",
            )  # fmt: skip
    return tablet.called(kind.cut, kind.width, deep, bevel, corner)


def gem_of(name: str) -> Gem:
    """The gem that a choice names."""
    found = find_gem(name)
    assert found is not None  # the choices were checked before
    return found
