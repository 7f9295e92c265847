"""What metal and work are for, as the rules and the drawings ask for it: by role, never by the
name of a word.

A core word says its roles in its record, a word written in posy in a line `serves as …`. All that
is made inside a word has the roles of the word."""

from __future__ import annotations

from enum import Enum, StrEnum


class Role(StrEnum):
    """A purpose or a kind of work. Its value is its name in texts (`serves as ear-post`)."""

    # What a word may say of itself.
    SETTING = "setting"  # holds stones: it may lie over their girdles
    PRONG = "prong"  # stands by a girdle and is pushed over it
    RIM = "rim"  # a wall or an edge that is rubbed over the girdle
    INLAY = "inlay"  # a pocket that a flat stone is cemented in
    CHANNEL = "channel"  # walls along a row whose stones stand girdle to girdle, no metal between
    GRAINS = "grains"  # beads of metal raised to hold stones
    BEADED_EDGE = "beaded-edge"  # small beads that follow an edge
    TEXTURE = "texture"  # a face worked all over: strokes that nobody reads
    FINDING = "finding"  # its metal is wire and pads, not the walls of a casting
    EAR_POST = "ear-post"  # goes through the ear, straight
    EAR_WIRE = "ear-wire"  # goes through the ear, bent
    PIN = "pin"  # goes through cloth
    BACK_BAIL = "back-bail"  # carries the piece from behind, where it cannot hang plumb
    STRAP = "strap"  # carries the piece as a loop of wire does
    HALF = "half"  # one of two, each cast by itself, that come together at one place
    CLASP = "clasp"  # closes a chain, and lies as that does
    SPRUE = "sprue"  # where metal is poured in: none of it stays on the piece

    # What core words are.
    BODY = "body"  # a body with walls
    CUT = "cut"  # bounds walls by taking metal away, or shapes them
    CUPPED = "cupped"  # a body that may close round a hollow
    OPENS = "opens"  # leaves a hollow that another body may shut
    SHANK = "shank"  # goes round a finger or a wrist
    EVEN_SHANK = "even shank"  # of one section all round, unless it tapers
    WIRE = "wire"  # long and of one section
    BEAD = "bead"  # a ball
    SEAT = "seat"  # cut for a stone
    LIGHT_HOLE = "light hole"  # cut to the back of a stone
    HOLE = "hole"  # round and straight
    ENGRAVING = "engraving"  # letters and lines, cut or raised


# Those a text may name.
SAID = (
    Role.SETTING, Role.PRONG, Role.RIM, Role.INLAY, Role.CHANNEL, Role.GRAINS, Role.BEADED_EDGE, Role.TEXTURE,
    Role.FINDING, Role.EAR_POST, Role.EAR_WIRE, Role.PIN, Role.BACK_BAIL, Role.STRAP, Role.HALF, Role.CLASP,
    Role.SPRUE,
)  # fmt: skip


class FigureOf(Enum):
    """What the figure of a clause measures on the metal it makes."""

    WALL = "wall"  # of hollow work
    ROOF = "roof"  # of hollow work, over its face
    SHELL = "shell"  # of a body that is all wall
    THICKNESS = "thickness"  # of a solid body: the least member of a size
    MASS = "mass"  # across a body that is no wall
    SECTION = "section"  # of wire that follows a line
    WIRE = "wire"  # of a straight wire
    OUTSIDE = "outside"  # of a round wall
    INSIDE = "inside"  # of a round wall
    PARTED = "parted"  # of the room between two strands of a body, at its head
