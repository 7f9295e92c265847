"""One piece, from a bench full of steps to finished metal; and what a long-lived process keeps."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cache

import numpy as np

from ...lang.bench import Call
from ...lang.faults import Fault, Level, Span
from ..bench.piece_bench import PieceBench
from ..bench.plan import Step, alloy_of, cast_steps, casting_of, is_by_hand, simple_steps
from ..bench.roles import Role
from ..bench.worked import STRAIGHT
from ..geometry import frames as fr
from ..metal.crumbs import CRUMB, Crumb
from ..metal.memo import Memo
from ..metal.part import Part
from ..metal.solids import TRIANGLES_LIMIT, Workshop, triangles_of
from .result import Stone

FINAL = 0.005  # mm, chord tolerance of what is judged and handed on
SHIFTS = "outset", "inset", "right", "left", "up", "down", "out", "inward"  # by which parts part
SPECK = 0.005  # mm2 of a copy of a cut: nobody sees less


@dataclass
class Session:
    """What survives from build to build in one process.

    Of the last build: how many features have work of their own (``total``) and how many of them had to be
    done anew (``rebuilt``)."""

    memo: Memo = field(default_factory=Memo)
    total: int = 0
    rebuilt: int = 0


def oversized(bench: PieceBench, session: Session, tolerance: float) -> list[Fault]:
    """A fault at the line that takes the piece past the cap on triangles."""
    total = 0
    for step, count in triangles_of(bench.plan().steps, session.memo, tolerance):
        total += count
        if total > TRIANGLES_LIMIT:
            call = bench.lines[step.feature]
            return [
                call.fault(
                    "too-many-triangles", f"with {call.name} the piece passes the cap on triangles",
                    seen=f"{total:,}", limit=f"{TRIANGLES_LIMIT:,}",
                    remedy="fewer copies, or a coarser --tolerance",
                )
            ]
    return []


def metal_parts(
    bench: PieceBench, session: Session, tolerance: float,
    progress: Callable[[str, float], None] | None = None, steps: Sequence[Step] | None = None,
) -> tuple[tuple[Part, ...], list[Fault]]:
    """Carry out the plan as it is cast, or other ``steps``: one part per casting and alloy, and faults
    where no sound metal came out."""
    memo = session.memo
    steps = cast_steps(bench.plan().steps) if steps is None else steps
    memo.begin()

    def tell(number: int) -> None:
        if progress is not None and steps:
            name = bench.lines[steps[number].feature].name if number < len(steps) else "joining"
            progress(name, number / (len(steps) + 1))

    shop = Workshop(memo, tolerance, bench.metal, tell)
    metals = shop.finished(steps)
    parts = []
    idle = _by_line(bench, [one for one in shop.idle if _should_cut(bench, one)])
    faults = [_met_nothing(bench, *one) for one in idle.values()]
    for name, metal in metals.items():
        if metal.trouble is not None:
            faults.append(_unsound(bench, session, tolerance, metal.trouble))
        elif metal.mesh is None or len(metal.mesh.triangles) == 0:
            faults.append(_all_gone(bench, name))
        else:
            casting = casting_of(name)
            part = metal.mesh.part(alloy_of(name), shop.owners)
            bought = bench.bought.get(casting)
            weighs = None if bought is None else bench.lines[bought].get("weighs")
            parts.append(replace(part, casting=casting, bought=bought is not None, weighs=weighs))
            told = (_crumb(bench, shop, crumb) for crumb in metal.crumbs)
            faults += [one for one in told if one is not None]
    if len(parts) == len(metals):  # else it is told already of the metal that is gone
        gone = [k for k in _idle_cuts(bench, parts) if k not in shop.idle]
        faults += [_nothing_left(bench, *one) for one in _by_line(bench, gone).values()]
    session.total, session.rebuilt = len({step.feature for step in steps}), len(shop.fresh)
    memo.trim()
    return tuple(parts), faults


def _crumb(bench: PieceBench, shop: Workshop, crumb: Crumb) -> Fault | None:
    """A warning for a grain of metal, or of air, that was left out of the files; None for a grain that the
    cut of a setting left: it would go in setting."""
    owner = shop.owners.by_id.get(crumb.owner)
    call = bench.lines[owner.feature if owner is not None else 0]
    hollow = crumb.volume < 0
    if not hollow and _of_setting(call):
        return None
    return replace(
        call.fault(
            "crumb-left-out",
            f"{call.name} leaves {'a shut hollow' if hollow else 'a crumb'} too small to be made",
            seen=f"{abs(crumb.volume):.2g} mm3", limit=f"{CRUMB:g} mm3, a cube of 0.1 mm",
            remedy="let the parts overlap by 0.05 mm more, or leave a clear gap" + _by_which(call),
            level=Level.WARNING,
        ),
        place=crumb.at,
    )


def _by_which(call: Call) -> str:
    """The clauses of the text's own line by which what it makes comes nearer or goes off; or nothing."""
    use = next(iter(call.within), call)
    said = [key for key in SHIFTS if key in use.arguments and use.arguments[key].given]
    return f": change {' or '.join(repr(key) for key in said)} in the line of {use.name}" if said else ""


def _should_cut(bench: PieceBench, feature: int) -> bool:
    """Whether a line that cuts nothing is a slip: a bore or a bearing may find nothing to do, as a light hole
    of a setting where one is drilled already."""
    if _of_setting(bench.lines[feature]):
        return False
    copied = bench.features[feature].source is not None
    return copied or not {Role.OPENS, Role.LIGHT_HOLE}.isdisjoint(bench.lines[feature].word.roles)


def _by_line(bench: PieceBench, features: Sequence[int]) -> dict[Span, tuple[int, int]]:
    """Of the features that each line of the text made, as in an 'each', the first, and how many."""
    found: dict[Span, tuple[int, int]] = {}
    for one in features:
        call = bench.lines[one]
        line = (*call.trail, call.span)[0]
        first, count = found.get(line, (one, 0))
        found[line] = first, count + 1
    return found


def _took(bench: PieceBench, feature: int) -> str:
    """The lines above whose straight cuts take the metal at all places of a cut, or words for them."""
    from ..geometry.inside import inside_loops
    from ..geometry.outlines import trace_all
    from ..judging.plan_solids import plan_solids

    solids = [one for one in plan_solids(bench.plan().steps) if one.cut and one.kind in STRAIGHT]
    own = [one.frames[:, :, 3] for one in solids if one.feature == feature]
    spots = np.concatenate(own or [np.zeros((0, 3))])
    taken, names = np.zeros(len(spots), dtype=bool), []
    for one in solids:
        for frame in one.frames if one.feature < feature else ():
            seen = fr.apply(fr.inverse(frame), spots)[:, :2]
            inside = inside_loops(trace_all(one.figures[0]), seen) > 0
            taken |= inside
            names += [bench.lines[one.feature].own_line.name] * bool(inside.any())
    return " and ".join(dict.fromkeys(names)) if len(spots) and taken.all() else "other cuts"


def _onto_metal(bench: PieceBench, feature: int) -> str:
    """What brings a cut onto metal."""
    call = bench.lines[feature]
    part = getattr(call.get("in"), "name", "").rpartition(".")[2]
    if not call.given("along") and part and call.given("at"):
        took = _took(bench, feature)
        return f"the metal of {part} there is taken by {took}: let it reach past that, or leave it out"
    if not call.given("along"):
        return "let it begin at a face of the metal, or say with 'in' what it cuts; or leave it out"
    on = f"lies on the face of {part}, its rim for one" if part else "lies on metal"
    return f"the path of 'along' runs beside the metal: take one that {on}, or move it there"


def _met_nothing(bench: PieceBench, feature: int, count: int) -> Fault:
    """A fault at a line whose cuts, ``count`` in all, go through air."""
    call, source = bench.lines[feature], bench.features[feature].source
    remedy = _onto_metal(bench, feature)
    if Role.LIGHT_HOLE in call.word.roles:
        stones, into = call.get("for"), call.get("in")
        across = call.get("narrow") * min(kind.width for kind in stones.stones)
        metal = getattr(into, "name", "NAME")
        remedy = "it opens metal that begins above the points of stones; farther behind, drill it: "
        remedy += f"write drill light: at centres of {stones.name}, in {metal}, across {across:.2g} mm"
    elif source is not None:
        remedy = f"it cuts what {source.name} cuts: move it there, or cut other metal in a line of its own"
    return call.fault(
        "idle-cut",
        f"{call.name} cuts nothing: there is no metal at its places"
        + (f" ({count} turns)" if count > 1 else ""),
        remedy=remedy,
    )


def _idle_cuts(bench: PieceBench, parts: Sequence[Part]) -> list[int]:
    """Cuts with a place of their own, of whose faces nothing to speak of is seen on the finished metal."""
    steps = bench.plan().steps
    cuts = Counter[int]()
    for step in steps:
        if step.work == "cut" and not is_by_hand(step):
            cuts[step.feature] += len(step.frames)
    adds = {step.feature for step in steps if step.work == "add"}
    shown = np.zeros(len(bench.lines) + 1)
    for part in parts:
        start, second, third = part.points[part.triangles].transpose(1, 0, 2)
        area = np.linalg.norm(np.cross(second - start, third - start), axis=1) / 2
        np.add.at(shown, part.owner, area)
    unseen = ((k, bench.lines[k]) for k in sorted(cuts.keys() - adds) if shown[k] <= SPECK * cuts[k])
    return [k for k, call in unseen if call.word.places and Role.CUT in call.roles and not _of_setting(call)]


def _of_setting(call: Call) -> bool:
    return bool(call.within) and Role.SETTING in call.roles


def _nothing_left(bench: PieceBench, feature: int, count: int) -> Fault:
    """A warning at a line of whose cuts ``count`` met no metal, or later work took away or filled them."""
    call = bench.lines[feature]
    own = f"{count} cuts of " * (count > 1) + (call.within[0].name if call.within else call.name)
    remedy = _onto_metal(bench, feature)
    if Role.TEXTURE in call.roles and call.given("in"):
        upon = getattr(call.get("in"), "name", "that part")
        remedy = f"the face falls away there: say 'upon {upon}' in place of 'at' and 'in'"
    return call.fault(
        "idle-cut", f"nothing of {own} is to be seen on the metal", remedy=remedy, level=Level.WARNING,
    )


def _all_gone(bench: PieceBench, label: str) -> Fault:
    """A fault where nothing is left of an alloy: at the last cut of it, else where it lies in other metal."""
    steps = list(simple_steps(bench.plan().steps))
    of = alloy_of(label), casting_of(label)
    adds = [
        step for step in steps
        if step.work == "add" and of == (alloy_of(step.metal) or bench.metal, casting_of(step.metal))
    ]  # fmt: skip
    bodies = {step.body for step in adds}
    cuts = [
        step.feature for step in steps
        if step.work == "cut" and (step.into is None or bodies & set(step.into))
        and any(step.feature > one.feature for one in adds)
    ]  # fmt: skip
    call, metal = bench.lines[(cuts or [one.feature for one in adds])[-1]], alloy_of(label)
    if not cuts:
        return call.fault(
            "no-metal",
            f"all the {metal} of {call.name} lies in metal of the lines above it, which was there first",
            remedy=f"write the line of {call.name} above theirs, or move it out of that metal",
        )
    return call.fault(
        "no-metal", f"after {call.name} nothing is left of the {metal}",
        remedy="make the cut smaller, move it, or say with 'in' what it cuts",
    )


def _unsound(bench: PieceBench, session: Session, tolerance: float, trouble: str) -> Fault:
    """Find the first line after which the kernel fails, and blame it."""
    steps = bench.plan().steps
    for last in range(1, len(steps) + 1):
        metals = Workshop(session.memo, tolerance, bench.metal).finished(steps[:last])
        if any(metal.trouble is not None for metal in metals.values()):
            call = bench.lines[steps[last - 1].feature]
            return call.fault(
                "unsound-solid", f"no sound metal comes of {call.name} ({trouble})",
                remedy="change its figures a little; please report the text that does this",
            )
    return Fault("unsound-solid", f"the joined metal is not sound ({trouble})")


def stones_of(bench: PieceBench) -> tuple[Stone, ...]:
    """Every stone with its number, weight both ways and place, in the order of the text."""
    from ...stdlib.gems import GEMS

    found: list[Stone] = []
    for group in bench.stones():
        setting = group.setting
        gem, weighed = GEMS[setting.gem], setting.carats
        formula, volume = _carats(setting.figures, gem.density, gem.formula)
        formula, volume = formula * setting.left(), volume * setting.left()
        formula = formula if weighed is None else weighed
        for frame in group.frames:
            found.append(
                Stone(
                    len(found) + 1, group.feature, setting.cut, setting.size, setting.gem,
                    formula, volume, frame, weighed is not None, setting.form,
                )
            )
    return tuple(found)


@cache
def _carats(figures: tuple[object, ...], density: float, by: str) -> tuple[float, float]:
    from ...stdlib.cuts import CUTS
    from ...stdlib.stones import weigh

    name, long, wide, *rest = figures
    weight = weigh(CUTS[str(name)], long, wide, rest[0] if rest else None, density, by)  # type: ignore[arg-type]
    return weight.carats_formula, weight.carats_volume
