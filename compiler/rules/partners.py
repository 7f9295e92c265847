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
from ..judging.digits import above, mm, rounded_up
from ..judging.figure_rule import Reading
from ..judging.halves import told_at

if TYPE_CHECKING:
    from ..judging.piece import Piece
    from ..measures.kinds import Floats

DIFFERS = 1e-6  # mm
AT_ONE = 1.0  # mm, halves farther apart are the ends of one piece of metal that springs shut
PLAY = 0.1  # mm, of a joint that says none
LEVEL = 0.7  # of the way to the next pin, up or down: the links stand right, their pins do not
MANY = 0.5  # of all joints of a line: if as many are idle, its links stand at another pitch


class Half(NamedTuple):
    """One half of a finding: how its line used its word, a feature of it, and how often it is made."""

    use: Use
    feature: int
    times: int


def lone_half(piece: Piece) -> Iterator[Reading]:
    found: dict[str, list[Half]] = {}
    for half in _halves(piece):
        found.setdefault(half.use.word.name, []).append(half)
    for halves in found.values():
        # It stands in a block beside other such blocks, or at a chain: one drawn by itself is a study.
        beside = piece.bench.block_of(halves[0].use.name) != "" and len(piece.bench.blocks) > 1
        if sum(half.times for half in halves) == 1 and (beside or piece.chains):
            yield _alone(halves[0])
        elif len(halves) == 2 and _is_one(piece, *halves):
            one, two = halves
            yield Reading(two.feature, 1.0, find="one", others=(one.feature,), words={"line": two.use.name})
        elif len(halves) == 2 and Role.CLASP in halves[0].use.word.roles:
            yield from _same(*halves)
            yield from _unlike(piece, *halves)


def _is_one(piece: Piece, one: Half, two: Half) -> bool:
    """Whether both halves stand at one place in one casting: cast so they are one lump."""
    made = {feature.name: feature for feature in piece.features}
    blocks = {piece.bench.block_of(half.use.name) for half in (one, two)}
    places = [told_at(made, half.use) for half in (one, two)]
    spots = [at[:1, :, 3] for at in places if at is not None and len(at)]
    return len(blocks) == 1 and len(spots) == 2 and bool(np.linalg.norm(spots[0] - spots[1]) < AT_ONE)


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


def _turned(half: Half) -> tuple[str, bool]:
    """The flag that makes the other half of a finding, and whether this one says it."""
    other = next((take.name for take in half.use.word.takes if take.kind is Kind.FLAG), "")
    return other, other in half.use.arguments and half.use.arguments[other].given


def _alone(half: Half) -> Reading:
    other, said = _turned(half)
    words = {"word": half.use.word.name, "with": f"without '{other}'" if said else f"with '{other}'"}
    again = (
        f"make its other half: write the line of {half.use.name} once more, {words['with']}, in a casting of "
        "its own below all lines"
    )
    into = "in" in half.use.arguments  # at another end, in another wire
    return Reading(half.feature, 1.0, bound=2.0, words=words, cure=None if into else again)


def _same(one: Half, two: Half) -> Iterator[Reading]:
    """Two halves of which both are boxes, or both tongues."""
    (other, said), (_, again) = _turned(one), _turned(two)
    if said is again:
        act, both = (f"leave '{other}' out", "both") if said else (f"say '{other}'", "neither")
        yield Reading(
            two.feature, 2.0, find="same", words={"flag": f"'{other}'", "both": both},
            others=(one.feature,), cure=f"{act} in the line of {two.use.name}",
        )  # fmt: skip


def _unlike(piece: Piece, one: Half, two: Half) -> Iterator[Reading]:
    """Clauses in which two halves differ that both have a length of."""
    for take in one.use.word.takes:
        both = [half.use.arguments.get(take.name) for half in (one, two)]
        if take.kind is not Kind.LENGTH or take.goes_with or None in both:
            continue
        a, b = (float(said.value) for said in both if said is not None)
        if abs(a - b) > DIFFERS and any(said.given for said in both if said is not None):
            yield Reading(
                two.feature, b, find="unlike", bound=a, words={"key": take.name}, others=(one.feature,),
                key=take.name, keys=(take.name,),
            )  # fmt: skip


def idle_joint(piece: Piece) -> Iterator[Reading]:
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
        idle = [
            k for k, off in enumerate(far)
            if above(off, piece.bound("idle-joint", "most") * _play(piece, ends[mine][k][0]))
        ]  # fmt: skip
        many = len(idle) >= MANY * len(far) and len(far) > 2
        for k in idle:
            yield _idle(piece, *ends[mine][k], part, ways[k], many)


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


def _idle(piece: Piece, feature: int, at: Floats, part: str, way: Floats, many: bool) -> Reading:
    name, off, play = piece.name_of(feature), float(np.linalg.norm(way)), _play(piece, feature)
    if abs(way[2]) > LEVEL * off and np.isfinite(off):
        return Reading(
            feature, off, at, find="high", scale=play, keys=("deep",),
            words={"gap": lambda bound: rounded_up(off * play / bound)},
        )  # fmt: skip
    use = piece.call(feature).within[-1] if piece.call(feature).within else None
    pitch = use.arguments["pitch"].value if use is not None and "pitch" in use.arguments else 0.0
    meet = f"stand the links 'every {pitch:.4g} mm', as their joint does, or leave 'every' out"
    other = ", tongue" if part == "fork" else ""
    close = (
        f"let half of a clasp turn in it: a casting with a line box-clasp{other}, joins {asked(name)}; or "
        f"make the end link by itself, its joint with '{'tongue' if part == 'fork' else 'fork'}' alone"
    )
    near = f"the nearest {mm(off)} off" if np.isfinite(off) else "no other joint"
    return Reading(
        feature, off if np.isfinite(off) else 0.0, at, bound=piece.bound("idle-joint", "most") * play,
        words={"end": part, "near": near}, cure=meet if many and pitch else close,
    )  # fmt: skip
