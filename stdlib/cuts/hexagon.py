"""Hexagon: six straight sides, a corner at either end; three tiers above and three below to a point."""

from __future__ import annotations

import numpy as np

from .outline import Drawn

SHAPE = Drawn(np.array([(0.5, 0.0), (0.25, 0.5), (-0.25, 0.5), (-0.5, 0.0), (-0.25, -0.5), (0.25, -0.5)]))
