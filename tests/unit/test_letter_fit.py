"""Letters made as large as fit inside the rim of their face."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest
from texts import made

built = partial(made, check_metal=False)


@pytest.mark.parametrize("letters", ["EK", "M", "ANNA"])
def test_letters_fill_their_face_to_the_margin(letters: str) -> None:
    """On a disc of 16 mm no spot of the letters lies farther out than 8 mm less the margin, and one lies
    there: elementary geometry."""
    text = (
        "disc medal: across 16 mm, thick 1.6 mm\n"
        f'engrave one: letters "{letters}", within rim of medal, margin 1.2 mm, raised, at face of medal, in medal'
    )
    (part,) = built(text).parts
    top = part.points[part.points[:, 2] > 1.9]
    assert float(np.hypot(top[:, 0], top[:, 1]).max()) == pytest.approx(6.8, abs=0.03)


def test_where_nothing_fits_that_is_told() -> None:
    text = "disc medal: across 4 mm, thick 1 mm\n"
    text += 'engrave one: letters "ANNA", within rim of medal, margin 1.9 mm, at face of medal, in medal'
    assert [fault.code for fault in built(text).faults] == ["letters-not-set"]
