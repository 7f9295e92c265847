"""The link of a chain that something hangs in: which of them, and to which side of it. Lengths mm."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np

from ..geometry import frames as fr
from ..geometry.circle import circle_near
from ..geometry.line import Line
from ..measures.kinds import unit
from .feature import Feature, Lines

STEEP = 0.2  # of a unit, the least that a link's side looks up or down, to the right or the left
FLAT, TWISTED = 0.02, 0.5  # of its width, how flat a link is, and one of curb, twisted to lie flat
BETWEEN = 0.75  # of its wire, what passes a link of curb between its neighbours: found by trial
ASIDE = 0.7  # of a unit, how far a link's long side looks away from the middle of the chain
STRAIGHT = 0.999  # of its spread along one way, a chain that is straight
NEAR = 15.0  # degrees round the chain from what is asked to a link
UPRIGHT = 0.99  # of a unit, how far the long way of a link looks up or down that hangs straight
LEVEL = 0.01  # degrees and mm within which two links are as near

LINK_ENDS = "left-end", "right-end"  # where a joint of links turns, as its word offers it

Link = tuple[Feature, np.ndarray]


def link_ends(feature: Feature, outer: np.ndarray | None = None) -> dict[str, np.ndarray]:
    """Where the joints of a part turn, left and right: frames (n, 3, 4) by name; of a copy, those of what it
    repeats."""
    outer = fr.identity() if outer is None else outer
    own = feature.members
    found = {name: fr.compose(outer, own[name].frames) for name in LINK_ENDS if name in own}
    again = feature.source is not None
    inner = fr.compose(outer, feature.frames) if again else outer
    for part in (feature.source,) if again else own.values():
        for name, frames in link_ends(part, inner).items() if isinstance(part, Feature) else ():
            found[name] = np.concatenate([found[name], frames]) if name in found else frames
    return found


def link_at(host: Feature, around: float) -> tuple[Link, float] | None:
    """The link of a chain, as a loop and where it stands (3, 4), nearest ``around`` degrees from where the
    chain is lowest, to the right, and its own angle there; None where no link is near that.

    Things hang from its long side that looks away from the middle of the chain; of a straight one, down."""
    found = chain_links([host])
    if not found:
        return None  # as of what is no chain
    spots = np.array([frame[:, 3] for _, frame in found])
    go = spots - spots.mean(axis=0)
    spread = np.linalg.svd(go, compute_uv=False) ** 2
    bent = len(spots) > 2 and spread[0] < STRAIGHT * spread.sum()
    away = spots - circle_near(spots)[0] if bent else np.tile([0.0, -1.0, 0.0], (len(spots), 1))
    away = unit(away)
    kept = [k for k, (_, frame) in enumerate(found) if abs(frame[:, 1] @ away[k]) > ASIDE]
    turned = {k: _angle(found[k][1], away[k]) for k in kept}
    off = {k: abs((turned[k][1] - around + 180.0) % 360.0 - 180.0) for k in kept}
    near = {k: (round(off[k] / LEVEL), round(float(np.linalg.norm(go[k])) / LEVEL)) for k in kept}
    best = min(kept, key=lambda k: (*near[k], -spots[k, 0]), default=None)
    if best is None or off[best] > NEAR:
        return None
    frame, angle = turned[best]
    return (found[best][0], frame), angle


def ends_upright(features: Iterable[Feature]) -> list[Link]:
    """The rounded ends of the links of a chain that hangs straight down, as loops and where each stands, the
    chain free to turn about its length; none of any other."""
    found = chain_links(features)
    if not found or any(abs(frame[1, 0]) < UPRIGHT for _, frame in found):
        return []
    loops = []
    for link, frame in found:
        inside, wire = link.opening or (0.0, 0.0)
        far = max((_long(link, frame) - inside - wire) / 2, 0.0)
        # At its end a link of cable has no neighbour.
        turned = replace(link, stands=False, passes=link.passes if _is_curb(link) else None)
        loops += [(turned, fr.compose(frame[None], fr.shifted(right=way * far))[0]) for way in (1.0, -1.0)]
    return loops


def _long(link: Feature, frame: np.ndarray) -> float:
    """How long the middle line of the wire of a link is that stands at ``frame`` (3, 4), mm."""
    path = link.look("path")
    assert isinstance(path, Lines)
    nearest = min(path.lines, key=lambda line: float(np.linalg.norm(line.points.mean(axis=0) - frame[:, 3])))
    return float(np.ptp(nearest.points @ frame[:, 0]))


def is_chain(host: Feature) -> bool:
    """Whether a part has links that things hang in."""
    return next(_links([host]), None) is not None


def _angle(frame: np.ndarray, away: np.ndarray) -> tuple[np.ndarray, float]:
    """A link's frame with its down the side that looks ``away`` (3,), and how far round from below."""
    side = frame[:, 1] * (1.0 if frame[:, 1] @ away < 0 else -1.0)
    turned = fr.from_axes(frame[None, :, 3], np.cross(side, frame[:, 2])[None], frame[None, :, 2])[0]
    return turned, float(np.degrees(np.arctan2(-side[0], side[1])))


def link_wires(features: Iterable[Feature]) -> Iterator[tuple[Feature, Line, float]]:
    """The closed wires of chains: their lines of work, their middle lines and how thick they are."""
    for feature in features:
        wire = feature.body is not None and {"path", "thick", "wide"} <= feature.offers.keys()
        path = feature.look("path") if wire else None
        lines = path.lines if isinstance(path, Lines) and len(path.lines) > 1 else ()
        for line in (one for one in lines if one.closed):
            yield feature, line, float(max(feature.look(key).value for key in ("thick", "wide")))
        yield from link_wires(one for one in feature.members.values() if isinstance(one, Feature))


def chain_links(features: Iterable[Feature]) -> list[Link]:
    """Closed loops of wire, flat or twisted as of curb, longer than wide, that do not lie: x the long way."""
    return list(_links(features))


def _links(features: Iterable[Feature]) -> Iterator[Link]:
    for feature, line, thick in link_wires(features):
        axes = np.linalg.svd(line.points - line.points.mean(axis=0), full_matrices=False)[2]
        own = line.points @ axes.T
        long, broad, high = np.ptp(own, axis=0)
        axis = axes[2] * (1.0 if axes[2, 2] >= 0 else -1.0)
        if high < TWISTED * broad and np.hypot(*axis[[0, 2]]) > STEEP:
            middle = (own.min(axis=0) + own.max(axis=0)) / 2 @ axes
            room = BETWEEN * thick if high > FLAT * broad else _between(feature, middle, long + thick)
            loop = replace(feature, opening=(float(broad) - thick, thick), passes=room)
            yield loop, fr.from_axes(middle[None], axes[:1], axis[None])[0]


def link_for(link: Feature, frame: np.ndarray, wire: float, chain: str) -> str:
    """What has a ``wire`` go between links of a ``chain`` of cable beside one at ``frame``; "" of curb."""
    own = link.opening[1] if link.opening else 0.0
    if link.passes is None or _is_curb(link):
        return ""
    return f"; or write link {_long(link, frame) + own + wire - link.passes:.2f} mm in the line of {chain}"


def _is_curb(link: Feature) -> bool:
    """Whether a link of a chain is twisted to lie flat."""
    wire = link.opening[1] if link.opening else 0.0
    return link.passes is not None and abs(link.passes - BETWEEN * wire) < LEVEL


def _between(feature: Feature, middle: np.ndarray, long: float) -> float | None:
    """What passes a link of cable ``long`` mm outside between its neighbours, half way from it to the next
    that lies as it does, mm; None of a lone one."""
    path = feature.look("path")
    assert isinstance(path, Lines)
    off = np.linalg.norm([line.points.mean(axis=0) - middle for line in path.lines], axis=1)
    return float(np.sort(off)[1]) - long if len(off) > 1 else None
