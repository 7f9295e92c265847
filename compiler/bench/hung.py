"""One loop hung in another: where what hangs comes to stand, free to swing. Lengths mm."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ...lang.bench import Call
from ...lang.placing import PLACING
from ...lang.words import Kind, Take
from ..geometry import frames as fr
from ..geometry.circle import circle_near
from .feature import Feature, Lines
from .linked import chain_links, ends_upright, is_chain, link_at, link_for
from .roles import Role
from .slid import Through, straps
from .worn import is_ear_wire, worn_aside

if TYPE_CHECKING:
    from .laid import Laid

ROOM = 0.08  # between the two wires: the play of a ring in its neighbour
EVEN = 0.02  # of its radius, how round and how flat a ring of wire is
FLAT = 0.7  # cosine to a ring's axis of the way its line looks, where its section lies flat
OVER, NEAR = 3.5, 0.2  # of its radius: how long an open ring is at least, how near its wire is below
LEVEL = 0.01  # loops within this height of the lowest one are as low
SQUARE = 0.9  # cosine within which a loop looks along the wire it hangs on
OPPOSITE = -1.0 + 1e-6  # of a unit, what looks straight down
STAND = "stand"  # the clause of a word that stands its loop on edge, tilted by a right angle
DRILLED = "a ring goes through a drilled hole, as in: drill eye: at face of tag, up 6 mm, across 2 mm"
BANDS = (
    "bands are cast side by side, as with 'right 26 mm' in place of 'hangs-in': one is sawn open, put "
    "through the other and soldered"
)
ROUND = "right", "top", "left", "bottom"  # as they follow one another round a part
DOWN = np.array([0.0, -1.0, 0.0])

HANGS_IN = Take(
    "hangs-in",
    Kind.PART,
    "a loop, a ring, a drilled hole or a cable chain it hangs in, by its own highest loop, or hole or ring "
    "of wire where it has none: the lowest one of that part, each one of a line of several; its place is "
    "found, and it swings free; a jump ring in a loop at the top of what it is to carry stands above; one of "
    "several in a ring hangs farther round it: around 40 deg, and with both-sides once more as far the other "
    "way; so in another link of a chain, the nearest to that; a pendant whose loop or strap bail a chain "
    "runs through slides on that, at its lowest place",
    not_with=tuple(take.name for take in PLACING if take.name not in ("around", "both-sides")),
)


def openings(feature: Feature, outer: np.ndarray | None = None) -> Iterator[tuple[Feature, np.ndarray]]:
    """Loops of a feature and of its parts, and where each stands, (n, 3, 4); of a copy, those of what it
    repeats."""
    outer = fr.identity() if outer is None else outer
    if feature.opening is not None:
        yield feature, fr.compose(outer, feature.frames)
    inner = fr.compose(outer, feature.frames) if feature.source is not None else outer
    parts = (feature.source,) if feature.source is not None else feature.members.values()
    for part in parts:
        if isinstance(part, Feature):
            yield from openings(part, inner)


def own_loops(features: Iterable[Feature], holes: bool = False) -> Iterator[tuple[Feature, np.ndarray]]:
    """Loops among the lines of a part under way, and where each stands; without any, drilled ``holes``."""
    features = list(features)
    mine = (one for one in features if one.opening is not None or one.source is not None)
    loops = [loop for one in mine for loop in openings(one)]
    yield from loops or (_unlooped(features) if holes else ())


def _unlooped(features: list[Feature]) -> list[tuple[Feature, np.ndarray]]:
    """What serves where there is no loop: holes drilled through, else plain rings of wire, else the ends of
    links that hang straight down."""
    return [*eyes(features)] or [*rings(features)] or [(one, at[None]) for one, at in ends_upright(features)]


def eyes(features: Iterable[Feature]) -> Iterator[tuple[Feature, np.ndarray]]:
    """Holes drilled through, as loops of no wire, half way through the metal."""
    for feature in features:
        if feature.eye is not None:
            across, deep = feature.eye()
            middle = fr.compose(feature.frames, fr.shifted(out=-deep))
            yield replace(feature, opening=(across, 0.0)), middle
        yield from eyes(one for one in feature.members.values() if isinstance(one, Feature))


def rings(features: Iterable[Feature]) -> Iterator[tuple[Feature, np.ndarray]]:
    """Plain rings of wire, round, closed or open above as a hoop is, as loops, and where each lies."""
    for feature in features:
        wire = feature.body is not None and {"path", "thick", "wide"} <= feature.offers.keys()
        path = feature.look("path") if wire else None
        for line in path.lines if isinstance(path, Lines) else ():
            middle, axis, _ = circle_near(line.points)
            go = line.points - middle
            far = np.linalg.norm(go, axis=1)
            least = EVEN * far.mean()
            round_ = np.ptp(far) < least and np.abs(go @ axis).max() < least
            if round_ and (line.closed or _hangs_below(line.points, middle, axis, float(far.mean()))):
                lies = abs(float((line.outs * axis).sum(axis=1).mean())) > FLAT
                thick, wide = (float(feature.look(key).value) for key in ("thick", "wide"))
                reach, side = (wide, thick) if lies else (thick, wide)
                inside = 2 * (float(far.mean()) - reach / 2)
                # Flat sides bear on one another in the bend by their edges.
                inside -= side**2 / (2 * inside) if inside > side else 0.0
                frame = fr.from_axes(middle[None], go[:1] / far[0], axis[None])
                yield replace(feature, opening=(inside, max(thick, wide))), frame
        yield from rings(one for one in feature.members.values() if isinstance(one, Feature))


def _hangs_below(points: np.ndarray, middle: np.ndarray, axis: np.ndarray, radius: float) -> bool:
    """Whether an open ring goes more than half way round, and lies below where something would hang."""
    down = _down(axis)
    low = middle + radius * down
    around = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
    below = not down.any() or np.linalg.norm(points - low, axis=1).min() < NEAR * radius
    return bool(around > OVER * radius and below)


def _down(axis: np.ndarray) -> np.ndarray:
    """The way down (3,) in the plane of a ring, unit; zeros where it lies flat."""
    down = DOWN - (DOWN @ axis) * axis
    size = np.linalg.norm(down)
    return down / size if size > 0.2 else np.zeros(3)


def hung(
    call: Call, own: Iterable[tuple[Feature, np.ndarray]], bench: Laid, alone: bool = False,
) -> np.ndarray:
    """Frames (n, 3, 4) that carry what has the ``own`` loops to where the highest of them hangs in each loop
    of `hangs-in`: of a line of loops in all but a ``topmost`` one, else in the lowest. What is a ring
    ``alone`` turns to hang across the other, and stands above in what is topmost; what hangs in a hoop, worn
    seen edge-on, turns too."""
    host: Feature = call.get("hangs-in")
    around = call.get("around", 0.0)
    ways = (around, -around) if call.get("both-sides") else (around,)
    every = list(openings(host)) or _unlooped([host])
    of_line = host.opening is not None or host.eye is not None
    of_line = of_line or all(one.may_stand == host.name for one, _ in every)
    hosts = [one for one in _single(every) if not bench.topmost(*one)] if of_line and not around else []
    places = [(one, way) for one in hosts or _lowest(every) for way in ways]
    links = [] if places else [link_at(host, way) for way in ways]
    if links and all(links):
        places = [(link[0], link[1] if around else 0.0) for link in links if link]
    if not places and is_chain(host):
        call.refuse(
            "no-loop", f"{host.name} has no link {around:g} degrees round from where it is lowest",
            "around" if call.given("around") else "hangs-in",
            remedy="say another angle, as in around 40 deg; a chain drawn straight takes it at its middle "
            "alone: draw it in a round",
        )  # fmt: skip
    high = _lowest([(f, frames) for f, frames in own], -1.0)
    for name, found in ((host.name, places), (call.name, high)):
        if not found or (found is high and len(high) > 1):
            call.refuse(
                "no-loop",
                f"{name} has no loop to hang by" if not found else f"{name} has two loops at one height",
                "hangs-in",
                remedy=BANDS if not found and _has_shank(host)
                else DRILLED if not found and found is places and host.body is None
                else "give it a jump-ring or a bail, as in: bail eye: at top of drop" if not found
                else "hang it by one of them: name that loop's line, or put one higher",
            )  # fmt: skip
    loop, frame = high[0]
    if links and not around and not alone and (slides := _slides(call, host, places[0], loop, frame)):
        return fr.rounded(fr.shifted(*slides))
    # A ring of wire may turn as it hangs; so does what looks toward the half of a hoop that is seen as worn.
    ring = 90.0 if alone or not loop.stands else -90.0 * worn_aside(bench, host)
    return fr.rounded(np.stack([
        _one(call, bench, *one, loop, frame, ring, way, alone and not any(links) and bench.topmost(*one))
        for one, way in places
    ]))  # fmt: skip


def _slides(
    call: Call, host: Feature, link: tuple[tuple[Feature, np.ndarray], float], loop: Feature, own: np.ndarray
) -> tuple[float, ...]:
    """The move (3,) that hangs a loop that stands at ``own`` on a chain that runs through it at its lowest
    ``link``; none where it goes through a link instead, being too narrow for the chain."""
    (one, at), _ = link
    down, (inside, wire) = _down(own[:, 2]), loop.opening or (0.0, 0.0)
    if abs(own[:, 2] @ at[:, 0]) < SQUARE:
        return ()
    chain = Through(host, at, loop, own, down)
    if inside < (least := chain.least(ROOM)):
        free = min((one.opening or (0.0,))[0] - 2 * ROOM, one.passes or np.inf)
        if wire > free:
            call.refuse(
                "no-loop",
                f"{host.name} does not run through {loop.name}, nor does that hang in a link of it",
                "hangs-in", seen=f"{inside:.2f} mm inside", limit=f"{least:.2f} mm or more",
                remedy=f"write inside {_tenths(least)} in the line of "
                f"{asked(_line(call, loop))}, for the chain to run through it",
            )  # fmt: skip
        return ()
    return tuple(at[:, 3] + down * chain.below(ROOM) - own[:, 3])


def _line(call: Call, loop: Feature) -> str:
    """The full name of the line of a casting that made a loop."""
    return ".".join(loop.name.split(".")[: call.name.count(".") + 2])


def _has_shank(feature: Feature) -> bool:
    """Whether a part is a ring for the finger, or holds one."""
    parts = (one for one in feature.members.values() if isinstance(one, Feature))
    return feature.shank is not None or any(_has_shank(one) for one in parts)


def all_hung(call: Call, features: Sequence[Feature], bench: Laid) -> np.ndarray:
    """Where a casting of ``features`` hangs, see ``hung``, by its loops, or holes where it has none; one that
    goes through the ear hangs in nothing."""
    metal = [one for one in features if one.body is not None]
    if any(is_ear_wire(bench, one) for one in metal):
        host = asked(call.get("hangs-in").name)
        call.refuse(
            "no-loop", f"{call.name} goes through the ear: it hangs in nothing, it carries {host}",
            "hangs-in",
            remedy=f"write {call.name} above {host}, and 'hangs-in {call.name}' on the line of {host}",
        )
    alone = len(metal) == 1 and metal[0].opening is not None
    loops = [*own_loops(features), *straps(metal, bench.lines)]
    return hung(call, loops or own_loops(features, True), bench, alone)


def _bow(hole: Feature, inside: float) -> float:
    """How far a ring of that inside bows from its top to the rims of a drilled hole it goes through, mm."""
    if hole.eye is None or hole.opening is None or hole.opening[1]:
        return 0.0
    return inside / 2 - float(np.sqrt(max((inside / 2) ** 2 - hole.eye()[1] ** 2, 0.0)))


def asked(name: str) -> str:
    """A part as a text asks for it: hook.eye is eye of hook."""
    return " of ".join(reversed(name.split(".")))


def _lowest(loops: list[tuple[Feature, np.ndarray]], sign: float = 1.0) -> list[tuple[Feature, np.ndarray]]:
    """The loops that stand lowest (with ``sign`` -1 highest), each with its one frame (3, 4)."""
    single = _single(loops)
    least = min((sign * frame[1, 3] for _, frame in single), default=0.0)
    return [(feature, frame) for feature, frame in single if sign * frame[1, 3] < least + LEVEL]


def _single(loops: Iterable[tuple[Feature, np.ndarray]]) -> list[tuple[Feature, np.ndarray]]:
    """Each loop once, with its one frame (3, 4); a part of a part is told twice."""
    every = ((feature, frame) for feature, frames in loops for frame in frames)
    return list({(feature.index, frame.tobytes()): (feature, frame) for feature, frame in every}.values())


def _one(
    call: Call, bench: Laid, host: Feature, at: np.ndarray, loop: Feature, own: np.ndarray,
    ring: float, around: float, above: bool,
) -> np.ndarray:
    """The frame (3, 4) that carries a loop that stands at ``own`` into the one at ``at``, below or ``above``
    it, or ``around`` degrees farther round; turned by ``ring`` degrees about the vertical where it has to be,
    in what is mirrored the other way."""
    swung = _swing(at)[None] if host.hangs else fr.identity()
    at = fr.compose(fr.inverse(swung[0])[None], at[None])[0]
    (wide, thick), (inside, wire) = host.opening or (0.0, 0.0), loop.opening or (0.0, 0.0)
    bows = _bow(host, inside) + _bow(loop, wide)
    for one, free, passes in ((host, wide, wire), (loop, inside, thick)):
        name = _told(call, one)
        if one is host and host.passes is not None and passes > host.passes + 1e-9:
            call.refuse(
                "no-loop", f"a wire of {passes:g} mm does not go between the links of this chain",
                "hangs-in",
                seen=f"{passes:g} mm", limit=f"{host.passes:.2f} mm or less",
                remedy=f"write wire {host.passes - 0.005:.2f} mm on its line, or make the chain thicker"
                + link_for(host, at, passes + ROOM / 2, asked(call.get("hangs-in").name)),
            )
        if free < passes + bows + 2 * ROOM:
            call.refuse(
                "no-loop", f"a wire of {passes:g} mm does not go through {name}", "hangs-in",
                seen=f"{free:g} mm inside", limit=f"{passes + bows + 2 * ROOM:.2f} mm or more",
                remedy=_wider(call, one, passes + bows + 2 * ROOM) + "or the other wire thinner",
            )
    axis = at[:, 2]
    down = _down(axis)
    if not down.any():
        call.refuse(
            "no-loop", _beside(host, at) or f"{host.name} lies flat: nothing hangs in it", "hangs-in",
            remedy=_upright(host, at, DOWN)
            or _on_edge(call.get("hangs-in"), host, at, bench.lines, _either_way(loop, own, ring, at)),
        )  # fmt: skip
    lies = np.cross(axis, down)  # along the wire it hangs on
    turns = (0.0, -ring if ring < 0 and fr.mirrored(at) else ring) if ring else (0.0,)
    turn = next((t for t in turns if abs(fr.turned(1, t)[0, :, :3] @ own[:, 2] @ lies) > SQUARE), None)
    if turn is None and _beside(loop, own):
        call.refuse("no-loop", _beside(loop, own), "hangs-in", remedy=_upright(loop, own, -DOWN, lies))
    if turn is None:
        aside = f", around {call.get('around'):g} deg" if call.given("around") else ""
        other = f"{_other_way(loop)}, or "
        call.refuse(
            "no-loop",
            f"{_told(call, loop)} and {_told(call, host)} look the same way: "
            "it would hang turned to the side",
            "hangs-in",
            remedy=other * bool(loop.may_stand and abs(own[:, 1] @ lies) > SQUARE)
            + "hang a ring between: write jump-ring link: hangs-in "
            f"{asked(call.get('hangs-in').name)}{aside}, wire 0.8 mm, "
            f"inside {max(2.0, thick + wire + 0.6):.1f} mm, bought, and let it hang in link",
        )
    middle = at[:, 3] + (-down if above else down) * ((wide + inside) / 2 - bows - ROOM)
    back, there = fr.shifted(*(-own[:, 3])), fr.shifted(*middle)
    stands = fr.compose(fr.compose(there, fr.turned(1, turn)), back)
    # Round the ring it hangs in, to the right; of one seen edge-on, toward you.
    side = np.sign(axis[2]) if abs(axis[2]) > EVEN else -np.sign(axis[0])
    beside = fr.compose(at[None], fr.turned(2, float(side) * around))
    return fr.compose(swung, fr.compose(fr.compose(beside, fr.inverse(at)[None]), stands))[0]


def _other_way(loop: Feature) -> str:
    """What turns a loop that may stand on edge or lie flat to the other of the two."""
    line = f"the line of {asked(loop.may_stand)}"
    return f"leave '{STAND}' out in {line}" if loop.on_edge else f"say '{STAND}' on {line}"


def _either_way(loop: Feature, own: np.ndarray, ring: float, at: np.ndarray) -> str:
    """What else is to be written where the loop at ``at`` (3, 4) that another, at ``own``, is to hang in is
    stood on edge: that one turned too, where the two would then look the same way."""
    axis = fr.compose(at[None], fr.turned(0, 90.0))[0, :, 2]
    lies = np.cross(axis, _down(axis))
    if ring or not loop.may_stand or abs(own[:, 1] @ lies) < SQUARE:
        return ""
    return f"; then {_other_way(loop)}"


def _told(call: Call, loop: Feature) -> str:
    """What to call a loop: by the text's own line of it, a link by its chain."""
    part = call.get("hangs-in")
    if _of_chain(part, loop):
        return f"a link of {asked(part.name)}"
    return asked(loop.may_stand or loop.name)


def _of_chain(part: Feature, loop: Feature) -> bool:
    own = loop.name.startswith(f"{part.name}.")
    return own and any(loop.name == one.name for one, _ in chain_links([part]))


def _wider(call: Call, loop: Feature, least: float) -> str:
    """What makes a loop, or the links of a chain, ``least`` mm wide inside."""
    part, wire = call.get("hangs-in"), (loop.opening or (0.0, 0.0))[1]
    if _of_chain(part, loop):
        return f"write wide {_tenths(least + 2 * wire)} in the line of {asked(part.name)}, "
    line = loop.may_stand or (loop.name if loop.word == "jump-ring" else "")
    if line and wire:
        return f"write inside {_tenths(least)} in the line of {asked(line)}, "
    return f"make {asked(loop.name)} wider inside, "


def _tenths(least: float) -> str:
    """A length for a text, never below ``least`` mm."""
    return f"{np.ceil(10 * least - 1e-6) / 10:.1f} mm"


def _on_edge(part: Feature, loop: Feature, at: np.ndarray, lines: Sequence[Call], too: str) -> str:
    """What stands up a ``loop`` that lies flat at ``at`` (3, 4), of the ``part`` that something is to hang
    in: all of a part made in a block, or of the hoop it stands on, that side below; ``too``, what else is to
    be written where it stands up by itself."""
    (_, stood), turn = _stands_at(loop), 90
    if part.members and part.index >= 0:
        name, turn = part.name, 90 if at[2, 3] >= part.frames[:, 2, 3].mean() else -90
    elif any(Role.EAR_WIRE in one.roles and one.name.startswith(f"{stood}.") for one in lines):
        name = stood
    elif loop.may_stand and not loop.on_edge:
        return _other_way(loop) + too
    else:
        name = asked(part.name)
    return f"say 'tilt {turn} deg' on the line of {name}, so that it stands on edge"


def _beside(loop: Feature, at: np.ndarray) -> str:
    """What is told of a loop that stands on edge at a left or a right, its hole looking up; "" of others."""
    if not loop.on_edge or not _asked(loop) or abs(at[1, 2]) < SQUARE or abs(at[0, 0]) < SQUARE:
        return ""
    side = "left" if at[0, 0] < 0 else "right"
    return f"{loop.name} stands at the {side}, its hole looking up: nothing hangs by it there"


def _upright(loop: Feature, at: np.ndarray, way: np.ndarray, lies: np.ndarray | None = None) -> str:
    """Where a loop on edge that stands at a side is to stand, for its place to look a ``way`` (3,), and its
    hole not along what it hangs on, which ``lies`` so (3,)."""
    if not _beside(loop, at):
        return ""
    name, part = _asked(loop)
    part = asked(part.removeprefix(f"{loop.may_stand.rpartition('.')[0]}."))
    turns = 1 if np.cross(at[:, 0], way)[2] > 0 else -1
    there = ROUND[(ROUND.index(name) + turns) % 4]
    looks = "up" if way[1] > 0 else "down"
    across = lies is not None and abs(lies[0]) < SQUARE
    flat = f", without '{STAND}'" if across else ""
    return (
        f"write at {there} of {part} in the line of {asked(loop.may_stand)}{flat}: places turn with their "
        f"part, and that one looks {looks}"
    )


def _asked(loop: Feature) -> tuple[str, ...]:
    """The side and the part whose end a loop stands at; of one at another place nothing."""
    name, part = _stands_at(loop)
    return (name, part) if name in ROUND else ()


def _stands_at(loop: Feature) -> tuple[str, str]:
    """The place, and the part that it is of, that a loop was asked to stand at."""
    name, _, part = loop.asked.partition(" of ")
    return name, part


def _swing(at: np.ndarray) -> np.ndarray:
    """The turn (3, 4) about a ring's spot from straight below it to where it hangs, drawn aside."""
    up = at[:, 1]
    axis = np.cross((0.0, 1.0, 0.0), up)
    skew = np.array([[0.0, -axis[2], axis[1]], [axis[2], 0.0, -axis[0]], [-axis[1], axis[0], 0.0]])
    over = up[1] < OPPOSITE
    turn = np.diag([-1.0, -1.0, 1.0]) if over else np.eye(3) + skew + skew @ skew / (1.0 + up[1])
    return np.column_stack([turn, at[:, 3] - turn @ at[:, 3]])
