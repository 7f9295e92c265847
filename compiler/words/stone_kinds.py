"""The kinds of stones a line asks for: cut, size and gem, and what was measured of them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from ...lang.bench import Argument, Call
from ...lang.values import ByWeight, Graded
from ...stdlib.cuts import CUTS, as_deep, tablet
from ...stdlib.gems import Gem, find_gem
from ..bench.stone_kind import StoneKind
from .contour import QUARTERS, loop

G_PER_CT = 0.2
SLIP = 2.5  # a weight further off than so many times is taken for a slip of the unit
CUT_NAMES = (*CUTS, tablet.OWN)
# Cuts whose cabochons have a name of their own.
PLAIN = {"round": "cabochon", "oval": "cabochon", "cushion": "cushion-cabochon", "pear": "pear-cabochon",
         "rose": "cabochon", "pear-rose": "pear-cabochon"}  # fmt: skip


def asked_turns(call: Call) -> tuple[Call, list[StoneKind], bool]:
    """The line with its stones swivelled as their cuts say, the kinds it asks for, and whether they take
    turns along the row, a cut after the other as they are written, or are the members of a graded run."""
    names = sorted(filter(call.given, CUT_NAMES), key=lambda name: call.arguments[name].span.start)
    if len(names) == 1:
        call = upright(call)
        return call, asked_kinds(call), False
    lines = []
    for name in names:
        others = {key: said for key, said in call.arguments.items() if key == name or key not in names}
        lines.append(upright(replace(call, arguments=others)))
    kinds = [asked_kinds(line) for line in lines]
    one = next((key for key in ("deep", "weighs", "lot", "prongs-at") if call.given(key)), None)
    if max(map(len, kinds)) > 1 or one:
        call.refuse(
            "clauses-disagree", f"stones that take turns {f'share no {one}' if one else 'are not graded'}",
            one or names[1], remedy="write each cut in a line of its own",
        )
    pairs = zip(lines, kinds, strict=True)
    turned = {line.get("swivel", 0.0): line for line, (kind,) in pairs if not kind.is_round()}
    if len(turned) > 1:
        call.refuse(
            "clauses-disagree", "of the stones that take turns some stand upright, some lie", names[1],
            remedy="give all of them as length x width, or all as width x height",
        )
    return next(iter(turned.values()), lines[0]), [kind for (kind,) in kinds], True


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
    like, value, said_in = StoneKind(name, (), ""), call.get(name), name
    if name == tablet.OWN:
        like = _drawn(call, value)
        value, said_in = call.get("size", like.size), "size" if call.given("size") else name
    members = value.members if isinstance(value, Graded) else (value,)
    _alike(call, name, members)
    kinds = [_setting(call, like, member, said_in) for member in members]
    said = next((key for key in ("deep", "weighs") if call.given(key)), None)
    if said and len(kinds) > 1:
        call.refuse(
            "clauses-disagree", f"stones of several sizes do not share one figure of '{said}'", said,
            remedy="write measured stones in lines of their own",
        )
    if len({len(kind.size) for kind in kinds}) > 1:
        call.refuse(
            "size-members", "the sizes of a graded row are not all written alike", name,
            remedy="give each as many figures: oval 3 x 2 mm to 4 x 3 mm",
        )
    return kinds


def _drawn(call: Call, value: Any) -> StoneKind:
    """A stone of an outline of one's own, as large as it is drawn."""
    if len(value.lines) > 1:
        call.refuse(
            "odd-size", f"a stone has one girdle; here are {len(value.lines)}", tablet.OWN,
            remedy="name one closed path",
        )
    from ...stdlib.cuts.outline import called

    points = loop(call, value.lines[0])
    long, wide = np.ptp(points, axis=0).tolist()
    try:
        return StoneKind(tablet.OWN, (round(long, 6), round(wide, 6)), "", called(points))
    except ValueError:
        call.refuse(
            "odd-size", "no seat can be cut for so hollow an outline: it turns back on itself", tablet.OWN,
            remedy="draw it so that all of it is seen from its middle",
        )


def _alike(call: Call, name: str, members: tuple[Any, ...]) -> None:
    """Raises Refused where one figure would have to serve gems that are not alike, or a cut that one of
    them is not cut in."""
    gems, faceted = [gem_of(said) for said in call.get("gem")], name == tablet.OWN or CUTS[name].facet_count
    for found in gems:
        if faceted and not found.faceted and not (call.get("flat") or call.get("domed")):
            bead = name != tablet.OWN and CUTS[name].sizes == 1
            halved = "; half of one, flat behind, is written half-pearl 2 mm" if bead else ""
            what = "pearl" if bead else PLAIN.get(name)
            call.refuse(
                "not-faceted", f"{found.spoken} is not cut in facets, so it is no {name}", name,
                remedy=f"write {what} in place of {name}{halved}" if what else "add 'domed', for a cabochon",
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


def _setting(call: Call, like: StoneKind, value: Any, said_in: str) -> StoneKind:
    """A stone of the cut and the form of one ``like`` it, its size as ``value`` says."""
    cut, name, found = CUTS[like.form], like.cut, gem_of(call.get("gem")[0])
    if like.size:
        cut = replace(cut, ratio=like.length / like.width)
    if isinstance(value, ByWeight):
        try:
            size = cut.size_for(value.grams / G_PER_CT, found.density, found.formula)
        except ValueError:
            call.refuse(
                "odd-size", f"no {name} stone weighs {value.grams / G_PER_CT:g} ct", said_in,
                seen=f"{value.grams / G_PER_CT:g} ct", remedy="check the unit, or give its size in mm",
            )
    else:
        size = value if isinstance(value, tuple) else (value,)
    width = size[1] if len(size) > 1 else size[0]
    free = bool(call.get("flat") or call.get("domed"))
    problem = cut.problem(size[0], width, size[2] if len(size) > 2 else None, free=free)
    if problem:
        row = f"write {4 / 3 * width:.3g} x {width:g} mm, gap 0.1 mm: so many as go there lie end to end"
        strip = call.given("along") and not call.given("gap") and size[0] > cut.ratios[1] * width
        call.refuse("odd-size", problem, said_in, remedy=row if strip else "change the size, or the cut")
    return _measured(call, StoneKind(name, tuple(float(s) for s in size), found.name, like.form), found)


def _measured(call: Call, kind: StoneKind, gem: Gem) -> StoneKind:
    """The kind with the depth and the weight that the text says were measured."""
    kind, form = _formed(call, kind)
    drilled = call.get("drilled", 0.0)
    if drilled > kind.width / 2:
        call.refuse(
            "odd-size", f"a hole of {drilled:g} mm leaves little of a bead {kind.width:g} mm across",
            "drilled", seen=f"{drilled:g} mm", limit=f"{kind.width / 2:g} mm, half its width",
            remedy="pearls are drilled 0.6 mm to 1 mm",
        )
    if not call.given("weighs"):
        return StoneKind(kind.cut, kind.size, kind.gem, form, drilled=drilled)
    carats = call.get("weighs") / G_PER_CT
    usual = CUTS[form].carats(kind.length, kind.width, kind.narrow, density=gem.density, formula=gem.formula)
    if not usual / SLIP <= carats <= usual * SLIP:
        call.refuse(
            "odd-size", f"a {kind.gem} of this size does not weigh {carats:g} ct", "weighs",
            seen=f"{carats:g} ct", limit=f"about {usual:.2f} ct",
            remedy="check the unit: it is what one stone weighs",
        )
    return StoneKind(kind.cut, kind.size, kind.gem, form, carats, drilled)


def _formed(call: Call, kind: StoneKind) -> tuple[StoneKind, str]:
    """The kind as a tablet or a cabochon if the line says so, and its form, as deep as was measured."""
    form = kind.form
    if call.get("flat") or kind.cut == "rectangle":
        form = _flat(call, kind)
        kind = StoneKind(kind.cut + tablet.NAME, kind.size, kind.gem)
    elif call.get("domed"):
        form = _domed(call, kind)
        kind = StoneKind(kind.cut + tablet.DOME, kind.size, kind.gem)
    if not call.given("deep") or kind.cut.endswith(tablet.NAME):
        return kind, form
    deep = call.get("deep")
    try:
        return kind, as_deep(CUTS[form], kind.length, kind.width, deep)
    except ValueError as error:
        call.refuse(
            "odd-size", f"no {kind.cut} stone of this size is {deep:g} mm deep", "deep",
            seen=f"{deep:g} mm", limit=str(error),
            remedy=f"measure from {'back to top' if CUTS[form].domed else 'table to culet'}",
        )


def _flat(call: Call, kind: StoneKind) -> str:
    """The form of a flat stone of this outline: its thickness, its edge, its corners."""
    if kind.cut != "rectangle" and not CUTS[kind.form].crowned:
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
    return tablet.called(kind.form, kind.width, deep, bevel, corner)


def _domed(call: Call, kind: StoneKind) -> str:
    """The form of a cabochon of this outline."""
    what = PLAIN.get(kind.cut)
    if what or CUTS[kind.form].facet_count == 0:
        said = f"a domed {kind.cut} is a {what}" if what else f"a {kind.cut} is no cut to dome"
        call.refuse(
            "odd-size", said, "domed",
            remedy=f"write {what} in place of {kind.cut}" if what else "leave 'domed' out",
        )
    return kind.form + tablet.DOME


def gem_of(name: str) -> Gem:
    """The gem that a choice names."""
    found = find_gem(name)
    assert found is not None  # the choices were checked before
    return found
