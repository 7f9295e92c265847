"""`posy start`: start a piece from a small example that can be made, or a workshop's file of prices."""

from __future__ import annotations

from pathlib import Path

from ..pages.starter import KINDS
from ..terminal import options as shared
from ..terminal import run as making
from ..terminal.forms import Arguments, Misuse
from ..terminal.output import say
from ..terminal.remarks import fault_text


def run(arguments: Arguments) -> int:
    """Write the piece or the file, if its name is free."""
    from ..files.atomic import write_new
    from ..house import FILE
    from ..house.page import blank
    from ..pages.starter import lesson_text, starter_text

    if arguments.bench:
        if arguments.name or arguments.of or arguments.lesson is not None:
            raise Misuse("--bench writes bench.toml: leave out NAME, --of and --lesson")
        path, text = Path(FILE), blank()
    elif arguments.lesson is not None:
        if arguments.name or arguments.of:
            raise Misuse("--lesson writes a lesson under its own name: leave out NAME and --of")
        path, text = Path(f"lesson-{arguments.lesson}.posy"), lesson_text(arguments.lesson)
    elif arguments.name is None:
        raise Misuse('posy start needs NAME, as in: posy start "Reed bar"')
    else:
        path, title = _named(arguments.name)
        text = starter_text(title, arguments.of or next(iter(KINDS)))
    faults = write_new(path, text.encode())
    if faults:
        fault_text(faults, arguments)
        return making.exit_code(faults)
    if arguments.bench:
        say(f"{path} is written: open it in a text editor, and fill in what you have a use for.")
        return shared.DONE
    import shlex

    say(f"{path} is written: open it in a text editor. Then type: posy watch {shlex.quote(str(path))}")
    say("It draws the piece at every save and tells what it weighs.")
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
