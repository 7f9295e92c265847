"""Trade knowledge: tables with a source on every row, stone cuts, and words written in posy."""
