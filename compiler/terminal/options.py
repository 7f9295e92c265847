"""What all commands share: exit codes, common options, reading of option values."""

from __future__ import annotations

import argparse
import math
import re
from collections.abc import Mapping, Sequence

DONE = 0
FAULTS = 1
WRONG_USE = 2
FILE_TROUBLE = 3
OUR_BUG = 4
INTERRUPTED = 130
PIPE_CLOSED = 141

EXIT_CODES = """\
exit codes:
  0    done
  1    faults in the text (or warnings, with --strict)
  2    the command was used wrongly
  3    a file could not be read or written
  4    a fault in posy itself; one line says where its details are
  130  interrupted
  141  the program that read the output stopped reading"""

# Codes of faults about files rather than the text in them.
FILE_CODES = frozenset({"file-not-read", "file-not-written", "file-exists"})

_FIGURE = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+))\s*([^\d\s]*)\s*")
FINEST, COARSEST = 0.0005, 0.2


class Misuse(Exception):
    """The command was used in a way that its options alone do not show; exit code 2."""


def common_options(parser: argparse.ArgumentParser) -> None:
    """How findings are shown."""
    parser.add_argument(
        "--format",
        choices=("human", "short", "json"),
        default="human",
        help="findings with the line they stand in, one line each, or all as JSON",
    )
    parser.add_argument(
        "--notes", action="store_true", help="show notes in full too, not a line each"
    )
    parser.add_argument(
        "--no-colour", action="store_true", help="no colour (there is none outside a terminal)"
    )


def piece_options(parser: argparse.ArgumentParser, *, several: bool) -> None:
    """Which piece, and which of its measures are set from outside."""
    if several:
        parser.add_argument("pieces", nargs="+", metavar="PIECE.posy", help="the pieces")
    else:
        parser.add_argument("piece", metavar="PIECE.posy", help="the piece")
    parser.add_argument(
        "--set",
        action="append",
        type=setting,
        default=[],
        metavar="NAME=VALUE",
        help="set a measure, as in --set across=2.8mm; may be given several times",
    )


def metal_options(parser: argparse.ArgumentParser) -> None:
    """How finely curves are made, and in which metal."""
    parser.add_argument(
        "--tolerance",
        type=tolerance,
        metavar="LENGTH",
        help="how far a flat may stand off a true curve, as in 0.005mm",
    )
    metal_option(parser)


def metal_option(parser: argparse.ArgumentParser) -> None:
    """In which metal."""
    parser.add_argument("--metal", metavar="NAME", help="make it in another metal")


def settings_of(pairs: Sequence[tuple[str, str]]) -> Mapping[str, str]:
    """The --set pairs as a mapping; Misuse when a measure is set twice."""
    settings: dict[str, str] = {}
    for name, value in pairs:
        if name in settings:
            raise Misuse(f"--set gives {name} twice: {settings[name]} and {value}")
        settings[name] = value
    return settings


def setting(text: str) -> tuple[str, str]:
    """``name=value`` as a pair."""
    name, equals, value = text.partition("=")
    if not equals or not name.strip() or not value.strip():
        raise argparse.ArgumentTypeError(f"{text!r} should be NAME=VALUE, as in across=2.8mm")
    return name.strip(), value.strip()


def tolerance(text: str) -> float:
    """A length such as ``0.005mm`` in mm, within what makes sense."""
    from ...lang.values import LENGTH, factors_to

    found = _FIGURE.fullmatch(text)
    factors = factors_to(LENGTH)
    if not found or found[2] not in factors:
        bare = found is not None and not found[2]
        hint = f"; write {text.strip()}mm" if bare else ""
        raise argparse.ArgumentTypeError(f"{text!r} is not a length such as 0.005mm{hint}")
    length = float(found[1]) * factors[found[2]]
    if not FINEST <= length <= COARSEST:
        raise argparse.ArgumentTypeError(
            f"{text} is out of range: from {FINEST} mm to {COARSEST} mm"
        )
    return length


def share(text: str) -> float:
    """A shrinkage such as ``1.25%`` as a share."""
    from ..files.formats import MOST_SHRINK

    found = _FIGURE.fullmatch(text)
    if not found or found[2] != "%":
        hint = f"; write {text.strip()}%" if found and not found[2] else ""
        raise argparse.ArgumentTypeError(f"{text!r} is not a share such as 1.25%{hint}")
    value = float(found[1]) / 100.0
    if not 0.0 <= value <= MOST_SHRINK or not math.isfinite(value):
        raise argparse.ArgumentTypeError(
            f"{text} is out of range: from 0% to {MOST_SHRINK * 100:g}%"
        )
    return value


def formats(text: str) -> tuple[str, ...]:
    """``stl,3mf`` as format names."""
    from ...lang.suggest import did_you_mean
    from ..files.formats import FORMATS

    names = tuple(dict.fromkeys(one.strip().lower() for one in text.split(",") if one.strip()))
    for name in names:
        if name not in FORMATS:
            hint = did_you_mean(name, FORMATS) or f"there are {', '.join(FORMATS)}"
            raise argparse.ArgumentTypeError(f"no format {name!r}; {hint}")
    if not names:
        raise argparse.ArgumentTypeError(f"say which of {', '.join(FORMATS)}")
    return names


def alloys(text: str) -> tuple[str, ...]:
    """``gold-585-yellow,platinum`` as names of the table, in its order; ``all`` for all."""
    from ...lang.suggest import did_you_mean
    from ...stdlib.alloys import ALLOYS, find_alloy

    families = {alloy.family for alloy in ALLOYS.values()}
    chosen: set[str] = set()
    for name in filter(None, (one.strip() for one in text.split(","))):
        alloy = find_alloy(name)
        if alloy is not None and name not in families:
            chosen.add(alloy.name)
        elif name == "all" or name in families:
            chosen |= {row.name for row in ALLOYS.values() if name in ("all", row.family)}
        else:
            hint = did_you_mean(name, [*ALLOYS, *families]) or "posy weigh lists them"
            raise argparse.ArgumentTypeError(f"no metal {name!r}; {hint}")
    return tuple(name for name in ALLOYS if name in chosen)


def file_options(parser: argparse.ArgumentParser) -> None:
    """Which files are written, and where."""
    from ..files.formats import FORMATS, USUAL

    listed = "; ".join(f"{name}: {what}" for name, what in FORMATS.items())
    parser.add_argument(
        "--as",
        dest="formats",
        type=formats,
        default=USUAL,
        metavar="LIST",
        help=f"formats, with commas between (usual: {','.join(USUAL)}). {listed}",
    )
    parser.add_argument(
        "-o",
        "--into",
        metavar="FOLDER",
        help="where the files go (usual: the folder out beside the piece)",
    )
    parser.add_argument(
        "--shrink",
        type=share,
        default=0.0,
        metavar="SHARE",
        help="make the meshes larger by what casting takes, as in 1.25%%: 1/(1 - 0.0125) times;"
        " file names say so",
    )
    parser.add_argument(
        "--stones",
        action="store_true",
        help="put the stones into 3MF and OBJ too, as own objects",
    )
