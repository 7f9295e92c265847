"""Pear cabochon: a dome over the outline of a pear."""

from .cabochon import Over
from .pear import SHAPE as PEAR

SHAPE = Over(PEAR)
