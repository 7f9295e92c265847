"""The small pieces that `posy start` writes: one for each kind of piece, and six lessons."""

from __future__ import annotations

KINDS = {
    "pendant": "a bar with three stones in prongs",
    "ring": "one stone in a head on a shank",
    "studs": "an ear stud, a cabochon in a bezel",
    "cuff": "an open cuff with letters",
    "brooch": "a lapel pin with grains",
}
"""The kinds of piece there is a starter of, the usual one first, with what it is."""
LESSONS = (1, 2, 3, 4, 5, 6)


def starter_text(title: str, kind: str = "pendant") -> str:
    """The text of a first piece of a ``kind`` under ``title``."""
    plain = " ".join(title.replace('"', " ").split()) or "First piece"
    return _text(f"starters/{kind}.posy").replace("{title}", plain)


def lesson_text(number: int) -> str:
    """The text of a lesson."""
    return _text(f"lessons/lesson-{number}.posy")


def _text(path: str) -> str:
    from importlib.resources import files  # slow to load, and what kinds there are is asked at each start

    return files("posy.stdlib").joinpath(path).read_text("utf-8")
