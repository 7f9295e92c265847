"""lone-half: half of a clasp or a hinge alone; idle-joint: a joint of links in which none turns."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ...lang.bench import Use
from ...lang.words import Kind
from ..bench.hung import asked
from ..bench.linked import LINK_ENDS, link_ends
from ..bench.roles import Role
from ..judging.digits import above, mm, place, rounded_up
from ..judging.rule import Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece
    from ..measures.kinds import Floats

DIFFERS = 1e-6  # mm
PLAY = 0.1  # mm, of a joint that says none
LEVEL = 0.7  # of the way to the next pin, up or down: the links stand right, their pins do not
MANY = 0.5  # of all joints of a line: if as many are idle, its links stand at another pitch


class Half(NamedTuple):
    """One half of a finding: how its line used its word, a feature of it, and how often it is made."""

    use: Use
    feature: int
    times: int


def lone_half(piece: Piece) -> Iterator[Verdict]:
    found: dict[str, list[Half]] = {}
    for half in _halves(piece):
        found.setdefault(half.use.word.name, []).append(half)
    for halves in found.values():
        if sum(half.times for half in halves) == 1 and _among_others(piece, halves[0]):
            yield _alone(piece, halves[0])
        elif len(halves) == 2 and Role.CLASP in halves[0].use.word.roles:
            yield from _unlike(piece, *halves)


def _among_others(piece: Piece, half: Half) -> bool:
    """Whether a half stands in a block beside other such blocks: one drawn by itself is a study."""
    return piece.bench.block_of(half.use.name) != "" and len(piece.bench.blocks) > 1


def _halves(piece: Piece) -> Iterator[Half]:
    made = {feature.name: feature for feature in piece.features}
    again = [feature.source for feature in piece.features if feature.source is not None]
    seen: set[str] = set()
    for feature, call in piece.with_role(Role.HALF):
        use = next(one for one in call.within if Role.HALF in one.word.roles)
        if use.name in seen:
            continue
        seen.add(use.name)
        around = use.name.rpartition(".")[0]
        copies = sum(around.startswith(one.name) or use.name == one.name for one in again)
        stands = len(made[around].frames) if around in made else 1
        yield Half(use, feature.index, stands + copies)


def _alone(piece: Piece, half: Half) -> Verdict:
    other = next((take.name for take in half.use.word.takes if take.kind is Kind.FLAG), "")
    said = other in half.use.arguments and half.use.arguments[other].given
    want = f"without '{other}'" if said else f"with '{other}'"
    name = piece.name_of(half.feature)
    return Verdict(
        f"{name} has no other half",
        half.feature,
        "one half",
        "two, each in a casting of its own",
        f"make its other half: a casting with a line {half.use.word.name} that stands as this does, {want}",
        1.0,
        2.0,
    )


def _unlike(piece: Piece, one: Half, two: Half) -> Iterator[Verdict]:
    """Clauses in which two halves differ that both have a length of."""
    for take in one.use.word.takes:
        both = [half.use.arguments.get(take.name) for half in (one, two)]
        if take.kind is not Kind.LENGTH or take.goes_with or None in both:
            continue
        a, b = (float(said.value) for said in both if said is not None)
        if abs(a - b) > DIFFERS and any(said.given for said in both if said is not None):
            first, second = (piece.name_of(half.feature) for half in (one, two))
            yield Verdict(
                f"{second} does not fit {first}: its '{take.name}' is another",
                two.feature,
                mm(b),
                mm(a),
                f"say '{take.name} {mm(a)}' on its line too",
                b,
                a,
                key=take.name,
                keys=(take.name,),
                others=(one.feature,),
            )


def idle_joint(piece: Piece) -> Iterator[Verdict]:
    """Joints of links that no other turns in, and lines of links that do not meet."""
    ends: dict[str, list[tuple[int, Floats]]] = {name: [] for name in LINK_ENDS}
    for feature in piece.features:
        name = feature.name.rpartition(".")[2]
        if name in ends and feature.body is None and _made(piece, feature.index, name):
            ends[name] += [(feature.index, frame[:, 3]) for frame in feature.frames]
        elif feature.source is not None:
            for name, frames in link_ends(feature).items():
                ends[name] += [(feature.index, frame[:, 3]) for frame in frames]
    for mine, other, part in ((*LINK_ENDS, "fork"), (*LINK_ENDS[::-1], "tongue")):
        spots = np.array([at for _, at in ends[other]]).reshape(-1, 3)
        ways = [_nearest(spots, at) for _, at in ends[mine]]
        far = [float(np.linalg.norm(way)) for way in ways]
        bounds = [piece.bound("idle-joint", "most") * _play(piece, feature) for feature, _ in ends[mine]]
        idle = [k for k, off in enumerate(far) if above(off, bounds[k])]
        many = len(idle) >= MANY * len(far) and len(far) > 2
        for k in idle:
            joint, at = ends[mine][k]
            yield _idle(piece, joint, at, part, ways[k], many, bounds[k])


def _made(piece: Piece, feature: int, name: str) -> bool:
    """Whether a joint has its fork (at its left end) or its tongue (at its right one)."""
    use = piece.call(feature).within[-1] if piece.call(feature).within else None
    without = "tongue" if name == LINK_ENDS[0] else "fork"
    return use is not None and not (without in use.arguments and use.arguments[without].value)


def _play(piece: Piece, feature: int) -> float:
    """The play of a joint round its pin, mm."""
    use = piece.call(feature).within[-1] if piece.call(feature).within else None
    return float(use.arguments["gap"].value) if use is not None and "gap" in use.arguments else PLAY


def _nearest(spots: Floats, at: Floats) -> Floats:
    """The way (3,) from a spot to the nearest of others (n, 3); without any, infinitely far."""
    ways = spots - at
    return ways[np.linalg.norm(ways, axis=1).argmin()] if len(ways) else np.full(3, np.inf)


def _idle(
    piece: Piece, feature: int, at: Floats, part: str, way: Floats, many: bool, bound: float
) -> Verdict:
    name, off = piece.name_of(feature), float(np.linalg.norm(way))
    if abs(way[2]) > LEVEL * off and np.isfinite(off):
        return Verdict(
            f"the pins of {name} do not lie at one height",
            feature,
            f"{mm(off)} from that of the next link",
            f"{mm(bound)} or less",
            f"write gap {rounded_up(off * _play(piece, feature) / bound)} on its line, more play round its "
            "pin; or say one 'deep' for all, in metal of each",
            off,
            bound,
            keys=("deep",),
            place=place(at),
        )
    use = piece.call(feature).within[-1] if piece.call(feature).within else None
    pitch = use.arguments["pitch"].value if use is not None and "pitch" in use.arguments else 0.0
    meet = f"stand the links 'every {pitch:.4g} mm', as their joint does, or leave 'every' out"
    other = ", tongue" if part == "fork" else ""
    close = (
        f"let half of a clasp turn in it: a casting with a line box-clasp{other}, joins {asked(name)}; or "
        f"make the end link by itself, its joint with '{'tongue' if part == 'fork' else 'fork'}' alone"
    )
    return Verdict(
        f"nothing turns in the {part} of {name}",
        feature,
        "no other joint" if not np.isfinite(off) else f"the nearest {mm(off)} off",
        "a tongue in each fork, round its pin",
        meet if many and pitch else close,
        off if np.isfinite(off) else 0.0,
        bound,
        place=place(at),
    )
