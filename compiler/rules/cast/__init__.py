"""Rules of how a piece prints, pours and freezes, asked for by `posy cast`."""
