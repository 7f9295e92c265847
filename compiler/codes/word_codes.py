"""Faults of layouts and turned bodies, by code: records like those of codes.py."""

from __future__ import annotations

from ...lang.codes import Code

_BAR = "bar frame: size 12 x 6 x 2.5 mm\n"

WORD_CODES = (
    Code(
        "row-too-long",
        "A row of stones does not fit its line.",
        "Stones and the gaps between them, measured straight from girdle to girdle, need more "
        "room than the path has.",
        "path way: through (0, 0) to (9, 0 mm)\n"
        "stone row: round 2.5 mm, gem garnet, along way, number 4, gap 0.2 mm\n" + _BAR,
        "path way: through (0, 0) to (9, 0 mm)\n"
        "stone row: round 2.5 mm, gem garnet, along way, gap 0.2 mm\n" + _BAR,
    ),
    Code(
        "no-loop",
        "There is no loop to hang by, or it does not fit.",
        "What hangs wants a loop of its own, and one to hang in that looks across it: two that look the same "
        "way want a jump-ring between them, and the wire of each has to go through the other.",
        "jump-ring eye: inside 2 mm, wire 0.8 mm\ncasting drop: hangs-in eye\n  ball bead: across 3 mm\n",
        "jump-ring eye: inside 2 mm, wire 0.8 mm\njump-ring link: hangs-in eye, inside 2 mm, wire 0.8 mm\n",
    ),
    Code(
        "no-surface",
        "There is no face to spread things upon.",
        "Things are spread upon the face of a bar, disc, plate or dome, or round a "
        "band; wire and "
        "stones have none.",
        "rod stem: wire 2 mm, long 8 mm\nball grain: upon stem, every 1 mm, across 0.5 mm\n",
        _BAR + "ball grain: upon frame, every 1 mm, inset 1 mm, across 0.5 mm, inward 0.2 mm\n",
    ),
    Code(
        "off-the-face",
        "A place lies beside the face it is to stand on.",
        "'on' carries a place straight down to the face of a body, or round a band and along the finger; "
        "past the edge of the face there is nothing to stand on.",
        _BAR + "ball grain: on frame, right 30 mm, across 0.5 mm\n",
        _BAR + "ball grain: on frame, right 3 mm, across 0.5 mm, inward 0.2 mm\n",
    ),
    Code(
        "profile-crosses-axis",
        "The profile of a turned body passes its own axis.",
        "A profile is carried all the way round the axis, so one side of it is enough.",
        "turned knob: through (-1, 0 mm) to (2, 0 mm) to (0, 3 mm)\n",
        "turned knob: through (0, 0) to (2, 0 mm) to (0, 3 mm)\n",
    ),
    Code(
        "idle-cut",
        "A hole goes through no metal.",
        "Holes go inward from their place. A body stands on its own ground, so a hole that "
        "begins there leaves it as it is.",
        _BAR + "pierce window: oval 6 x 3 mm, in frame\n",
        _BAR + "pierce window: oval 6 x 3 mm, at face of frame, in frame\n",
    ),
)
