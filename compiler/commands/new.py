"""`posy new`: start a piece from a small example that builds."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from ..judging.messages import findings_text, wants_colour
from ..terminal import options as shared
from ..terminal import run as making

DETAILS = (
    "A small pendant is written to NAME.posy (a folder may stand before it), to be changed "
    "line by line. A file that is there already is never touched."
)
EXAMPLES = (
    'posy new "Reed bar"',
)


def options(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("name", metavar="NAME", help='as in "Reed bar", or pieces/reed-bar')
    parser.add_argument("--no-colour", action="store_true", help="no colour")


def run(arguments: argparse.Namespace) -> int:
    """Write the piece, if its name is free."""
    from ..files.atomic import write_new
    from ..pages.starter import starter_text

    path, title = _named(arguments.name)
    faults = write_new(path, starter_text(title).encode())
    if faults:
        colour = wants_colour(sys.stderr, arguments.no_colour)
        sys.stderr.write(findings_text(faults, {}, "human", colour))
        return making.exit_code(faults)
    print(f"{path} is written; see it with: posy watch {_quoted(path)}")
    return shared.DONE


def _named(name: str) -> tuple[Path, str]:
    """Path and title: "Reed bar" becomes reed-bar.posy, titled Reed bar."""
    path = Path(name)
    stem = path.stem if path.suffix == ".posy" else path.name
    letters = "".join(one if one.isalnum() or one in "-_" else "-" for one in stem.strip())
    slug = "-".join(part for part in letters.split("-") if part).lower()
    if not slug:
        raise shared.Misuse(f"{name!r} has no letters to make a file name of")
    title = " ".join(stem.replace("-", " ").replace("_", " ").replace('"', " ").split())
    return path.parent / f"{slug}.posy", title[:1].upper() + title[1:]


def _quoted(path: Path) -> str:
    """The path as a shell takes it."""
    import shlex

    return shlex.quote(str(path))
