"""Did you mean: the nearest name among those that would do."""

from __future__ import annotations

from collections.abc import Iterable


def distance(left: str, right: str, most: int) -> int:
    """Damerau-Levenshtein distance (neighbours swapped count one), or ``most + 1`` if more."""
    if abs(len(left) - len(right)) > most:
        return most + 1
    before: list[int] = []
    row = list(range(len(right) + 1))
    for i, a in enumerate(left, 1):
        older, before, row = before, row, [i]
        for j, b in enumerate(right, 1):
            cost = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (a != b))
            if older and j > 1 and a == right[j - 2] and left[i - 2] == b:
                cost = min(cost, older[j - 2] + 1)
            row.append(cost)
        if min(row) > most:
            return most + 1
    return min(row[-1], most + 1)


def nearest(name: str, among: Iterable[str]) -> str | None:
    """The name of ``among`` nearest to ``name``: one slip for names under five letters, else
    two, capitals counting for nothing; None if none is near. Of several as near, the one with
    the same letters (two were swapped), then the one that starts most alike, then the first."""
    if len(name) > 40:
        return None
    limit = 1 if len(name) < 5 else 2
    plain = name.casefold()
    best: tuple[tuple[int, bool, int], str] | None = None
    for other in among:
        if other == name:
            continue
        far = distance(plain, other.casefold(), limit)
        if far > limit or 2 * far > min(len(plain), len(other)):
            continue
        swapped = sorted(plain) == sorted(other.casefold())
        rank = far, not swapped, -_shared(plain, other.casefold())
        if best is None or rank < best[0]:
            best = rank, other
    return best[1] if best else None


def _shared(left: str, right: str) -> int:
    """How many characters both start with."""
    return next(
        (i for i, (a, b) in enumerate(zip(left, right, strict=False)) if a != b),
        min(len(left), len(right)),
    )


def did_you_mean(name: str, among: Iterable[str]) -> str | None:
    """The remedy line for an unknown ``name``, or None."""
    near = nearest(name, among)
    return f"did you mean '{near}'?" if near else None
