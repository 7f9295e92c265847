"""`posy editor`: the language server an editor starts, and colours for editors."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from ..terminal import options as shared
from ..terminal.forms import Arguments
from ..terminal.remarks import fault_text
from ..terminal.run import exit_code

NEEDS = "posy editor talks to editors by pygls, which is not installed: pip install 'posy-lang[editor]'"


def run(arguments: Arguments) -> int:
    """Write colours into a folder, or answer an editor until it ends the talk."""
    if arguments.folder is not None:
        return _colours(arguments)
    try:
        from ..editor.server import desk
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] not in ("pygls", "lsprotocol", "cattrs", "attrs", "attr"):
            raise
        print(f"posy: {NEEDS}", file=sys.stderr)
        return shared.WRONG_USE
    if sys.stdin.isatty():
        print("posy: an editor starts this and talks to it; see stdlib/guide/editors.md", file=sys.stderr)
    # The server shuts its output at the end; ours stays open, as for every command.
    server = desk()
    try:
        server.start_io(sys.stdin.buffer, os.fdopen(os.dup(sys.stdout.fileno()), "wb"))
    finally:
        server.close()
    return shared.DONE


def _colours(arguments: Arguments) -> int:
    """The files that colour a text, in the folder named."""
    from ..editor.colouring import files
    from ..files.atomic import write_set
    from ..making.pipeline import all_words

    folder = Path(arguments.folder)
    written, faults = write_set({folder / name: text for name, text in files(all_words()).items()})
    fault_text(faults, arguments)
    for path in written:
        print(path)
    return exit_code(faults)
