"""Windows through the wall of a bezel: as many tunnels as said, the bearing and the foot left whole.

A closed surface with g tunnels has V - E + F = 2 - 2 g (Euler, Poincaré); an open cup is a ring, one tunnel."""

import numpy as np
import pytest
from texts import Texts

from posy.compiler.making.pipeline import build, check

CUP = "stone one: {stone}, gem topaz\nbezel cup: for one, wall 0.8 mm, foot 5 mm, windows {windows}\n"
STONES = [("round 6 mm", 6), ("oval 9 x 7 mm", 8), ("emerald 9 x 7 mm", 4), ("marquise 10 x 5 mm", 6), ("pear 9 x 6 mm", 5)]


@pytest.mark.parametrize(("stone", "windows"), STONES)
def test_there_are_as_many_as_said_and_the_bearing_is_whole(stone: str, windows: int) -> None:
    made = build("p.posy", files=Texts({"p.posy": CUP.format(stone=stone, windows=windows)}))
    assert "thin-bearing" not in {one.code for one in made.faults}
    (part,) = made.parts
    edges = np.sort(np.concatenate([part.triangles[:, [k, k - 1]] for k in range(3)]), axis=1)
    euler = len(np.unique(part.triangles)) - len(np.unique(edges, axis=0)) + len(part.triangles)
    assert euler == 2 - 2 * (1 + windows)
    out = part.points[:, 2]
    open_ = np.unique(np.round(out[(out > -4.9) & (out < -0.9)], 2))
    assert open_.max() < -1.0 and open_.min() > -4.2  # metal under the girdle, and a rail at the foot


@pytest.mark.parametrize(("foot", "windows", "said"), [("1.8", 6, "no room for windows"), ("5", 20, "too many")])
def test_a_wall_without_room_is_told(foot: str, windows: int, said: str) -> None:
    text = CUP.replace("foot 5", f"foot {foot}").format(stone="round 6 mm", windows=windows)
    assert any(said in one.message for one in check("p.posy", files=Texts({"p.posy": text})).faults)
