"""From a command's options to a built piece, and from a built piece to an exit code."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from typing import Any

from ...lang.faults import Fault, Level
from ..making.result import Built
from . import options as shared
from .progress import Progress


def built_piece(
    path: str,
    arguments: argparse.Namespace,
    *,
    silent: bool = False,
    settings: Mapping[str, Any] | None = None,
    metal: str | None = None,
    **other: Any,
) -> Built:
    """Build the piece at ``path`` with the options given; progress goes to stderr.

    ``settings`` and ``metal`` come before those of the options (a series sets them).
    """
    from ..making.pipeline import build

    progress = None if silent else Progress(path)
    try:
        return build(
            path,
            settings={**shared.settings_of(arguments.set), **(settings or {})},
            metal=metal or metal_name(arguments.metal),
            tolerance=arguments.tolerance,
            progress=progress,
            **other,
        )
    finally:
        if progress:
            progress.clear()


def metal_name(name: str | None) -> str | None:
    """The table's own name for ``--metal``; Misuse for a metal it does not have."""
    if name is None:
        return None
    from ...lang.suggest import did_you_mean
    from ...stdlib.alloys import ALLOYS, find_alloy

    alloy = find_alloy(name)
    if alloy is None:
        kinds = [row.name for row in ALLOYS.values() if row.family == name]
        if kinds:
            raise shared.Misuse(f"say which {name}: {', '.join(kinds)}")
        names = [one for row in ALLOYS.values() for one in (row.name, *row.also)]
        hint = did_you_mean(name, names) or "posy weigh lists them"
        raise shared.Misuse(f"no metal {name!r}; {hint}")
    return alloy.name


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
