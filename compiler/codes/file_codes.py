"""The faults that writing and weighing can find, for `posy why`."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

# Code -> (title, why it is a fault and what to do).
FILE_FAULTS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "file-not-written": (
            "A file could not be written.",
            "Files are written beside the old ones first and take their place only when all "
            "of them are complete, so what was there before stands. See that the folder "
            "exists, may be written to and has room, or name another one with --into.",
        ),
        "file-exists": (
            "A file of that name is there already.",
            "A new piece never takes the place of an old file. Choose another name.",
        ),
        "earlier-file": (
            "A file made earlier stood beside the new ones.",
            "The summary lists the files made together with their checksums. One that is not made any "
            "more is taken away, lest it be sent out for the new; one that was changed since is left.",
        ),
        "history-not-kept": (
            "A make could not be put into the history of its piece.",
            "Where git keeps no history, each make leaves its texts and figures in the folder .kept "
            "beside the piece. The files of the make itself are written all the same.",
        ),
        "no-history": (
            "There is no earlier revision of the piece.",
            "Revisions come from git, if the piece lies in a working tree and was committed; else posy "
            "make keeps one each time the text has changed.",
        ),
        "unknown-revision": (
            "There is no such revision of the piece.",
            "A revision is what git calls one, the number of a make that was kept, or a day as "
            "2026-05-01, which means the last of that day or before. 'posy history' lists them.",
        ),
        "text-changed": (
            "The text was changed while a figure of it was being changed on the page.",
            "Two hands must not write one file: what the editor saved stands, and nothing was written. Look "
            "at the piece as it is now, then write the figure again.",
        ),
        "figure-not-written": (
            "A figure changed on the page has no place of its own in the text.",
            "Only a measure that is a plain figure can be written from the page; one that is worked out from "
            "others is changed by changing those.",
        ),
        "still-not-taken": (
            "The browser gave no picture of the page.",
            "The page itself is written and whole. Open it, and take the picture there; or try again when "
            "the machine has less to do.",
        ),
        "mesh-not-closed": (
            "The surface of the metal does not close.",
            "A printer builds what lies inside a closed surface. Where two parts share nothing "
            "but an edge there is no inside to tell. Let the parts overlap by 0.05 mm or leave "
            "a clear gap; if neither helps, please report the text.",
        ),
        "metal-not-in-table": (
            "The metal is not in the table of alloys.",
            "Without a density there is no weight. 'posy weigh' lists the metals.",
        ),
    }
)
