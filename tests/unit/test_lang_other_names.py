"""Words, clauses, kinds and figures by other names than posy's: each is told, and what it is told to
write makes the text right."""

import pytest
from texts import checked

from posy.lang.faults import Level
from posy.lang.follow import followed

BAR = "bar frame: size 14 x 6 x 2 mm\n"
# The text, and what stands there once the remark is followed.
TEXTS = [
    ("spin", BAR + "plate leaf: pear 3 x 2 mm, thick 1 mm, at face of frame, inward 0.4 mm, spin 40 deg\n", "swivel 40"),
    ("copies in a line", BAR + "ball grain: at face of frame, line 3, every 2 mm, across 1 mm\n", "row 3"),
    ("a line to follow", "line way: through (0, 0) to (9, 3 mm)\nwire stem: along way, round 1 mm\n", "path way"),
    ("beads", BAR + "milgrain edge: along rim of frame\n", "bead-line edge"),
    ("a shank that splits", "split-band shank: finger us 7, wide 3 mm, thick 2 mm, gap 3 mm\n", "split-shank shank"),
    ("a shank", "shank one: finger us 7, wide 3 mm, thick 2 mm\n", "band one"),
    ("a group", "group wing: right 3 mm\n  disc leaf: across 9 mm, thick 1 mm\n", "workpiece wing"),
    ("turned round", "plate leaf: pear 7 x 4 mm, thick 1 mm, right 3 mm\nturn more: of leaf, times 5\n", "wheel more"),
    ("a part of the way", BAR + "ball b: along rim of frame, number 3, part 0 % to 30 %, across 1 mm\n", "stretch 0 %"),
    ("a disc's height", "disc medal: across 9 mm, height 1 mm\n", "thick 1 mm"),
    ("a plate's height", "plate medal: oval 9 x 7 mm, height 1 mm\n", "thick 1 mm"),
    ("a tube's height", "tube t: outside 4 mm, inside 2 mm, height 3 mm\n", "long 3 mm"),
    ("a rod across", "rod stem: across 1 mm, long 8 mm\n", "wire 1 mm"),
    ("a signet's height", "signet s: finger us 9, oval 12 x 14 mm, high 2.8 mm, wide 5 mm, thick 2 mm\n", "height 2.8"),
    ("a post across", BAR + "ear-post post: at back of frame, across 0.9 mm\n", "wire 0.9 mm"),
    ("a post sunk", BAR + "ear-post post: at back of frame, sunk 0.4 mm\n", "root 0.4 mm"),
    ("milgrain rooted", BAR + "bead-line edge: along rim of frame, root 40 %\n", "sunk 40 %"),
    ("a half bezel", "stone one: round 5 mm, gem peridot\nbezel cup: for one, open 30 %\n", "cut-away 30 %"),
    ("a wire's gauge", "path way: through (0, 0) to (9, 3 mm)\nwire stem: along way, wire 1 mm\n", "round 1 mm"),
    ("how high it is", BAR + "ball grain: across height of frame\n", "thick of frame"),
    ("a line for a word", "word edge\n  takes way: line, needed\n  wire rim: along way, round 1 mm\n" + BAR
     + "edge one: way rim of frame\n", "way: path"),
    ("evenly spaced", BAR + "ball grain: along rim of frame, number 8, evenly spaced, inward 0.3 mm, across 1 mm\n", "number 8, inward"),
    ("mirrored", BAR + "ball grain: at face of frame, right 4 mm, inward 0.3 mm, across 1 mm, mirrored\n", "both-sides"),
    ("a stretch with a minus", BAR + "ball grain: along rim of frame, number 3, stretch 6 % - 24 %, across 1 mm\n", "6 % to 24 %"),
    ("a stretch about its start", BAR + "ball grain: along rim of frame, number 3, stretch -9%-9%, across 1 mm\n", "-9 % to 9 %"),
    ("sizes with a minus", "stone row: round 2 mm - 3 mm, gem garnet, row 5, gap 0.2 mm\n", "2 mm to 3 mm"),
    ("a finger too large", "band shank: finger us 20, wide 4 mm, thick 2 mm\n", "finger us 16"),
    ("a finger too small", "band shank: finger iso 30, wide 4 mm, thick 2 mm\n", "finger iso 36"),
    ("a share", "word dot\n  takes deep: share, default 40 %\n  ball grain: across 2 mm, inward 2 mm * deep\ndot one\n", "deep: percent"),
]  # fmt: skip


def told(text):
    """The faults of a text, the first first."""
    return [f for f in checked(text).faults if f.level is Level.FAULT]


@pytest.mark.parametrize(("name", "text", "then"), TEXTS, ids=[row[0] for row in TEXTS])
def test_another_name_is_told_and_its_remedy_works(name, text, then):
    faults = told(text)
    assert len(faults) == 1, name
    right = followed(text, faults[0])
    assert then in right
    assert told(right) == []
