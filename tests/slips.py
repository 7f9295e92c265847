"""Sixty slips of a first hour: two small pieces, and what a hand new to posy does to them.

Each slip changes a right piece in one way. ``follow`` does what the remark says, as somebody would
who reads it and knows nothing else."""

from __future__ import annotations

from typing import NamedTuple

PENDANT = """\
piece "Heron bar"
  metal silver-925

measure wide = 2.2 mm
stone trio: round wide, gem garnet, row 3, every 2.5 mm
bar frame: size 10 x 5 x 2.4 mm, corner 0.5 mm, under trio
hollow back: in frame, wall 0.9 mm, roof 1.1 mm
seat: for trio, in frame
prong grips: for trio, shared, wire 0.8 mm, foot 0.9 mm
bead-line edge: along rim of frame, bead 0.45 mm, inset 0.3 mm
bail loops: at ends of frame, up 1.3 mm, out 0.2 mm, wire 1.2 mm, inside 2.2 mm
"""
RING = """\
piece "Quay ring"
  metal gold-585-yellow

band shank: finger "us 7", wide 3 mm, thick 1.9 mm, profile court
stone centre: round 5 mm, gem sapphire, at top of shank, out 3.2 mm
basket head: for centre, count 4, wire 1 mm, foot 3.5 mm
bore: of shank
"""


class Slip(NamedTuple):
    """One slip: ``old`` written as ``new``; ``told`` is part of the message (empty: nothing is wrong
    with it), ``mark`` what the remark is worth: 3 place, reason and a remedy that works, 2 of the
    three two, 1 the place alone, 0 nothing or a wrong lead."""

    name: str
    old: str
    new: str
    told: str
    mark: int = 3
    ring: bool = False

    @property
    def text(self) -> str:
        """The piece with the slip."""
        whole = RING if self.ring else PENDANT
        assert self.old in whole, self.name
        return whole.replace(self.old, self.new)


SLIPS = (
    Slip("a comma for the point", "wall 0.9 mm", "wall 0,9 mm", "a decimal point belongs"),
    Slip("the same without blanks", "round wide", "round 2,2mm", "a decimal point belongs"),
    Slip("no unit", "wall 0.9 mm", "wall 0.9", "has no unit"),
    Slip("the unit on the first alone", "10 x 5 x 2.4 mm", "10 mm x 5 x 2.4", "after its last figure"),
    Slip("no colon", "bar frame: size", "bar frame size", "a colon is missing"),
    Slip("clauses at two depths", "hollow back: in frame, wall 0.9 mm, roof 1.1 mm",
         "hollow back\n  in frame\n     wall 0.9 mm\n  roof 1.1 mm", "takes no lines below it"),
    Slip("claw for prong", "prong grips", "claw grips", "here it is prong"),
    Slip("shank for band", "band shank", "shank shank", "here it is band", ring=True),
    Slip("a word of another tongue", "stone trio", "Stein trio", "here it is stone"),
    Slip("the plural of a word", "stone trio", "stones trio", "there is no word 'stones'"),
    Slip("a finger size of two scales", '"us 7"', "7", "finger is a text in quotes", ring=True),
    Slip("no blank before the unit", "wall 0.9 mm", "wall 0.9mm", ""),
    Slip("curly quotes", '"Heron bar"', "“Heron bar”", "means nothing here"),
    Slip("a fraction of an inch", "wire 1.2 mm", "wire 1/21 in", ""),
    Slip("a share without %", "wire 0.8 mm, foot", "wire 0.8 mm, bite 20, foot", "has no %"),
    Slip("used above its line", PENDANT.splitlines()[4] + "\n" + PENDANT.splitlines()[5],
         PENDANT.splitlines()[5] + "\n" + PENDANT.splitlines()[4], "is named further down"),
    Slip("one name for two things", "hollow back: in frame", "ball frame: across 1 mm, up 8 mm\nhollow back: in frame",
         "already names something"),
    Slip("a stone too large", "round wide", "round 2.6 mm", "two stones overlap"),
    Slip("letters swapped", "for trio, in", "for tiro, in", "there is no name 'tiro'"),
    Slip("a seat before there is metal", PENDANT.splitlines()[5] + "\n",
         "seat first: for trio\n" + PENDANT.splitlines()[5] + "\n", "finds no metal above"),
    Slip("in forgotten", "hollow back: in frame", "hollow back: frame", "without a clause before it"),
    Slip("of forgotten", "at ends of frame", "at ends frame", "'of' is missing"),
    Slip("a part in the singular", "at ends of frame", "at end of frame", "offers no 'end'"),
    Slip("the inch mark", "size 10 x 5 x 2.4 mm", 'size 0.4" x 0.2" x 0.1"', "an inch is written in"),
    Slip("a metal in words", "metal silver-925", 'metal "14k yellow gold"', ""),
    Slip("a bare karat", "metal silver-925", "metal 14k", "no one metal is called '14k'"),
    Slip("sterling", "metal silver-925", "metal sterling", ""),
    Slip("a stone by its short name", "gem garnet", "gem CZ", ""),
    Slip("an equals sign", "wall 0.9 mm", "wall = 0.9 mm", "no equals sign"),
    Slip("a colon in every clause", "wall 0.9 mm, roof 1.1 mm", "wall: 0.9 mm, roof: 1.1 mm", "a colon means nothing"),
    Slip("* for x", "10 x 5 x 2.4 mm", "10 * 5 * 2.4 mm", "takes 3 figures"),
    Slip("a printed times sign", "10 x 5 x 2.4 mm", "10 × 5 × 2.4 mm", "means nothing here"),
    Slip("diameter", "round wide", "diameter wide", "here it is 'round'"),
    Slip("a figure in letters", "row 3", "row three", "written in digits"),
    Slip("a semicolon at the end", "roof 1.1 mm", "roof 1.1 mm;", "ends without a mark"),
    Slip("a name in two words", "frame", "main frame", "a name is one word"),
    Slip("no comma", "wire 1.2 mm, inside", "wire 1.2 mm inside", "a comma is missing"),
    Slip("// for a comment", "stone trio", "// three garnets\nstone trio", "does not start a comment"),
    Slip("a tab", "  metal", "\tmetal", "indented with a tab"),
    Slip("a finger size without quotes", '"us 7"', "us 7", "", ring=True),
    Slip("a unit in full", "2.4 mm", "2.4 millimeters", "is not a unit"),
    Slip("gauge in full", "wire 1.2 mm", "wire 16 gauge", "is not a unit"),
    Slip("a unit in full, a letter short", "2.4 mm", "2.4 milimetres", "is not a unit"),
    Slip("degrees with a letter short", "up 1.3 mm", "up 1.3 mm, turn 3 degress", "is not a unit"),
    Slip("a blank in a unit", "inside 2.2 mm", "inside 2.2 m m", "a blank stands in the unit"),
    Slip("a spot whose last figure is reckoned", "at ends of frame, up 1.3 mm", "at (5.4, wide * 1), up 0.5 mm",
         "a spot is made of lengths"),
    Slip("points of a carat", "round 5 mm", "round 50 pt", "100 points are a carat", ring=True),
    Slip("the degree sign", "under trio", "turn 0°, under trio", "means nothing here"),
    Slip("a wall too thick", "wall 0.9 mm", "wall 3 mm", "leave nothing to hollow"),
    Slip("a colon in a measure", "measure wide = 2.2", "measure wide: 2.2", "= belongs here"),
    Slip("a minus without blanks", "wall 0.9 mm", "wall wide-1.3 mm", "a hyphen, part of the name"),
    Slip("a parenthesis left open", "size 10 x", "size (4 * 2.5 mm x", "is never closed"),
    Slip("a quote left open", '"Heron bar"', '"Heron bar', "no closing quote mark"),
    Slip("no gem", ", gem garnet", "", "needs gem"),
    Slip("a capital", "bar frame", "Bar frame", "there is no word 'Bar'"),
    # Told at each of the four lines that use the name: the reason is not.
    Slip("a name once with a capital", "bar frame", "bar Frame", "there is no name 'frame'", 2),
    Slip("a gem in the plural", "gem garnet", "gem garnets", "gem cannot be 'garnets'"),
    Slip("a figure below nothing", "wall 0.9 mm", "wall -0.9 mm", "is less than nothing"),
    Slip("the unit first", "wall 0.9 mm", "wall mm 0.9", "stands before its figure"),
    Slip("no nought before the point", "wall 0.9 mm", "wall .9 mm", ""),
    Slip("a weight without a blank", "round 5 mm", "round 0.50ct", "", ring=True),
    Slip("a finger size of one letter", '"us 7"', "N", "", ring=True),
    Slip("under forgotten", ", under trio", "", "lie at the back of frame"),
    Slip("a count with a unit", "row 3", "row 3 mm", "a count, not a length"),
)

# Slips of the same kinds that were made later.
FURTHER = (
    Slip("the value before its key", "wall 0.9 mm", "0.9 mm wall", "the value stands before its key"),
    Slip("no colon and no name", "seat: for trio", "seat for trio", "a colon is missing after 'seat'"),
    Slip("a stone's name without its key", "gem garnet", "garnet", "takes no 'garnet'"),
    Slip("a profile without its key", "profile court", "half-round", "takes no 'half-round'", ring=True),
    Slip("a clause of piece at the edge", "  metal silver", "metal silver", "'metal' is a clause here"),
    Slip("a note at the edge", "  metal silver-925\n", '  metal silver-925\nnote "a gift"\n', "'note' is a clause here"),
    Slip("a clause at the edge", "bar frame: size 10 x 5 x 2.4 mm, corner 0.5 mm, under trio",
         "bar frame: size 10 x 5 x 2.4 mm, under trio\ncorner 0.5 mm", "'corner' is a clause here"),
    Slip("a cut misspelt", "round wide", "roud wide", "stone takes no 'roud'"),
    Slip("a cut by another name", "round wide", "brilliant wide", "here it is 'round'"),
    Slip("a gem of two words", "gem garnet", "gem blue topaz", "a gem is one name"),
    Slip("a trade word misspelt", "prong grips", "clwas grips", "here it is prong"),
    Slip("copies in a line", "row 3", "line 3", "here it is 'row'"),
    Slip("a finger size as a length", 'finger "us 7"', 'inside "us 7"', "inside is a length, not a text", ring=True),
    Slip("no key at all", "bar frame: size 10 x 5 x 2.4 mm", "bar frame: 10 x 5 x 2.4 mm", "begins with its key"),
    Slip("a stone's size without its cut", "round wide, gem garnet", "2.2 mm, gem garnet", "begins with its key"),
    Slip("two keys for one value", "round 5 mm", "size round 5 mm", "two names stand before this value", ring=True),
    Slip("a hole's size by its cut", "seat: for trio", "drill hole: round 1 mm, in frame\nseat: for trio", "here it is 'across'"),
    Slip("a word said as a clause", "seat: for trio", "seat: for trio, hole 1 mm, milgrain 0.4 mm", "takes no 'milgrain'", 2),
    Slip("a clause of other words", "bar frame: size", "bar frame: finger \"us 7\", size", "takes no 'finger'", 2),
)
