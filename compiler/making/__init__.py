"""The whole way from a text to a finished piece, one piece or a series."""
