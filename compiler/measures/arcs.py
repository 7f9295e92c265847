"""Arcs round a stone, and whether contacts on them hold it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from .kinds import Flags, Ints

Arc = tuple[float, float]
"""From and to in degrees, counter-clockwise; to is never less than from and may pass 360."""


@dataclass(frozen=True)
class Held:
    """The largest arc without a contact and its middle, degrees; is_held: under 180, so it cannot slide
    out."""

    free: float
    middle: float
    is_held: bool


def held(contacts: Iterable[float | Arc]) -> Held:
    """Largest free arc between contacts, given as directions or arcs in degrees, any order.

    No contact at all leaves 360 free. Two opposite points leave exactly 180: not held."""
    arcs = sorted(_arc(contact) for contact in contacts)
    if not arcs:
        return Held(360.0, 0.0, False)
    reach = max(end for _, end in arcs) - 360.0
    free, middle = 0.0, 0.0
    for start, end in arcs:
        if start - reach > free + 1e-9:
            free, middle = start - reach, (start + reach) / 2 % 360.0
        reach = max(reach, end)
    return Held(free, middle, free < 180.0 - 1e-9)


def _arc(contact: float | Arc) -> Arc:
    """A contact as an arc that starts between 0 and 360."""
    start, end = contact if isinstance(contact, tuple) else (contact, contact)
    return start % 360.0, start % 360.0 + min(end - start, 360.0)


def runs(flags: Flags) -> list[tuple[Arc, list[int]]]:
    """Arcs round the circle where samples are set, each with its samples, k at 360 k/n degrees."""
    count, step = len(flags), 360.0 / max(len(flags), 1)
    if flags.all():
        return [((0.0, 360.0), list(range(count)))] if count else []
    starts = np.flatnonzero(flags & ~np.roll(flags, 1)).tolist()
    found = []
    for start in starts:
        size = int(np.argmin(np.roll(flags, -start)))
        members = [(start + k) % count for k in range(size)]
        found.append((((start - 0.5) * step, (start + size - 0.5) * step), members))
    return found


def circular_runs(flags: Flags) -> tuple[Ints, Ints, Ints]:
    """Runs of set flags in each row of (n, count) samples round a circle, in order: (row, first
    sample, how many). A row all set is one run from sample 0."""
    rows, count = flags.shape
    begins = flags & ~np.roll(flags, 1, axis=1)
    begins[:, 0] |= flags.all(axis=1)
    row, first = np.nonzero(begins)
    if not len(row):
        return row, first, row
    twice = np.concatenate((flags, flags, np.zeros((rows, 1), dtype=bool)), axis=1).reshape(-1)
    unset = np.flatnonzero(~twice)
    start = row * (2 * count + 1) + first
    size = np.minimum(unset[np.searchsorted(unset, start)] - start, count)
    return row, first, size


def longest_gap(flags: Flags) -> Ints:
    """The most samples in a row that are not set, for each row of (n, count) round a circle."""
    row, _, size = circular_runs(~flags)
    longest = np.zeros(len(flags), dtype=np.int64)
    np.maximum.at(longest, row, size)
    return longest
