"""Names of what the page shows, free of numpy: help reads them."""

STILLS = {
    "corner": "from a corner", "face": "straight on its face", "side": "from below the face",
    "end": "from the right", "back": "from behind", "lying": "lying on a table",
}  # fmt: skip
"""Pictures that can be taken of the page: how each looks at the piece."""
