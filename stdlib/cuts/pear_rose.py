"""Pear rose cut: the facets of a rose cut over the outline of a pear."""

from .pear import SHAPE as PEAR
from .rose import Rose

SHAPE = Rose(PEAR)
