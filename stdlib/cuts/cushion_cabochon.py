"""Cushion cabochon: a dome over the outline of a cushion."""

from .cabochon import Over
from .cushion import SHAPE as CUSHION

SHAPE = Over(CUSHION)
