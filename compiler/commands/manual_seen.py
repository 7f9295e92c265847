"""What the commands that show a piece may be told: drawings, pictures, a page for a customer; see manual."""

from __future__ import annotations

import re

from ..page.names import STILLS
from ..picture.names import FINISHES, GROUNDS, LOOKS, RESTS
from ..terminal import options as shared
from ..terminal.forms import Command, Misuse, Option, listed, one_of

LEAST_PIXELS, MOST_PIXELS, MOST_TURNS = 64, 4096, 360


def ground(text: str) -> str:
    """A colour as #rrggbb, by name or as such."""
    given = GROUNDS.get(text, text).lower()
    if not re.fullmatch(r"#[0-9a-f]{6}", given):
        raise Misuse(f"'{text}' is no ground: write {', '.join(GROUNDS)}, or a colour such as #e8e2d8")
    return given


def metals(text: str) -> tuple[str, ...]:
    """Names of metals with commas between, each one metal, in the order given."""
    return tuple(shared.metal(one.strip()) for one in text.split(",") if one.strip())


def pixels(text: str) -> tuple[int, int]:
    """``800x600`` as a pair."""
    found = re.fullmatch(r"(\d+)x(\d+)", text.strip().lower())
    if not found:
        raise Misuse(f"'{text}' is not a size such as 800x600")
    wide, tall = int(found[1]), int(found[2])
    if not all(LEAST_PIXELS <= side <= MOST_PIXELS for side in (wide, tall)):
        raise Misuse(f"{text} is out of range: from {LEAST_PIXELS} to {MOST_PIXELS} pixels a side")
    return wide, tall


FINISHED = Option("--finished", "As it looks once its stones are set: prongs pushed over, beads spread, "
                  "rims rubbed over.", without="as it is cast", usual=False)
DRAW = Command(
    "draw",
    "Draws a piece in lines: face, side, end and corner, with figures if you like",
    "Hidden lines are left out; metal and stones are tinted in their colours. A drawing prints at "
    "the scale written on it. Nothing is drawn of a text with faults; what is wrong with the finished metal "
    "posy check --measured tells.",
    shared.PIECES,
    "An SVG file for each piece, or one sheet of all; your browser opens it. As PDF and PNG too, if asked.",
    (
        "posy draw ring.posy --figures",
        "posy draw ring.posy --stone 1 --also pdf",
        "posy draw *.posy --views corner --sheet collection.svg",
    ),
    (
        shared.SET, shared.METAL, shared.INTO,
        shared.VIEWS,
        Option("--figures", "Writes the overall measures in mm, and each stone's number as in the "
               "lists of stones.", without="no figures", usual=False),
        FINISHED,
        Option("--stone", "Draws the setting of the stone of this number instead: cut through its axis at "
               "10:1, and close up.", "NUMBER", "1", "the whole piece",
               shared.whole("no number of a stone", 10**9)),
        Option("--also", "Other files of the same drawing, with commas between: pdf, png. A browser makes "
               "them, where one is at hand.", "LIST", "pdf", "the SVG alone",
               listed("kind of file", ("pdf", "png")), ()),
        Option("--sheet", "Draws all pieces on this one sheet, each as large as its place takes.",
               "FILE.svg", "collection.svg", "a file for each piece"),
        shared.TOLERANCE, *shared.COMMON,
    ),
)  # fmt: skip

SURFACE = Option("--surface", "How the metal is finished. "
                 f"{shared.described({name: said for name, (_, said) in FINISHES.items()})}.",
                 "NAME", "satin", "polished", one_of(*FINISHES), "polished")

AS_CAST = Option(
    "--as-cast", "As it comes out of the mould: prongs straight, beads and rims not yet pushed over.",
    without="as it looks once its stones are set", usual=False,
)
SIZE = Option("--size", "Width and height of a picture in pixels.", "WIDExTALL", "1200x1200", "800x600",
              pixels, (800, 600))

PICTURE = Command(
    "picture",
    "Takes a picture of a piece in its metal and stones, as a customer sees it",
    "Metals reflect and stones refract as measured; light of several colours is not split into "
    "fire. A final picture takes about half a minute, a draft a few seconds.",
    shared.PIECES,
    "A PNG file for each piece, or one for each step of a turn.",
    (
        "posy picture ring.posy --draft",
        "posy picture ring.posy --metal silver-925,gold-750-yellow --ground slate",
        "posy picture ring.posy --rest lying --look face --surface satin --size 1200x1200",
    ),
    (
        shared.SET,
        Option("--metal", "Shows it in another metal; side by side in each of them, where several "
               "are named.", "LIST", "silver-925,gold-750-yellow", "the metal in the text",
               metals, ()),
        Option("--rest", f"How it rests. {shared.described(RESTS)}.", "HOW", "lying",
               "a ring stands, what has loops hangs, the rest lies", one_of(*RESTS)),
        Option("--look", f"From where. {shared.described(LOOKS)}.", "NAME", "face", "corner",
               one_of(*LOOKS), "corner"),
        SURFACE,
        Option("--ground", f"What it stands on: {', '.join(GROUNDS)}, or a colour such as #e8e2d8.",
               "COLOUR", "slate", "pale", ground, GROUNDS["pale"]),
        SIZE,
        Option("--turn", "Turns it once round in so many pictures.", "NUMBER", "24", "one picture",
               shared.whole(f"not a number of pictures from 2 to {MOST_TURNS}", MOST_TURNS, 2)),
        Option("--draft", "Takes it quickly and coarsely.", without="a final picture", usual=False),
        AS_CAST, shared.INTO, shared.TOLERANCE, *shared.COMMON,
    ),
)  # fmt: skip

SHOWN = Command(
    "show",
    "Writes a piece as one page to send to a customer: it turns, and opens without a network",
    "The page holds all it needs, in one file: the piece in its metal and stones, its weight and size, and "
    "the name of your workshop where bench.toml has one. It opens in the browser of a phone or a computer. "
    "Nothing of the text is in it.",
    shared.PIECES,
    "NAME.html, in the folder out beside each piece unless --into names another; with --stills PNG pictures "
    "of it too, drawn by a browser that is installed.",
    ("posy show ring.posy", "posy show ring.posy --metal gold-750-yellow --stills corner,face --into sent"),
    (
        shared.SET, shared.METAL, SURFACE, shared.INTO,
        Option("--stills", "Takes PNG pictures of it as well, with commas between. "
               f"{shared.described(STILLS)}.", "LIST", "corner,face", "no pictures",
               listed("picture", tuple(STILLS))),
        SIZE, AS_CAST,
        shared.TOLERANCE, *shared.COMMON,
    ),
)  # fmt: skip

SEEN = DRAW, PICTURE, SHOWN
"""The commands in the order one meets them."""
