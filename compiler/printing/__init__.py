"""Before the metal: how a piece lies on the printer, in layers, on its supports. Lengths mm.

Build frame: z away from the plate, layer 0 on it. Air, islands, overhangs and cups are read off the
piece cut into layers and pixels as the printer will."""
