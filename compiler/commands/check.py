"""`posy check`: find faults in the text, the plan and the metal; no file is written."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from ...lang.faults import Fault
from ..judging.remark import tally
from ..making.result import Built, Tried
from ..terminal import options as shared
from ..terminal import run as making
from ..terminal.forms import Arguments, Misuse
from ..terminal.output import remarks_data, say_of, tell, tell_data
from ..terminal.progress import Progress
from ..terminal.remarks import remarks_text, width_for


def run(arguments: Arguments) -> int:
    """Check every piece; the exit code is that of the worst."""
    if arguments.apply and not arguments.mend:
        raise Misuse("--apply goes with --mend")
    if arguments.page and arguments.plan:
        raise Misuse("--page lists what the metal shows; leave --plan out")
    settings = shared.settings_of(arguments.set)
    metal = arguments.metal
    codes, records, seen = [], [], []
    for path in arguments.pieces:
        looked = _looked_at(path, arguments, settings, metal)
        built, changed = looked.built, ""
        if arguments.mend:
            built, changed = _mended(looked, arguments, settings, metal)
        seen.append(built)
        codes.append(making.exit_code(built.faults, strict=arguments.strict))
        if arguments.show == "data":
            record = {"file": built.path, **remarks_data(built, built.faults)}
            records.append({**record, "mend": changed} if arguments.mend else record)
        else:
            sys.stdout.write(changed)
            tell(built, built.faults, arguments, sys.stdout)
            if arguments.show == "full":
                where = " in the text and the plan" if arguments.plan else ""
                say_of(built, tally(built.faults, where), arguments)
    if arguments.show == "data":
        tell_data("check", pieces=records)
    if arguments.page:
        trouble = _write_page(Path(arguments.page), seen)
        sys.stderr.write(remarks_text(trouble, {}, "lines", False))
        codes.append(making.exit_code(trouble))
    return making.worst(codes)


def _looked_at(path: str, arguments: Arguments, settings: Any, metal: str | None) -> Tried:
    """The piece checked: its text, its plan and, without --plan, its metal, the remedies tried."""
    from ..making.pipeline import check
    from ..making.tried import built_and_tried

    if arguments.plan:
        return Tried(check(path, settings=settings, metal=metal))
    with Progress(path) as progress:
        return built_and_tried(path, settings=settings, metal=metal, progress=progress, rest=True)


def _write_page(page: Path, pieces: Sequence[Built]) -> Sequence[Fault]:
    """Write the page of what was found; what is written by hand in it stays."""
    from ..files.atomic import write_set
    from ..pages.gallery import page_of

    try:
        held = page.read_text("utf-8")
    except FileNotFoundError:
        held = ""
    except (OSError, UnicodeError) as trouble:
        return [Fault("file-not-read", f"{page} could not be read: {trouble}")]
    _, faults = write_set({page: page_of(held, pieces).encode()})
    return faults


def _mended(looked: Tried, arguments: Arguments, settings: Any, metal: str | None) -> tuple[Built, str]:
    """The piece as mended (with --apply), and the changes: those tried that cure, else those offered."""
    from ..files.atomic import write_set
    from ..judging.mend import changes, mended

    built, own = looked.built, looked.built.own_texts
    fresh = looked.texts or mended(built.faults, own).texts
    shown = changes(own, fresh, width=width_for(sys.stdout))
    if not arguments.apply or not fresh:
        return built, shown
    _, trouble = write_set({Path(path): text.encode() for path, text in fresh.items()})
    if trouble:
        return replace(built, faults=(*built.faults, *trouble)), shown
    return _looked_at(built.path, arguments, settings, metal).built, shown
