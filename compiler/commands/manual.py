"""What each command may be told: the records that help, reading, README and tests are made from.

Free of numpy: `posy help` and every command read it."""

from __future__ import annotations

from ..pages.starter import KINDS, LESSONS
from ..terminal import options as shared
from ..terminal.forms import Command, Misuse, Names, Option, one_of
from .manual_cast import CAST
from .manual_kept import KEPT
from .manual_order import COST, ORDER
from .manual_seen import SEEN


def lesson(text: str) -> int:
    """The number of a lesson."""
    if text not in map(str, LESSONS):
        raise Misuse(f"there are lessons 1 to {LESSONS[-1]}, not {text}")
    return int(text)


START = Command(
    "start",
    "Writes a small piece for you to change",
    "A small piece that can be made is written, to be changed line by line. A file that is there "
    "already is never touched.",
    Names("name", "NAME", 'What the piece is called, as in "Reed bar" (written to reed-bar.posy); '
          "a folder may stand before it, as in pieces/reed-bar.", '"Reed bar"', needed=False),
    "The file NAME.posy, lesson-1.posy or bench.toml.",
    ('posy start "Reed bar"', 'posy start "Ferry ring" --of ring', "posy start --lesson 1"),
    (
        Option("--of", f"What kind of piece: {shared.described(KINDS)}.", "KIND", "ring",
               next(iter(KINDS)), one_of(*KINDS)),
        Option("--lesson", "Writes a lesson in place of a piece: a small text with what to try and "
               "what one sees, one of six.", "NUMBER", "1", "a piece", lesson),
        Option("--bench", "Writes bench.toml in place of a piece: every price a workshop may tell, with what "
               "it means, each left blank.", without="a piece"),
        shared.NO_COLOUR,
    ),
)  # fmt: skip

CHECK = Command(
    "check",
    "Reads a piece and checks it, in a blink, without making metal",
    "What only the finished metal can show (thin walls, loose pieces, stones that are not held) "
    "needs --measured, or posy make.",
    shared.PIECES,
    "Remarks: faults (the piece cannot be made so), warnings (it may fail at the bench or on the "
    "hand) and hints.",
    ("posy check ring.posy", "posy check ring.posy --measured", "posy check ring.posy --mend --apply"),
    (
        shared.SET, shared.METAL,
        Option("--measured", "Makes the metal too, and checks what only it can show. No file is "
               "written.", without="the text and the plan are checked", usual=False),
        Option("--page", "With --measured: lists all remarks, as Markdown, in the lower half of a "
               "file.", "FILE", "remarks.md", "no page"),
        Option("--strict", "Lets warnings count as faults.", without="a warning is no fault", usual=False),
        Option("--mend", "Shows what to change in the text to cure this.",
               without="no change is shown", usual=False),
        Option("--apply", "With --mend: makes the changes, then checks again.",
               without="the text stays as it is", usual=False),
        *shared.COMMON,
    ),
)  # fmt: skip

SERIES = (
    shared.SERIES,
    Option(
        "--on",
        "With --series: has it made by the machines of the Dask scheduler at this address; each "
        "needs this posy. Only for a network you trust: whoever reaches the scheduler can run "
        "programs on its machines.", "ADDRESS", "tcp://10.0.0.4:8786", "this machine",
    ),
)  # fmt: skip

MAKE = Command(
    "make",
    "Makes the metal, measures it and writes the print files",
    "The files are written all at once and only when the piece has no faults: a good file is never "
    "replaced by nothing.",
    shared.PIECES,
    "The files, in the folder out beside each piece unless --into names another; and a line for "
    "each piece with its metal, its weight in g as cast and its stones in ct.",
    (
        "posy make ring.posy",
        "posy make ring.posy --set across=2.8mm --metal gold-585-yellow --as stl,3mf --into prints",
        "posy make ring.posy --series",
    ),
    (
        shared.SET, shared.METAL, *shared.FILES, shared.TOLERANCE, *SERIES,
        Option("--strict", "Writes nothing when there are warnings.",
               without="only faults keep files from being written", usual=False),
        *shared.COMMON,
    ),
)  # fmt: skip

WEIGH = Command(
    "weigh",
    "Tells the weight in every alloy, and the stones",
    "Weights are volume times the published density of the alloy. Your caster's alloy may weigh 1 to "
    "2 % more or less: weigh a casting of it and compare. Stones are weighed by the trade's formulas "
    "and by volume.",
    shared.PIECE,
    "Weights in g as cast, before finishing; stones in ct.",
    ("posy weigh ring.posy", "posy weigh ring.posy --metal 18k", "posy weigh ring.posy --set across=3mm"),
    (
        shared.SET,
        Option("--metal", "Weighs it in another metal, by the name people use; in each of them, "
               "where several go by that name.", "NAME", "18k", "the metal in the text, and all others",
               shared.alloys, ()),
        shared.TOLERANCE, *shared.COMMON,
    ),
)

WATCH = Command(
    "watch",
    "Makes a piece anew at every save; its weight and what changed since the last save",
    "The piece and every file it takes from are watched. The weight comes as soon as there is "
    "metal, the remarks a moment later; hints are counted, and told when they are new. On a fault "
    "the last good result stands. Curves are made coarser than for printing unless --make or "
    "--tolerance is given; weights are corrected for that. Ctrl-C ends it.",
    shared.PIECE,
    "At every save: the weight in g in several metals, the stones in ct, the remarks; and the "
    "drawing out/NAME.svg, which a browser shows anew when its page is loaded again.",
    (
        "posy watch ring.posy",
        "posy watch ring.posy --page",
        "posy watch ring.posy --alloys gold,platinum-950 --make",
    ),
    (
        shared.SET, shared.METAL,
        Option("--page", "Shows the piece in a page of your browser, turning, in its metal and with its "
               "stones, beside its weight and remarks; figures can be dragged there. The address is told at "
               "the start; only this machine can reach it. PIECE may be a folder then: the page shows any "
               "piece in it.", without="a drawing is written at every save"),
        Option("--alloys", "Other metals to weigh it in, with commas between: as people call them "
               "(18k), a family (gold), or all.", "LIST", "gold,platinum-950",
               "one of each kind, and the other colours of its own fineness", shared.alloys),
        Option("--make", "Writes the files at every good save too, as posy make does.",
               without="no file is written", usual=False),
        Option("--strict", "With --make: writes nothing when there are warnings.",
               without="only faults keep files from being written", usual=False),
        *shared.FILES, shared.TOLERANCE, *shared.COMMON,
    ),
)  # fmt: skip

RESIZE = Command(
    "resize",
    "Makes a piece larger or smaller, or a ring for another finger, as a change of its text, line by line",
    "A finger size changes that alone. By a factor, or to a length, lengths grow. "
    "Stones go to the nearest size that is sold. Walls, wires, the chain's end ring, "
    "the finger and findings stay as they are. Figures of 1 mm and more come out in twentieths of a mm, "
    "smaller ones in hundredths. A text without faults is not changed into one with faults.",
    Names("words", "PIECE.posy SIZE", "The text of a piece, and how large it is to be: 120% is a "
          "fifth larger, 80% a fifth smaller; \"32 mm\" makes the metal so long on its longest side, \"tall "
          "32 mm\" or \"wide 32 mm\" that way; \"uk K\" is the finger it is for. The name of a part before a "
          "length, or of one ring of several before a finger, has that part so long, or that ring so large.",
          "ring.posy 120%", several=True),
    "The lines that change, the weight in g before and after, and what there is to remark then.",
    ("posy resize ring.posy 120%", "posy resize cross.posy cross tall 32 mm",
     "posy resize ring.posy \"uk K\" --apply"),
    (
        Option("--apply", "Writes the new text in the place of the old, unless it brings faults.",
               without="at a terminal you are asked, else nothing is written", usual=False),
        shared.NO_COLOUR,
    ),
)  # fmt: skip

WORDS = Command(
    "words",
    "Lists the words, or tells one in full: what it takes, what it offers, an example",
    "What the trade calls a thing finds the word for it.",
    Names("word", "WORD", "A word, a clause, a group of words, a trade word, metal or gem; of two words, "
          "too.", "vee claw", needed=False, joined=True),
    "The page of a word, of a group, or a list.",
    ("posy words", "posy words prong", "posy words vee claw", "posy words --open"),
    (
        shared.SHOW,
        Option("--open", "Opens the whole reference in your browser, drawings and all: one page, no "
               "network needed.", without="the page is told in the terminal", usual=False),
        Option("--pages", "Writes a page and a drawing of every word into a folder.", "FOLDER",
               "reference", "nothing is written"),
    ),
)  # fmt: skip

WHY = Command(
    "why", "Tells why a remark matters and what to do about it",
    "Every remark says its name. Without one, all are listed.",
    Names("code", "NAME", "The name a remark goes by.", "thin-wall", needed=False),
    "The reason, what helps, and an example or the figures in force with where they come from.",
    ("posy why thin-wall", "posy why"), (shared.SHOW,),
)

_ALL = START, CHECK, MAKE, WEIGH, WATCH, *SEEN, RESIZE, *KEPT, CAST, COST, ORDER, WORDS, WHY
COMMANDS = {one.name: one for one in _ALL}
"""The commands by name, in the order one meets them. Each is the module of that name beside this
one, loaded when asked for: it has run(arguments) -> exit code."""
