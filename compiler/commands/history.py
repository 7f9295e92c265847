"""`posy history`: weight, stones and remarks of a piece over its revisions."""

from __future__ import annotations

import sys
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from ..terminal import options as shared
from ..terminal.forms import Arguments
from ..terminal.output import say, tell_data, tell_faults
from ..terminal.progress import Progress
from ..terminal.remarks import fault_text, width_for
from ..terminal.run import exit_code

if TYPE_CHECKING:
    from ..history.chart import Step
    from ..history.revision import Revision


def run(arguments: Arguments) -> int:
    """Make every revision that was not taken down, tell them in a table, draw them."""
    from ...lang.folding import width_of
    from ..files.atomic import write_set
    from ..history.chart import plot, summed, table
    from ..history.lookup import earlier, revisions_of

    found = revisions_of(arguments.piece, arguments.last)[::-1]
    if not found:
        _, faults = earlier(arguments.piece, None)
        return tell_faults("history", arguments.piece, faults, arguments)
    steps = _steps(found, arguments)
    if arguments.show == "data":
        tell_data("history", file=arguments.piece, revisions=[asdict(one) for one in steps])
    else:
        told = table(steps)
        if sys.stdout.isatty() and max(map(width_of, told)) > width_for(sys.stdout):
            told = [f"{one.name} {one.when}: {summed(one)}" for one in steps]
        for line in told:
            say(line)
    if not arguments.plot:
        return shared.DONE
    drawing = plot(steps, f"{Path(arguments.piece).stem}: {len(steps)} revisions")
    _, faults = write_set({Path(arguments.plot): drawing})
    fault_text(faults, arguments)
    return exit_code(faults)


def _steps(found: list[Revision], arguments: Arguments) -> list[Step]:
    """What each revision came to, the oldest first."""
    from ..history.chart import step
    from ..history.record import make
    from ..making.session import Session

    session, steps = Session(), []
    with Progress(arguments.piece) as progress:
        for number, one in enumerate(found):
            progress(one.told, number / len(found))
            record = one.record
            if record is None:
                record = make(one, session=session, tolerance=arguments.tolerance).record
            steps.append(step(one.name, one.when, one.note, record))
    return steps
