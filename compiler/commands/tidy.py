"""`posy tidy`: texts in the one layout, trade words taken over."""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from difflib import SequenceMatcher
from pathlib import Path
from typing import Any

from ...lang.faults import Fault
from ...lang.loader import Files, Folder, Texts
from ...lang.source import decode
from ...lang.unreadable import unreadable
from ..judging.remark import remark_record
from ..terminal import options as shared
from ..terminal import run as making
from ..terminal.forms import Arguments
from ..terminal.output import say, tell_data
from ..terminal.remarks import fault_text

STDIN = "-"
_MOST_TOLD = 12


@dataclass
class Tidied:
    """A text as it was and as it is tidied (the same where it cannot be read)."""

    path: str
    before: str = ""
    after: str = ""
    faults: list[Fault] = field(default_factory=list)


def run(arguments: Arguments) -> int:
    """Tidy every file; with --check only tell which are not."""
    from ..files.atomic import write_set

    looked = [_looked_at(path) for path in dict.fromkeys(arguments.pieces)]
    codes = []
    for one in looked:
        changed = one.after != one.before
        if one.path == STDIN:
            sys.stdout.write(one.before if one.faults else one.after)
        elif changed and not arguments.check:
            one.faults += write_set({Path(one.path): one.after.encode()})[1]
        untidy = changed and arguments.check
        codes.append(making.exit_code(one.faults) or (shared.FAULTS if untidy else shared.DONE))
    if arguments.show == "data":
        tell_data("tidy", pieces=[_record(one, arguments) for one in looked])
    else:
        for one in looked:
            _show(one, arguments)
    return making.worst(codes)


def _looked_at(path: str) -> Tidied:
    files: Files = Folder(path)
    try:
        data = sys.stdin.buffer.read() if path == STDIN else files.read(path)
    except (OSError, ValueError, RuntimeError) as error:
        return Tidied(path, faults=[unreadable(path, error, files.beside(path), None)])
    before, faults = decode(data, path)
    if faults:
        return Tidied(path, faults=faults)
    if path == STDIN:
        files = Texts({})
    from ..making.tidy import text_tidied

    after, faults = text_tidied(before, path, files)
    return Tidied(path, before, after, faults)


def _show(one: Tidied, arguments: Arguments) -> None:
    fault_text(one.faults, arguments, {one.path: one.before})
    if one.faults or one.after == one.before or one.path == STDIN:
        return
    if not arguments.check:
        say(f"{one.path}: tidied")
    elif arguments.show == "lines":
        print(f"{one.path}: not tidy")
    else:
        say(f"{one.path}: not tidy: {_lines(one)}")


def _lines(one: Tidied) -> str:
    """The lines of the text as it is that are laid out otherwise, in words."""
    before, after = one.before.splitlines(), one.after.splitlines()
    changed = [
        (a + 1, max(b, a + 1))
        for kind, a, b, _, _ in SequenceMatcher(None, before, after, autojunk=False).get_opcodes()
        if kind != "equal"
    ]
    told = [f"{a}" if a == b else f"{a} to {b}" for a, b in changed[:_MOST_TOLD]]
    more = [f"{len(changed) - _MOST_TOLD} more places"] if len(changed) > _MOST_TOLD else []
    if not changed:
        return "blank lines at its end"
    return ("line " if told == [f"{changed[0][0]}"] else "lines ") + ", ".join(told + more)


def _record(one: Tidied, arguments: Arguments) -> dict[str, Any]:
    return {
        "file": one.path,
        "tidy": not one.faults and one.after == one.before,
        "written": not one.faults and one.after != one.before and not arguments.check,
        "remarks": [remark_record(fault) for fault in one.faults],
    }
