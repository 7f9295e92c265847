"""Plain geometry of the bench: frames, lines, outlines, surfaces, spacing along a line. Knows no word."""
