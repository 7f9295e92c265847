"""A limit's figure that knows its limit."""

from __future__ import annotations

from ...stdlib.limits import Limit


class Bound(float):
    """The figure of a limit, in the limit's unit, or what a rule reckons from it: a share of a
    stone's width, a figure and some play. ``limit`` is the record it rests on."""

    limit: Limit

    def __new__(cls, figure: float, limit: Limit) -> Bound:
        """``figure`` as it rests on ``limit``."""
        made = super().__new__(cls, figure)
        made.limit = limit
        return made

    def __add__(self, other: float) -> Bound:
        """With so much more."""
        return Bound(float(self) + float(other), self.limit)

    def __mul__(self, other: float) -> Bound:
        """As a share of ``other``, or so many times."""
        return Bound(float(self) * float(other), self.limit)

    __radd__, __rmul__ = __add__, __mul__
