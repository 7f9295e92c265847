
SHAPE_CODES = (
    Code(
        "rim-too-deep",
        "A rim is taken off deeper than the metal allows.",
        "Rounding or bevelling leaves a face in the middle and a side below; where an "
        "outline comes to "
        "a point or bends tightly the rim can only be small.",
        "bar frame: size 12 x 6 x 2 mm, soften 1.2 mm, rims both\n",
        "bar frame: size 12 x 6 x 2 mm, soften 0.5 mm, rims both\n",
    ),
    Code(
        "band-too-open",
        "The band stands open wider than it is.",
        "The opening at the back is measured straight across the inside.",
        "band cuff: inside 56 mm, wide 6 mm, thick 1.8 mm, open 55 mm\n",
        "band cuff: inside 56 mm, wide 6 mm, thick 1.8 mm, open 25 mm\n",
    ),
    Code(
        "table-too-long",
        "The table of a signet overhangs its ring.",
        "Its first figure runs across the hand; past the outside of the shank it would "
        "stand in the "
        "air. The second runs along the finger.",
        _SIGNET.format("oval 22 x 12 mm, height 2.4 mm"),
        _SIGNET.format("oval 12 x 14 mm, height 2.4 mm"),
    ),
    Code(
        "table-too-low",
        "The table of a signet lies below its shank.",
        "Its height is the metal between finger and table, so it is the shank's "
        "thickness or more.",
        _SIGNET.format("round 12 mm, height 1 mm"),
        _SIGNET.format("round 12 mm, height 2.4 mm"),
    ),
    Code(
        "split-angle",
        "The strands of a shank part too near its head or its back.",
        "Under 10 degrees from the head they would have to jump apart; past 170 they "
        "never join.",
        'split-shank shank: finger "us 6", wide 3 mm, thick 1.7 mm, gap 3 mm, from 5 deg\n',
        'split-shank shank: finger "us 6", wide 3 mm, thick 1.7 mm, gap 3 mm, from 70 deg\n',
    ),
    Code(
        "no-finger-hole",
        "The body named has no finger hole.",
        "Boring clears the inside of a band, a signet or a split shank.",
        _BAR + "bore clear: of frame\n",
        'band shank: finger "us 6", wide 3 mm, thick 2 mm\n'
        "ball knob: across 4 mm, at top of shank, inward 3 mm\n"
        "bore clear: of shank, in knob\n",
    ),
    Code(
        "hole-widens",
        "A tapered hole is wider at the far end than a tool can make it from here.",
        "A drill narrows downward from its mouth; an azure widens toward the back.",
        _BAR + "drill hole: at face of frame, across 1 mm, narrow 2 mm, deep 1 mm\n",
        _BAR + "drill hole: at face of frame, across 2 mm, narrow 1 mm, deep 1 mm\n",
    ),
    Code(
        "groove-round",
        "A groove that follows a stone's crown is asked for round a stone that is not round.",
        "Such a groove is turned; a stone of another outline is let in straight from above.",
        _BAR + "stone one: oval 4 x 3 mm, at face of frame\nseat: for one, in frame, mouth 0 mm\n",
        _BAR + "stone one: oval 4 x 3 mm, at face of frame\nseat: for one, in frame\n",
    ),
    Code(
        "no-depth",
        "There is no metal behind the stones to open.",
        "An azure begins below the stone and ends at the back of the metal; here the "
        "back lies above "
        "its beginning.",
        _ROW + _BAR + "azure light: for row, in frame, deep 0.05 mm\n",
        _ROW + "bar bed: size 12 x 6 x 2.5 mm, under row\nazure light: for row, in bed\n",
    ),
    Code(
        "path-closed",
        "Tapered wire follows a closed path.",
        "Its thin end would meet its thick start.",
        "path ring: through (3, 0 mm) over (0, 3 mm) to (-3, 0 mm) over (0, -3 mm), closed\n"
        "wire hoop: along ring, round 1.2 mm, taper 0.8 mm\n",
        _WAVE + "wire stem: along wave, round 1.2 mm, taper 0.8 mm\n",
    ),
    Code(
        "path-has-corners",
        "Twisted wire follows a path with corners.",
        "A rope bends in a curve; at a corner its strands would break off.",
        "path bent: through (0, 0) to (8, 0 mm) to (8, 8 mm)\ntwist rope: along bent, "
        "wire 0.8 mm\n",
        _WAVE + "twist rope: along wave, wire 0.8 mm\n",
    ),
    Code(
        "twist-too-tight",
        "Wires are twisted tighter than wire goes.",
        "In one turn every strand lies down beside the others: two thicknesses at the least.",
        _WAVE + "twist rope: along wave, wire 0.8 mm, pitch 1 mm\n",
        _WAVE + "twist rope: along wave, wire 0.8 mm, pitch 3 mm\n",
    ),
    Code(
        "too-many-turns",
        "A twist has more turns than posy makes.",
        "posy stops there, so that no file takes all time and memory.",
        "path far: through (0, 0) to (380, 0 mm)\ntwist rope: along far, wire 0.1 mm, "
        "pitch 0.2 mm\n",
        _WAVE + "twist rope: along wave, wire 0.8 mm\n",
    ),
    Code(
        "not-bendable",
        "There is no flat metal to bend.",
        "Bending takes a bar, disc or plate lying with its back on the ground, and "
        "what stands on it.",
        'ball bead: across 6 mm\nbend ring: of bead, finger "us 7"\n',
        _STRIP + 'bend ring: of strip, finger "us 7"\n',
    ),
    Code(
        "strip-length",
        "The strip does not fit round the finger.",
        "Bent metal keeps its length at the middle of its thickness: pi x (inside diameter + "
        "thickness). A longer strip runs into itself, unless it lies slantwise and its ends pass beside "
        "each other; to close, it has to be right within 5 %.",
        "bar strip: size 70 x 4 x 1.4 mm\n" + 'bend ring: of strip, finger "us 7"\n',
        _STRIP + 'bend ring: of strip, finger "us 7"\n',
    ),
    Code(
        "open-joint",
        "A strip with rounded or bevelled ends cannot be closed.",
        "Where the ends meet a notch would run across the ring. A bar's ends are kept whole when "
        "it is closed; those of other plates are not known to be.",
        "path edge: closed, through (-29, -2 mm) to (29, -2 mm) to (29, 2 mm) to (-29, 2 mm)\n"
        "plate strip: outline edge, thick 1.4 mm, soften 0.4 mm\n"
        "bend ring: of strip, inside 17 mm, closed\n",
        "bar strip: size 58 x 4 x 1.4 mm, soften 0.4 mm\nbend ring: of strip, inside 17 mm, closed\n",
    ),
    Code(
        "dome-too-deep",
        "The metal goes more than half round the doming ball.",
        "Past the half ball it would close over the punch.",
        "disc sheet: across 30 mm, thick 1 mm\ndap bowl: of sheet, ball 12 mm\n",
        "disc sheet: across 16 mm, thick 1 mm\ndap bowl: of sheet, ball 16 mm\n",
    ),
    Code(
        "text-length",
        "There are no letters to engrave, or too many.",
        "A text holds 1 to 200 letters, spaces among them.",
        _BAR + 'engrave name: letters "  ", at face of frame, in frame\n',
        _BAR + 'engrave name: letters "ADA", at face of frame, in frame\n',
    ),
    Code(
        "text-too-long",
        "The letters are longer than their line.",
        "Letters keep their width; a text that runs past the end of its path has no "
        "place to stand.",
        _BAR + 'engrave name: letters "ADA OF THE HARBOUR", along rim of frame, in frame\n',
        _BAR
        + 'engrave name: letters "ADA", tall 1 mm, along rim of frame, inset 1 mm, in frame\n',
    ),
    Code(
        "letters-not-set",
        "The font cannot set these letters.",
        "It has no such sign, or its file cannot be read.",
        _BAR + 'engrave name: letters "\u4e2d", at face of frame, in frame\n',
        _BAR + 'engrave name: letters "A", at face of frame, in frame\n',
    ),
    Code(
        "file-too-large",
        "A drawing or font is larger than a file may be.",
        "posy stops there, so that no file takes all time and memory.",
        "",
        _BAR,
        shown=False,
    ),
    Code(
        "drawing-not-read",
        "No outline comes of a drawing.",
        "The closed paths of an .svg file are taken: paths, circles, rectangles and "
        "polygons. Open "
        "paths, texts, clones and pictures are not.",
        'plate leaf: drawing "leaf.svg", thick 1 mm\n',
        "plate leaf: marquise 14 x 7 mm, thick 1 mm\n",
        files={"leaf.svg": "<svg xmlns='http://www.w3.org/2000/svg'></svg>"},
    ),
    Code(
        "extra-missing",
        "A package that reads letters or drawings is not installed.",
        "Fonts and drawings are read by packages that come with posy; one is not there: "
        "pip install fonttools font-source-serif-pro svgelements",
        "",
        _BAR,
        shown=False,
    ),
)
