"""Names of what the page shows, free of numpy: help reads them."""

from ..drawing.names import VIEW_HELP

STILLS = {name: VIEW_HELP[name] for name in ("corner", "face", "side", "end", "back")} | {
    "lying": "lying on a table"
}
"""Pictures that can be taken of the page: how each looks at the piece, as the views of a drawing do."""
