"""The narrowest gaps: slots and crevices in the metal that printing or casting would close.

The wall measure turned inside out: the thickness of the air. Faces must oppose within `facing`
degrees (20 by default, so open grooves are not slots). Between two beads that just overlap the
gap truly narrows to nothing; weigh such a place by its `area`.
"""

from __future__ import annotations

from .skin import Skin
from .thickness import MOST_SPOTS, Thickness, thickness


def narrowest(
    skin: Skin, limit: float, facing: float = 20.0, most_spots: int = MOST_SPOTS
) -> Thickness:
    """Narrowest gap in mm and the places under `limit` mm; the same method, error and fields
    as `thickness`. The figure is inf when there is none under the limit."""
    return thickness(
        skin.inside_out(), limit, facing, knives=False, beyond=False, most_spots=most_spots
    )
