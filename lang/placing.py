"""The placing clauses common to all features that have a place."""

from __future__ import annotations

from types import MappingProxyType

from .words import Kind, Take

# `every` is a size of one member (the pitch) or two (right, up); `line` and `circle` count.
PLACING: tuple[Take, ...] = (
    Take("at", Kind.PLACES, "the places it stands at, one copy each"),
    Take("under", Kind.FEATURE, "the feature it stands under, face level with its spot"),
    Take("right", Kind.LENGTH, "moved to the right"),
    Take("left", Kind.LENGTH, "moved to the left"),
    Take("up", Kind.LENGTH, "moved up"),
    Take("down", Kind.LENGTH, "moved down"),
    Take("out", Kind.LENGTH, "moved out, to the onlooker"),
    Take("inward", Kind.LENGTH, "moved in, from the onlooker"),
    Take("turn", Kind.ANGLE, "turned about the out axis, against the clock"),
    Take("tilt", Kind.ANGLE, "turned about the right axis"),
    Take("lean", Kind.ANGLE, "turned about the up axis"),
    Take("spin", Kind.ANGLE, "each copy turned about its own out axis"),
    Take("line", Kind.COUNT, "so many copies in a row to the right", least=1),
    Take("every", Kind.SIZE, "the pitch of a line, grid or circle", parts=(1, 2), over=0.0),
    Take("circle", Kind.COUNT, "so many copies round a circle", least=1),
    Take("radius", Kind.LENGTH, "the radius of the circle", over=0.0),
    Take("start", Kind.ANGLE, "the angle of the first copy of the circle"),
    Take("grid", Kind.COUNTS, "columns x rows of copies", parts=(2,), least=1),
    Take("staggered", Kind.FLAG, "every other row of a grid half a pitch over, one copy fewer"),
    Take(
        "upon",
        Kind.FEATURE,
        "the feature whose face they are spread upon, `every` so far apart, "
        "`inset` from its edge, facing as the face does there",
    ),
    Take("along", Kind.LINE, "the line the copies stand along"),
    Take(
        "part",
        Kind.ANY,
        "only a part of the line of `along`, or of the way round a band of `upon`, in shares "
        "from its start or head: part -15 % to 15 %",
    ),
    Take("fit", Kind.LENGTH, "even copies, as near this pitch as closes exactly", over=0.0),
    Take("number", Kind.COUNT, "so many copies along the line", least=1),
    Take("inset", Kind.LENGTH, "how far inside the line the copies stand"),
)

PLACING_BY_NAME = MappingProxyType({take.name: take for take in PLACING})
