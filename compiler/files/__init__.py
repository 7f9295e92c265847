"""The files a piece is handed over as."""
