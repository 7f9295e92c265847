"""Round bodies that stand on their ground: tube, rod, ball, dome."""

from __future__ import annotations

from dataclasses import replace

from ...lang.bench import Argument, Call
from ...lang.placing import PLACING_BY_NAME
from ...lang.words import Kind, Take, Word
from ..bench.between_stones import between_stones
from ..bench.feature import Feature, Offer, Places, spot
from ..bench.feature import length as mm
from ..bench.piece_bench import PieceBench
from ..bench.placement import without
from ..bench.plan import Shape
from ..bench.roles import FigureOf, Role
from ..geometry.surfaces import Flat, ball_face, cap
from .bodies import BACK, flat_offers, standing_help
from .common import body, length, metal, rims
from .softening import rim_taken, tube_profile, wall_too_thin


def _tube(bench: PieceBench, call: Call) -> Feature:
    outside, inside, high = call.get("outside"), call.get("inside"), call.get("long")
    if inside >= outside - 0.02:
        call.refuse(
            "no-wall", f"a tube {outside:g} mm outside and {inside:g} mm inside has no wall", "inside",
            seen=f"wall {(outside - inside) / 2:g} mm", limit="0.01 mm or more; most metals cast from 0.8 mm",
            remedy=f"make inside smaller than {outside:g} mm",
        )
    outline = ("circle", outside)
    rim = rim_taken(call, outline, high)
    wall_too_thin(call, rim, (outside - inside) / 2)
    profile = tube_profile(inside / 2, outside / 2, high, rim)
    offers = flat_offers(outline, high, rim)
    offers["long"] = offers.pop("thick")
    offers["across"] = offers["outside"] = lambda: mm(outside)
    offers["inside"] = lambda: mm(inside)
    offers["wall"] = lambda: mm((outside - inside) / 2)
    shape, face = Shape("lathe", (profile, outside / 2)), Flat(outline, high, rim.front, ("circle", inside))
    return body(bench, call, shape, 0.0, high, offers, outline, surface=face)


def _rod(bench: PieceBench, call: Call) -> Feature:
    across, long = call.get("wire"), call.get("long")
    tip = call.get("tip", "flat")
    if tip == "round" and long < across / 2:
        call.refuse(
            "rod-too-short", f"a round tip of a rod {across:g} mm across needs {across / 2:g} mm of length",
            "long", seen=f"{long:g} mm", limit=f"{across / 2:g} mm or more",
            remedy="make it longer, or say 'tip flat'",
        )
    if call.get("between-stones"):
        stand = Places(between_stones(call, bench.stones_here(), across, long))
        plain = without(call, *PLACING_BY_NAME)
        call = replace(plain, arguments={**plain.arguments, "at": Argument(stand, call.span)})
    shape = Shape("rod", (across, long, tip))
    offers: dict[str, Offer] = {
        "tip": lambda: spot(out=long),
        "foot": lambda: spot(turn=BACK),
        "wire": lambda: mm(across),
        "long": lambda: mm(long),
    }
    return body(bench, call, shape, 0.0, long, offers)


def _ball(bench: PieceBench, call: Call) -> Feature:
    across = call.get("across")
    offers: dict[str, Offer] = {
        "centre": lambda: spot(out=across / 2),
        "across": lambda: mm(across),
        "face": lambda: spot(out=across),
    }
    shape, call = Shape("ball", (across,)), _on_its_end(call, across)
    return body(bench, call, shape, 0.0, across, offers, surface=ball_face(across))


def _on_its_end(call: Call, across: float) -> Call:
    """The line of a ball at the ends of a line: its middle lies on the end, `out` moved so far from there,
    unless it is told how far inward of its ground."""
    at = call.get("at")
    if not (isinstance(at, Places) and at.of_line) or call.given("inward"):
        return call
    return replace(call, arguments={**call.arguments, "inward": Argument(across / 2, call.span, given=False)})


def _dome(bench: PieceBench, call: Call) -> Feature:
    across, high, wall = call.get("across"), call.get("height"), call.get("wall")
    if high > across / 2 + 1e-9:
        call.refuse(
            "dome-too-high", f"a dome {across:g} mm across cannot rise {high:g} mm", "height",
            seen=f"{high:g} mm", limit=f"{across / 2:g} mm, half a ball",
            remedy="make it lower, or set it on a disc",
        )
    if wall is not None and wall >= high - 0.01:
        call.refuse(
            "no-wall", f"a wall of {wall:g} mm fills a dome {high:g} mm high", "wall", seen=f"{wall:g} mm",
            limit=f"under {high:g} mm", remedy="leave 'wall' out for a solid dome",
        )
    outline = ("circle", across)
    offers = flat_offers(outline, high)
    offers["rim"] = offers["back-rim"]
    offers["height"] = offers.pop("thick")
    offers["across"] = lambda: mm(across)
    shape = Shape("dome", (across, high, wall or 0.0))
    return body(bench, call, shape, 0.0, high, offers, outline, surface=cap(across, high))


WORDS = (
    Word(
        "tube", "A round tube standing on its end.", "shapes",
        (
            length("outside", "outside diameter", needed=True, of=FigureOf.OUTSIDE),
            length("inside", "inside diameter", needed=True, of=FigureOf.INSIDE),
            length("long", "its length", needed=True),
            *rims(),
            *metal(),
        ),
        example="tube collet: outside 5 mm, inside 3.4 mm, long 3 mm, soften 0.3 mm",
        offers={
            **standing_help("long", "its length"),
            "across": "outside diameter",
            "outside": "outside diameter",
            "inside": "inside diameter",
            "wall": "thickness of its wall",
        },
        roles=frozenset({Role.BODY, Role.CUPPED}), made_by=_tube,
    ),
    Word(
        "rod", "A straight piece of round wire standing on its end.", "shapes",
        (
            length("wire", "its diameter", needed=True, of=FigureOf.WIRE),
            length("long", "its length", needed=True),
            Take("tip", Kind.CHOICE, "shape of its upper end", default="flat", choices=("flat", "round")),
            Take(
                "between-stones", Kind.FLAG,
                "each that would stand in a stone laid so far is moved along its path into the nearest gap",
                goes_with=("along",),
            ),
            *metal(),
        ),
        example="rod post: wire 0.8 mm, long 10 mm, tip round",
        offers={
            "tip": "the middle of its upper end",
            "foot": "the middle of its lower end, looking down",
            "wire": "its diameter",
            "long": "its length",
        },
        roles=frozenset({Role.WIRE}), made_by=_rod,
    ),
    Word(
        "ball",
        "A ball, or a granule, resting on its ground; at the ends of a wire its middle lies on the end, and "
        "'out' moves it from there; with 'inward' it rests there too.", "shapes",
        (length("across", "its diameter", needed=True, of=FigureOf.MASS), *metal()),
        example="ball drop: across 4 mm",
        offers={
            "centre": "its middle",
            "face": "its highest point",
            "across": "its diameter",
        },
        roles=frozenset({Role.BEAD}), made_by=_ball,
    ),
    Word(
        "dome", "A domed disc, as from the doming block; solid, or a shell with 'wall'.", "shapes",
        (
            length("across", "its diameter", needed=True),
            length("height", "how far it rises", needed=True, of=FigureOf.MASS),
            length("wall", "makes it a shell of this thickness, open at the back", of=FigureOf.SHELL),
            *metal(),
        ),
        example="dome shell: across 14 mm, height 6 mm, wall 0.9 mm",
        offers={
            **standing_help("height", "how far it rises"),
            "face": "its highest point",
            "across": "its diameter",
        },
        roles=frozenset({Role.BODY, Role.OPENS}), made_by=_dome,
    ),
)
