"""`posy since`: what has changed in a piece since an earlier revision."""

from __future__ import annotations

from ..terminal.forms import Arguments, Misuse
from ..terminal.output import tell_faults
from . import compare


def run(arguments: Arguments) -> int:
    """Find the revision, make both, tell what changed."""
    from ..history.lookup import earlier, now

    path, *rest = arguments.words
    if len(rest) > 1:
        raise Misuse("posy since takes a piece, then at most one revision or day")
    before, faults = earlier(path, rest[0] if rest else None)
    if before is None:
        return tell_faults("since", path, faults, arguments)
    return compare.told(before, now(path), arguments, "since")
