"""What the commands are told that serve a piece over the years: history, layout, editor."""

from __future__ import annotations

from ..terminal import options as shared
from ..terminal.forms import Command, Names, Option

_COMPARED = (
    Option("--picture", "Draws both, before and now: what is as it was in grey, what went in orange, what "
           "is new in blue.", "FILE.svg", "changes.svg", "no picture"),
    shared.VIEWS,
    Option("--same", "For scripts: the exit code is 1 when anything has changed.",
           without="0 whether anything has changed or not", usual=False),
    shared.TOLERANCE, *shared.COMMON,
)

SINCE = Command(
    "since",
    "Tells what has changed in a piece since an earlier revision",
    "The earlier texts come from git, where the piece lies in a working tree of git; elsewhere each posy "
    "make keeps its texts and figures in the folder .kept beside the piece. Both revisions are made anew, "
    "so that the same rules judge both.",
    Names("words", "PIECE.posy [REVISION|DAY]", "The text of a piece; and what git calls the revision, the "
          "number of a make that was kept, or a day (the last of that day or before). Without it: the last "
          "that says something else than the text does now.", "ring.posy 2026-05-01", several=True),
    "Measures, weights in g, stones, size, remarks as they were and as they are; metal added and removed "
    "in mm3.",
    ("posy since ring.posy", "posy since ring.posy 2026-05-01 --picture changes.svg",
     "posy since ring.posy HEAD~3 --same"),
    _COMPARED,
)

COMPARE = Command(
    "compare",
    "Tells what is not the same in two pieces",
    "The two lie as their texts say, each about its own origin. posy compare --for-git is how git shows "
    "what changed in a piece beside what changed in its text.",
    Names("words", "PIECE.posy PIECE.posy", "The texts of two pieces, or of one in two forms.",
          "ring.posy wider-ring.posy", several=True),
    "As posy since.",
    ("posy compare ring.posy wider-ring.posy", "posy compare ring.posy wider-ring.posy --picture both.svg"),
    (
        Option("--for-git", "Takes what git gives a differ of its own.", without="two pieces are named",
               usual=False),
        *_COMPARED,
    ),
)

HISTORY = Command(
    "history",
    "Tells weight, stones and remarks of every revision of a piece",
    "Revisions of git are made anew, which takes as long as posy make for each; of a make that was kept, "
    "the figures are those of its day.",
    shared.PIECE,
    "A table, the oldest revision first: weight in g, stones in ct, faults, warnings, hints.",
    ("posy history ring.posy", "posy history ring.posy --last 12 --plot history.svg"),
    (
        Option("--last", "How many revisions, counted back from the newest.", "NUMBER", "12", "20",
               shared.count, 20),
        Option("--plot", "Draws weight, stones and remarks over the revisions.", "FILE.svg", "history.svg",
               "a table alone"),
        shared.TOLERANCE, *shared.COMMON,
    ),
)

TIDY = Command(
    "tidy",
    "Puts texts into the one layout, and the trade's words into posy's",
    "Comments, blank lines and where a line is broken stay as you wrote them. What the piece is stays "
    "too: the text is read again before it is written. A text that cannot be read is left as it is.",
    Names("pieces", "PIECE.posy", "The text of a piece, or several; - reads one from the terminal and "
          "writes it there.", "ring.posy", several=True),
    "The files that were changed.",
    ("posy tidy ring.posy", "posy tidy *.posy --check"),
    (
        Option("--check", "Writes nothing; the exit code is 1 when a text is not tidy.",
               without="the texts are written in the place of the old", usual=False),
        shared.SHOW, shared.NO_COLOUR,
    ),
)  # fmt: skip

EDITOR = Command(
    "editor",
    "Serves an editor: remarks while you type, what may be written next, help, weight",
    "An editor starts it and talks to it by the Language Server Protocol; the guide tells how to set up "
    "three editors. With a folder it writes colours for editors instead. Needs pygls: pip install "
    "'posy-lang[editor]'.",
    Names("folder", "FOLDER", "Where the colours go: files for vim and neovim, and a grammar in TextMate's "
          "form, which many editors read.", "colours", needed=False),
    "Nothing on the terminal; the names of the files written.",
    ("posy editor", "posy editor colours"),
    (shared.SHOW, shared.NO_COLOUR),
)  # fmt: skip

ABOUT = Command(
    "about", "Tells what is installed and what is missing, and makes a tiny piece to see that it works",
    "The tiny piece is a disc, whose volume is known without posy; the two figures must agree.",
    Names("piece", "PIECE.posy", "A piece to make in its place.", "ring.posy", needed=False),
    "Versions, extras with how to get them, the figures of the make.", ("posy about",), (shared.SHOW,),
)

KEPT = SINCE, COMPARE, HISTORY, TIDY, EDITOR, ABOUT
"""The commands in the order one meets them."""
