"""`posy start`: start a piece from a small example that can be made."""

from __future__ import annotations

import sys
from pathlib import Path

from ..terminal import options as shared
from ..terminal import run as making
from ..terminal.forms import Arguments, Misuse
from ..terminal.remarks import remarks_text, wants_colour, width_for


def run(arguments: Arguments) -> int:
    """Write the piece, if its name is free."""
    from ..files.atomic import write_new
    from ..pages.starter import starter_text

    path, title = _named(arguments.name)
    faults = write_new(path, starter_text(title).encode())
    if faults:
        colour = wants_colour(sys.stderr, arguments.no_colour)
        sys.stderr.write(remarks_text(faults, {}, "full", colour, width=width_for(sys.stderr)))
        return making.exit_code(faults)
    print(f"{path} is written. See it with: posy draw {_quoted(path)}")
    print(f"Change a line, save, and see what it weighs with: posy watch {_quoted(path)}")
    return shared.DONE


def _named(name: str) -> tuple[Path, str]:
    """Path and title: "Reed bar" becomes reed-bar.posy, titled Reed bar."""
    path = Path(name)
    stem = path.stem if path.suffix == ".posy" else path.name
    letters = "".join(one if one.isalnum() or one in "-_" else "-" for one in stem.strip())
    slug = "-".join(part for part in letters.split("-") if part).lower()
    if not slug:
        raise Misuse(f"'{name}' has no letters to make a file name of")
    title = " ".join(stem.replace("-", " ").replace("_", " ").replace('"', " ").split())
    return path.parent / f"{slug}.posy", title[:1].upper() + title[1:]


def _quoted(path: Path) -> str:
    """The path as a shell takes it."""
    import shlex

    return shlex.quote(str(path))
