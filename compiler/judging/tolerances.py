"""What counts as the same, and what as too small to matter, to the measures on metal."""

SAME = 0.03  # mm, a wall this near to a stated figure is that wall
FACETED = 0.5  # deg, two faces of a curve cut into chords of 5 microns turn by more: 2.5 at a radius of 20 mm
SMALL_WALL = 0.05  # mm2 of both faces; less is a crumb where two cuts meet
SMALL_GAP = 0.35  # mm2 of both sides together; less is the corner where two faces meet
WIRE_LIMIT = 2.0  # mm, thicker wire is never slender in a piece of jewelry
