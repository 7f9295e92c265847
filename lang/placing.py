"""The placing clauses common to all features that have a place."""

from __future__ import annotations

from types import MappingProxyType

from .words import Kind, Take

# Where the copies stand, how they are laid out: one of each at most.
GROUNDS = "at", "under", "on", "along", "upon"
_PATTERNS = "row", "circle", "grid"


def _others(name: str, names: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(other for other in names if other != name)


def _ground(name: str, kind: Kind, help: str, beside: str = "") -> Take:
    return Take(name, kind, help, not_with=_others(name, tuple(one for one in GROUNDS if one != beside)))


def _pattern(name: str, kind: Kind, help: str, parts: tuple[int, ...] = ()) -> Take:
    others = _others(name, _PATTERNS)
    return Take(name, kind, help, parts=parts, least=1, not_with=others)


# `every` is a size of one member (the pitch) or two (right, up); `row` and `circle` count.
PLACING: tuple[Take, ...] = (
    _ground("at", Kind.PLACES, "the places it stands at, one copy each", "on"),
    _ground(
        "under", Kind.PART,
        "its face lies at the height of that part, as a plate under a row of stones: face at their girdles",
    ),
    _ground(
        "on",
        Kind.PART,
        "it stands on the real face of that part, as it is cut so far, looking as the face does there: "
        "'right' and 'up' go along the face, on a band round the finger and along it; with 'at', on a flat "
        "face straight below or above those places",
        "at",
    ),
    Take(
        "around", Kind.ANGLE,
        "how far round a band from its head, to the right; of what hangs, how far round the ring it hangs in "
        "from where that is lowest",
        goes_with=("on", "hangs-in"),
    ),
    Take(
        "both-sides", Kind.FLAG,
        "once more as far round, or moved, to the other side, as its mirror image: both shoulders in "
        "one line, or an eye at either side: right 9 mm, both-sides; along a path its "
        "stretch once more, as far the other way from where the path starts",
        goes_with=("around", "right", "left", "stretch"),
    ),
    Take("right", Kind.LENGTH, "moved to the right"),
    Take("left", Kind.LENGTH, "moved to the left"),
    Take("up", Kind.LENGTH, "moved up"),
    Take("down", Kind.LENGTH, "moved down"),
    Take("out", Kind.LENGTH, "moved out, toward you"),
    Take("inward", Kind.LENGTH, "moved inward, away from you"),
    Take(
        "turn", Kind.ANGLE,
        "turned anti-clockwise as you look at it; what is put at its places turns with it",
    ),
    Take(
        "tilt", Kind.ANGLE,
        "turned about the line that points right: its top comes toward you, so that its face looks down",
    ),
    Take(
        "lean", Kind.ANGLE,
        "turned about the line that points up: its right side goes away from you, so it looks to the right",
    ),
    Take("swivel", Kind.ANGLE, "each copy swivelled anti-clockwise where it stands"),
    _pattern("row", Kind.COUNT, "so many copies in a row to the right"),
    Take(
        "anchor", Kind.COUNT,
        "which of the row stands at the place, counted from the left: anchor 1 begins the row there", least=1,
        goes_with=("row",),
    ),
    Take(
        "every", Kind.SIZE, "how far apart in a row, grid or field upon a face, middle to middle",
        parts=(1, 2), over=0.0, goes_with=("row", "grid", "upon"),
    ),
    _pattern("circle", Kind.COUNT, "so many copies round a circle"),
    Take("radius", Kind.LENGTH, "the radius of the circle", over=0.0, goes_with=("circle",)),
    Take("start", Kind.ANGLE, "the angle of the first copy of the circle", goes_with=("circle",)),
    _pattern("grid", Kind.COUNTS, "columns x rows of copies", (2,)),
    Take(
        "staggered", Kind.FLAG, "every other row of a grid moved half a step, one copy fewer",
        goes_with=("grid",),
    ),
    _ground(
        "upon",
        Kind.PART,
        "the part whose face they are spread upon, 'every' so far apart, "
        "'inset' from its edge, facing as the face does there; stones leave room for those laid before",
    ),
    Take(
        "bordered",
        Kind.FLAG,
        "the first rows of a field follow the edge of a flat face, or both edges of a band, the next ones "
        "them",
        goes_with=("upon",),
    ),
    _ground("along", Kind.PATH, "the path the copies stand along"),
    Take(
        "fit", Kind.LENGTH, "even copies, as near this pitch as closes exactly", over=0.0,
        goes_with=("along",), not_with=("number",),
    ),
    Take(
        "number", Kind.COUNT,
        "so many copies along the path; the first and the last at the ends of an open one, or of its stretch",
        least=1, goes_with=("along",),
    ),
    Take(
        "inset",
        Kind.LENGTH,
        "how far inside the path, or the edge of the face, the middles of the copies stand: "
        "for a stone half its width and the metal to be left beside it",
        goes_with=("along", "upon"),
    ),
    Take(
        "stretch",
        Kind.ANY,
        "only a stretch of the path of 'along', or of the way round a band of 'upon', in per cent "
        "from its start or head: stretch -15 % to 15 %",
        goes_with=("along", "upon"),
    ),
)

PLACING_BY_NAME = MappingProxyType({take.name: take for take in PLACING})
