"""Every fault of the language by its code: what it means, why it is one, wrong and right.

``posy why NAME`` prints these records; a test runs every wrong example and wants exactly
that code, and every right one and wants none. The bench rules have records of the same kind in
the compiler.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from types import MappingProxyType

from .lean import dataclass


@dataclass(frozen=True)
class Code:
    """One kind of fault. ``wrong`` and ``right`` are whole files; ``files`` those they take,
    ``settings`` what is set from outside for the wrong one. ``shown`` is False where the wrong
    example only hints at the real thing (a file of a megabyte)."""

    name: str
    title: str
    why: str
    wrong: str
    right: str
    files: Mapping[str, str] = field(default_factory=dict)
    settings: Mapping[str, str] = field(default_factory=dict)
    shown: bool = True


_BAR = "bar frame: size 21 x 5 x 2 mm\n"

_ALL = (
    # --- the text as such
    Code(
        "tab-indent",
        "A line is indented with a tab.",
        "A tab is as wide as each editor likes, so a reader could not tell which lines belong "
        "together.",
        "bar frame\n\tsize 21 x 5 x 2 mm\n",
        "bar frame\n  size 21 x 5 x 2 mm\n",
    ),
    Code(
        "indent-mismatch",
        "A line is indented unlike the lines around it.",
        "Lines of one block start at the same depth; this one fits no block above it.",
        "bar frame\n    size 21 x 5 x 2 mm\n  corner 0.5 mm\n",
        "bar frame\n  size 21 x 5 x 2 mm\n  corner 0.5 mm\n",
    ),
    Code(
        "text-not-closed",
        "A text has no closing quote mark.",
        "A text stands in double quotes on one line.",
        'piece "Harbour bar\n',
        'piece "Harbour bar"\n',
    ),
    Code(
        "parenthesis-not-closed",
        "An open parenthesis is never closed.",
        "What is inside a parenthesis is worked out first, so it has to end somewhere.",
        "measure a = (2 mm + 1 mm\n",
        "measure a = (2 mm + 1 mm)\n",
    ),
    Code(
        "parenthesis-not-open",
        "A closing parenthesis closes nothing.",
        "Most likely its opening one was deleted.",
        "measure a = 2 mm + 1 mm)\n",
        "measure a = (2 mm + 1 mm)\n",
    ),
    Code(
        "hidden-character",
        "A character that does not show stands in the text.",
        "Pasted text can carry characters without width, or that turn the direction of "
        "reading; what one reads would not be what is made.",
        "bar fra\u200bme: size 21 x 5 x 2 mm\n",
        _BAR,
    ),
    Code(
        "not-utf8",
        "The file is not UTF-8 text.",
        "posy reads UTF-8, what editors save today. Other encodings would garble the texts.",
        'piece "Caf\ufffd"\n',
        'piece "Café"\n',
    ),
    Code(
        "stray-character",
        "A character means nothing where it stands.",
        "Often a look-alike from another program: a printed multiplication sign or minus, "
        "curly quotes, a degree sign.",
        "bar frame: size 21 × 5 × 2 mm\n",
        _BAR,
    ),
    Code(
        "line-too-long",
        "A line of the text is too long.",
        "The cap keeps a hostile file from costing time without end. Clauses can stand on "
        "lines of their own.",
        'note "…"\n',
        "bar frame\n  size 21 x 5 x 2 mm\n",
        shown=False,
    ),
    Code(
        "file-too-long",
        "The file has too many lines.",
        "The cap keeps a hostile file from costing time without end.",
        "…\n",
        _BAR,
        shown=False,
    ),
    Code(
        "file-too-large",
        "The file is too large to be a piece.",
        "The cap keeps a hostile file from costing memory without end.",
        "…\n",
        _BAR,
        shown=False,
    ),
    Code(
        "too-deep",
        "Blocks, parentheses or words stand too deep in one another.",
        "No piece needs it, and a reader would be lost.",
        "measure a = ((((…))))\n",
        "measure a = (1 mm + 2 mm) * 2\n",
        shown=False,
    ),
    Code(
        "too-many-faults",
        "More lines cannot be read than are worth telling.",
        "Most likely the file is not a posy text.",
        "…\n",
        _BAR,
        shown=False,
    ),
    # --- the shape of a line
    Code(
        "unreadable",
        "Something stands where it cannot be read.",
        "A line is a word, an optional name, then clauses; this does not fit.",
        "bar frame: size 21 x x 2 mm\n",
        _BAR,
    ),
    Code(
        "line-shape",
        "A line does not go on as its first word wants.",
        "Lines like measure, each or waive have their own order of words.",
        "measure across 2.5 mm\n",
        "measure across = 2.5 mm\n",
    ),
    Code(
        "clause-alone",
        "A clause is not indented.",
        "Clauses stand on the line of their word, after its colon, or below it and indented.",
        'piece "Reed bar"\nnote "A keepsake."\n',
        'piece "Reed bar"\n  note "A keepsake."\n',
    ),
    Code(
        "colon-missing",
        "The colon between head and clauses is missing.",
        "It tells the name of the part from its first clause.",
        "bar frame size 21 x 5 x 2 mm\n",
        _BAR,
    ),
    Code(
        "stray-colon",
        "A colon stands where none belongs.",
        "One colon stands after word and name; keys have none.",
        "bar frame: size: 21 x 5 x 2 mm\n",
        _BAR,
    ),
    Code(
        "comma-missing",
        "The comma between two clauses is missing.",
        "Without it a value could go on, or a new clause begin.",
        "bar frame: size 21 x 5 x 2 mm corner 0.5 mm\n",
        "bar frame: size 21 x 5 x 2 mm, corner 0.5 mm\n",
    ),
    Code(
        "of-missing",
        "The word 'of' is missing between a place and the part it belongs to.",
        "What a part offers is asked for by 'of': ends of frame, rim of disc.",
        _BAR + "ball: across 1 mm, at ends frame\n",
        _BAR + "ball: across 1 mm, at ends of frame\n",
    ),
    Code(
        "name-in-two",
        "A name has a blank in it.",
        "A blank ends a name, so two words would be two names; a hyphen joins them.",
        "bar main frame: size 21 x 5 x 2 mm\n",
        "bar main-frame: size 21 x 5 x 2 mm\n",
    ),
    Code(
        "stray-comma",
        "A comma stands where none belongs.",
        "Commas stand between clauses, one at a time.",
        "bar frame: size 21 x 5 x 2 mm,, corner 0.5 mm\n",
        "bar frame: size 21 x 5 x 2 mm, corner 0.5 mm\n",
    ),
    Code(
        "stray-equals",
        "An equals sign stands where none belongs.",
        "Only a measure line has one. A clause is its key and its value; a test says is.",
        "bar frame: size = 21 x 5 x 2 mm\n",
        _BAR,
    ),
    Code(
        "decimal-comma",
        "A number is written with a comma.",
        "The comma stands between clauses, so a number has a decimal point.",
        "ball: across 2,5 mm\n",
        "ball: across 2.5 mm\n",
    ),
    Code(
        "value-missing",
        "A value is missing.",
        "Something asks for a value and the line ends, or goes on with something else.",
        "measure a = 2 mm +\n",
        "measure a = 2 mm + 1 mm\n",
    ),
    Code(
        "name-missing",
        "A name is needed, and names begin with a letter.",
        "A name beginning with a digit could be read as a figure.",
        "bar 2nd: size 21 x 5 x 2 mm\n",
        "bar second: size 21 x 5 x 2 mm\n",
    ),
    Code(
        "reserved-name",
        "A word of the language is used as a name.",
        "x of to over and or not is hold values together; as names they would make lines "
        "unreadable.",
        "measure x = 2 mm\n",
        "measure wide = 2 mm\n",
    ),
    Code(
        "chained-test",
        "One comparison follows another.",
        "It would be read as comparing a test with a figure.",
        'expect 1 mm < 2 mm < 3 mm, else "no"\n',
        'expect 1 mm < 2 mm and 2 mm < 3 mm, else "no"\n',
    ),
    Code(
        "unit-apart",
        "A unit stands after something that is not a number.",
        "A unit belongs to the number before it; a figure that has been worked out has its own.",
        "measure a = (2 + 3) mm\n",
        "measure a = 2 mm + 3 mm\n",
    ),
    Code(
        "block-misplaced",
        "A line stands in a block where it cannot be.",
        "Words, series and files taken stand at the left edge; takes and help below a word; "
        "most lines take no lines below them.",
        "workpiece left\n  series sizes: metal silver-925\n",
        "measure a = 2 mm\nseries sizes: a 2 mm to 3 mm\n",
    ),
    Code(
        "otherwise-alone",
        "An otherwise follows no when.",
        "It stands right below the lines of its when, at the same depth.",
        "otherwise\n  ball: across 2 mm\n",
        "when 1 < 2\n  ball: across 2 mm\notherwise\n  ball: across 3 mm\n",
    ),
    Code(
        "language-version",
        "A file is written in a version of the language that this posy does not know.",
        "The line posy 1, first in a file, names the version of the language. A newer one may mean "
        "other things by the same words, so the piece is not made.",
        "posy 7\nbar frame: size 21 x 5 x 2 mm\n",
        "posy 1\nbar frame: size 21 x 5 x 2 mm\n",
    ),
    # --- names, words, clauses
    Code(
        "unknown-word",
        "There is no such word.",
        "A line starts with a word: a core word, a standard word, or one taught above.",
        "baar frame: size 21 x 5 x 2 mm\n",
        _BAR,
    ),
    Code(
        "clause-idle",
        "A clause is said where nothing hears it.",
        "What a workpiece, a casting or a word hands down, such as its metal, is meant for the metal made "
        "in it; without any, or where every part says its own, it would change nothing.",
        "workpiece left: metal silver-925\n  stone row: round 2 mm, gem garnet\n",
        "workpiece left: metal silver-925\n  bar frame: size 21 x 5 x 2 mm\n",
    ),
    Code(
        "unknown-clause",
        "The word takes no such clause.",
        "posy words WORD lists what it takes.",
        "bar frame: size 21 x 5 x 2 mm, cornr 0.5 mm\n",
        "bar frame: size 21 x 5 x 2 mm, corner 0.5 mm\n",
    ),
    Code(
        "unknown-name",
        "Nothing of this name stands above.",
        "A name is given by a measure, a part, an each or a takes line above its use. A "
        "minus needs spaces around it, since a name may hold hyphens.",
        "measure pitch = 2 mm\nball: across pich\n",
        "measure pitch = 2 mm\nball: across pitch\n",
    ),
    Code(
        "used-above",
        "A name is used above the line that gives it.",
        "The file is the order of work: what is used has to be there.",
        "ball: across wide\nmeasure wide = 2 mm\n",
        "measure wide = 2 mm\nball: across wide\n",
    ),
    Code(
        "name-taken",
        "A name is given twice in one block.",
        "A later line could not tell which one is meant.",
        "ball a: across 2 mm\nball a: across 3 mm\n",
        "ball a: across 2 mm\nball b: across 3 mm\n",
    ),
    Code(
        "unknown-function",
        "There is no such function.",
        "The functions are min max round floor ceil abs sqrt sin cos tan asin acos atan pick "
        "between count, and in words given.",
        "ball: across maks(2 mm, 3 mm)\n",
        "ball: across max(2 mm, 3 mm)\n",
    ),
    Code(
        "argument-count",
        "A function has too many or too few values to work on.",
        "Each function works on a certain number of values.",
        "ball: across abs(2 mm, 3 mm)\n",
        "ball: across abs(2 mm - 3 mm)\n",
    ),
    Code(
        "unknown-unit",
        "There is no such unit.",
        "Units are mm cm in (lengths), ga (wire gauge), deg, g ct dwt ozt (masses) and %.",
        "ball: across 2 inch\n",
        "ball: across 2 mm\n",
    ),
    Code(
        "unknown-choice",
        "The clause has no such choice.",
        "It takes one of a few names, or a measure that holds one.",
        "stone: round 2 mm, gem garnt\n",
        "stone: round 2 mm, gem garnet\n",
    ),
    Code(
        "not-offered",
        "The part does not offer this.",
        "Each word's page lists the figures, places and paths its parts offer.",
        _BAR + "ball: across 1 mm, at tops of frame\n",
        _BAR + "ball: across 1 mm, at ends of frame\n",
    ),
    Code(
        "unknown-metal",
        "There is no such metal.",
        "posy words metal lists the alloys known.",
        'piece "Bar"\n  metal silvr-925\n',
        'piece "Bar"\n  metal silver-925\n',
    ),
    Code(
        "unknown-rule",
        "There is no such bench rule.",
        "posy why lists the rules. A waiver of none of them would waive nothing.",
        _BAR + 'waive thin-wal on frame because "an heirloom"\n',
        _BAR,
        shown=False,
    ),
    Code(
        "unknown-measure",
        "There is no such measure to set or vary.",
        "Measures of the outer block can be set from outside.",
        "measure across = 2 mm\n",
        "measure across = 2 mm\n",
        settings={"acros": "3 mm"},
    ),
    Code(
        "unknown-role",
        "There is no such role.",
        "A word may say what its metal serves as, so that the bench judges it as what it is.",
        "word peg\n  serves as seting\n  ball: across 2 mm\n",
        "word peg\n  serves as setting\n  ball: across 2 mm\n",
    ),
    Code(
        "unknown-kind",
        "There is no such kind of value.",
        "A takes line says what kind of value a key holds.",
        "word dot\n  takes wide: lenght\n  ball: across 2 mm\n",
        "word dot\n  takes wide: length\n  ball: across 2 mm\n",
    ),
    Code(
        "clause-missing",
        "A clause that is needed is missing.",
        "Without it the word cannot know what to make.",
        "ball\n",
        "ball: across 2 mm\n",
    ),
    Code(
        "clause-twice",
        "A clause is said twice on one line.",
        "The two could differ.",
        "ball: across 2 mm, across 3 mm\n",
        "ball: across 2 mm\n",
    ),
    Code(
        "clauses-disagree",
        "Two clauses are said together that exclude each other.",
        "A stone has one cut, a wire one section; a thing stands 'at' places or 'along' a path.",
        "stone: round 2 mm, oval 3 x 2 mm, gem garnet\n",
        "stone: round 2 mm, gem garnet\n",
    ),
    Code(
        "clause-idle",
        "A clause does nothing where it stands.",
        "Some clauses mean something only beside another: 'number' counts copies 'along' a path, "
        "'radius' is that of a 'circle'. 'posy words' tells of each what it goes with.",
        "ball: across 2 mm, every 3 mm\n",
        "ball: across 2 mm, row 4, every 3 mm\n",
    ),
    # --- values
    Code(
        "unit-missing",
        "A bare number stands where a unit is needed.",
        "21 could be mm or inches. Only zero needs no unit.",
        "ball: across 2\n",
        "ball: across 2 mm\n",
    ),
    Code(
        "percent-missing",
        "A bare number stands where a percentage is needed.",
        "Shares are written with %, so that 0.5 and 50 cannot be mixed up.",
        _BAR + "stone row: round 2 mm, gem garnet\nseat: for row, in frame, hole 0.5\n",
        _BAR + "stone row: round 2 mm, gem garnet\nseat: for row, in frame, hole 50 %\n",
    ),
    Code(
        "dimension",
        "Figures of different kinds are joined.",
        "A length plus a mass is nothing at all; most likely a wrong name was used.",
        "measure a = 2 mm + 1 g\n",
        "measure a = 2 mm + 1 mm\n",
    ),
    Code(
        "wrong-kind",
        "A value of another kind is needed.",
        "A length, a text, places, a part: each clause takes one kind of value.",
        "ball: across 3 deg\n",
        "ball: across 3 mm\n",
    ),
    Code(
        "not-whole",
        "A count is not a whole number.",
        "There is no half copy.",
        "ball: across 2 mm, row 2.5, every 3 mm\n",
        "ball: across 2 mm, row 3, every 3 mm\n",
    ),
    Code(
        "out-of-range",
        "A figure is outside its range.",
        "The range stands on the measure, or on the page of the word.",
        "measure across = 4 mm, from 2 mm to 3 mm\n",
        "measure across = 3 mm, from 2 mm to 3 mm\n",
    ),
    Code(
        "range-shape",
        "A range is not written from least to most.",
        "A range has two figures of one kind, the smaller first.",
        "measure across = 2 mm, from 3 mm to 2 mm\n",
        "measure across = 2 mm, from 2 mm to 3 mm\n",
    ),
    Code(
        "size-members",
        "A size has too many or too few figures.",
        "A bar has three, an oval two.",
        "bar frame: size 21 x 5 mm\n",
        _BAR,
    ),
    Code(
        "spot-shape",
        "A spot has too many figures.",
        "A spot is right, up and if wanted out.",
        "ball: across 1 mm, at (1, 2, 3, 4 mm)\n",
        "ball: across 1 mm, at (1, 2, 3 mm)\n",
    ),
    Code(
        "gauge-range",
        "There is no such wire gauge.",
        "Brown & Sharpe gauges (ASTM B258) are whole numbers; posy knows 0 to 50.",
        "ball: across 18.5 ga\n",
        "ball: across 18 ga\n",
    ),
    Code(
        "divided-by-zero",
        "A figure is divided by zero.",
        "The result would be without end.",
        "measure a = 2 mm / (3 - 3)\n",
        "measure a = 2 mm / 3\n",
    ),
    Code(
        "number-too-large",
        "A figure is too large.",
        "No piece needs it; most likely an operation is wrong.",
        "measure a = 99999999999 mm\n",
        "measure a = 99 mm\n",
    ),
    Code(
        "too-much-work",
        "The piece would take too long to work out.",
        "posy stops at a number of turns, lines and figures, so that no file runs for ever.",
        "each k from 1 to 99999\n  ball: across 1 mm\n",
        "each k from 1 to 3\n  ball: across 1 mm, right k * 2 mm\n",
    ),
    Code(
        "series-too-long",
        "A series makes too many pieces.",
        "A series makes every value of one measure with every value of the others.",
        "measure a = 1 mm\nseries s: …\n",
        "measure a = 1 mm\nseries s: a 1 mm to 2 mm\n",
        shown=False,
    ),
    Code(
        "expectation",
        "Something a word or a piece expects does not hold.",
        "The expect line says what and why.",
        'expect 1 mm > 2 mm, else "the wall is too thin"\n',
        'expect 3 mm > 2 mm, else "the wall is too thin"\n',
    ),
    # --- words of one's own, other files
    Code(
        "word-in-itself",
        "A word uses itself.",
        "It would never end. Use each to repeat.",
        "word dot\n  takes wide: length\n  dot: wide wide\n",
        "word dot\n  takes wide: length, needed\n  ball: across wide\n",
    ),
    Code(
        "word-hidden",
        "A word stands in for a standard word of the same name.",
        "It is allowed, so that new standard words never break an old file; but a reader may "
        "be misled.",
        "word ball\n  disc: across 2 mm, thick 1 mm\n",
        "word button\n  disc: across 2 mm, thick 1 mm\n",
    ),
    Code(
        "word-needs-work",
        "A word taken from a file rests on the work of that file.",
        "Only words and measures are taken; the file's own work is not done here.",
        'from "dots.posy" take dot\n',
        "word dot\n  takes on: part\n  ball: across 1 mm, at on\n",
        files={
            "dots.posy": "disc base: across 9 mm, thick 1 mm\n"
            "word dot\n  ball: across 1 mm, at base\n"
        },
    ),
    Code(
        "not-given",
        "A key is used that the line did not give.",
        "It has no usual value, and the line that used the word did not say it, so nothing can be "
        "worked out from it. Give it one: takes wide: length, default 1 mm. Handed on as it is, it only "
        "leaves that clause out.",
        "word dot\n  takes wide: length\n  ball: across wide * 2\ndot\n",
        "word dot\n  takes wide: length, default 1 mm\n  ball: across wide * 2\ndot\n",
    ),
    Code(
        "given-misplaced",
        "given stands outside a word, or asks for something not a key.",
        "given(key) asks what the line that used the word said.",
        'expect given(wide), else "no"\n',
        "word dot\n  takes wide: length\n  when given(wide)\n    ball: across wide\n",
    ),
    Code(
        "files-in-circle",
        "Files take each other in a circle.",
        "Neither could be read first.",
        'from "a.posy" take dot\n',
        'from "c.posy" take dot\n',
        files={
            "a.posy": 'from "b.posy" take dot\n',
            "b.posy": 'from "a.posy" take dot\n',
            "c.posy": "word dot\n  ball: across 1 mm\n",
        },
    ),
    Code(
        "file-not-read",
        "A file cannot be read.",
        "It is not there, or not a plain file, or outside the folder of the piece.",
        'from "gone.posy" take dot\n',
        'from "c.posy" take dot\n',
        files={"c.posy": "word dot\n  ball: across 1 mm\n"},
    ),
    Code(
        "file-outside",
        "A file is taken from outside the piece's own folder.",
        "A piece that was handed on must not read other files of the computer; only .posy "
        "files below its own folder are taken.",
        'from "../dots.posy" take dot\n',
        'from "c.posy" take dot\n',
        files={"c.posy": "word dot\n  ball: across 1 mm\n"},
    ),
    Code(
        "too-many-files",
        "The piece takes too many files.",
        "The cap keeps a hostile file from costing time without end.",
        "…\n",
        _BAR,
        shown=False,
    ),
)

CODES: Mapping[str, Code] = MappingProxyType({code.name: code for code in _ALL})
