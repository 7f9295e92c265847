"""From a command's options to a built piece, and from a built piece to an exit code."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import nullcontext
from typing import TYPE_CHECKING, Any

from ...lang.faults import Fault, Level
from ..making.result import Built
from . import options as shared
from .forms import Arguments, Misuse
from .progress import Progress

if TYPE_CHECKING:
    from ..files.jobs import Making


def built_piece(
    path: str, arguments: Arguments, *, silent: bool = False, settings: Mapping[str, Any] | None = None,
    metal: str | None = None, tried: bool = False, **other: Any,
) -> Built:
    """Build the piece at ``path`` with the options given; progress goes to stderr.

    ``settings`` and ``metal`` come before those of the options (a series sets them); remedies of what keeps
    it from being made are ``tried`` where they are wanted."""
    from ..making.pipeline import build

    with nullcontext() if silent else Progress(path) as progress:
        how: dict[str, Any] = {
            "settings": {**shared.settings_of(arguments.set), **(settings or {})},
            "metal": metal or arguments.metal, "tolerance": arguments.tolerance, "progress": progress,
        }
        how |= other
        if not tried:
            return build(path, **how)
        from ..making.tried import built_and_tried

        return built_and_tried(path, only_faults=True, **how).built


def in_series(path: str, checked: Built) -> list[Making]:
    """The makings that the series lines of a piece list. Raises Misuse where it has none."""
    from ..files.jobs import makings_of

    if not checked.series:
        raise Misuse(f"{path} has no series line; leave --series out")
    return makings_of(checked.series)


def exit_code(faults: Sequence[Fault], *, strict: bool = False) -> int:
    """What a command says with its exit code about ``faults``."""
    if any(fault.code in shared.FILE_CODES for fault in faults):
        return shared.FILE_TROUBLE
    levels = {fault.level for fault in faults}
    if Level.FAULT in levels or (strict and Level.WARNING in levels):
        return shared.FAULTS
    return shared.DONE


def worst(codes: Sequence[int]) -> int:
    """The exit code for several pieces: trouble with a file outweighs faults in a text."""
    return max(codes, default=shared.DONE)
