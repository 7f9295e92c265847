"""`set-by`: a part set by a place of its own metal."""

from __future__ import annotations

import numpy as np
import pytest
from texts import codes, laid, made

BODY = "plate body: rectangle 6 x 20 mm, thick 2 mm\n"
# The part, and where its farthest point from the middle of the body then lies: closed form.
ENDS = [
    ("plate wing: rectangle 12 x 4 mm, thick 1 mm, at right of body, set-by left", (15, 0)),
    ("plate wing: rectangle 12 x 4 mm, thick 1 mm, at right of body, set-by right", (15, 0)),
    ("plate wing: rectangle 4 x 12 mm, thick 1 mm, at right of body, set-by bottom", (15, 0)),
    ("plate wing: rectangle 4 x 12 mm, thick 1 mm, at top of body, set-by bottom", (0, 22)),
    ("plate wing: rectangle 12 x 4 mm, thick 1 mm, at left of body, set-by right", (-15, 0)),
    ("plate wing: rectangle 12 x 4 mm, thick 1 mm, at right of body, set-by left, turn 90 deg", (0, 12)),
    ("workpiece wing: at right of body, set-by left\n  plate pane: rectangle 12 x 4 mm, thick 1 mm", (15, 0)),
    ("plate wing: rectangle 12 x 4 mm, thick 1 mm, at (3, 0 mm), set-by left", (15, 0)),
]


@pytest.mark.parametrize(("line", "far"), ENDS)
def test_it_goes_on_from_the_end_it_is_set_at(line: str, far: tuple[float, float]) -> None:
    points = np.concatenate([part.points for part in made(BODY + line).parts])[:, :2]
    way = np.array(far) / np.linalg.norm(far)
    assert (points @ way).max() == pytest.approx(np.linalg.norm(far), abs=1e-6)


def test_its_turn_is_about_its_root() -> None:
    frame = laid(f"{BODY}plate wing: rectangle 12 x 4 mm, thick 1 mm, at right of body, set-by left, turn 30 deg", "wing").frames[0]
    assert frame[:2, 3] == pytest.approx((3 + 6 * np.cos(np.pi / 6), 6 * np.sin(np.pi / 6)))


@pytest.mark.parametrize("line", ["bail loop: at top of body, set-by left", "spots dot: at face of body, set-by left"])
def test_what_has_no_such_place_is_told(line: str) -> None:
    assert {*codes(made(BODY + line))} & {"clause-idle", "not-offered"}


def test_by_an_end_a_part_moves_in_its_own_plane_alone():
    """Elementary geometry: its back stays on the ground on which it lies without."""
    wing = "plate wing: rectangle 12 x 4 mm, thick 1 mm, right 3 mm"
    lain, set_by = (laid(f"{BODY}{wing}{more}", "wing").frames[0] for more in ("", ", set-by left"))
    assert set_by[:, 3] == pytest.approx(lain[:, 3] + [6.0, 0.0, 0.0])
