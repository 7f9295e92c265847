"""The end links of cable chains go round the wire of the loops they meet, however those lie."""

from itertools import product

import numpy as np
import pytest

from posy.compiler.bench.hung import openings
from posy.compiler.bench.linked import link_wires
from posy.compiler.bench.slid import along
from posy.compiler.making.pipeline import check
from posy.lang.loader import Texts

PLAY = 0.05  # mm, the least that tight-link wants
TURNS = "", ", tilt 90 deg", ", tilt 40 deg"
STATIONS = """piece "Stations and a clasp"
station-chain trace: long 240 mm, stations 2, every 60 mm, room 13.48 mm, clasp-room 18.96 mm, bought
casting station: at front of trace
  bar cup: size 5 x 5 x 2 mm, inward 1 mm
  jump-ring west: left 4.34 mm{}, wire 1 mm, inside 2.8 mm
  jump-ring east: right 4.34 mm{}, wire 1 mm, inside 2.8 mm
casting box
  box-clasp lock: at clasp of trace, loop 2.2 mm
casting key
  box-clasp tongue: at clasp of trace, tongue, loop 2.2 mm
"""
LAID = """piece "A chain between rings"
path way: through (0, 0) over (16, -9) to (32, 0 mm)
chain trace: along way, wire 0.9 mm, bought
jump-ring first: at pick(ends of way, 1), right 1.05 mm{}, wire 0.9 mm, inside 2.6 mm
jump-ring last: at pick(ends of way, 2), right 1.05 mm{}, wire 0.9 mm, inside 2.6 mm
"""

SHORT = """piece "Short stretches"
station-chain trace: long 180 mm, wire 0.7 mm, stations 3, every {room}, loop-wire 0.9 mm, bought
casting station: at station of trace
  bar cup: size 5 x 5 x 2 mm, inward 1 mm
  jump-ring west: left 4.5 mm{first}, wire 0.9 mm, inside 2 mm
  jump-ring east: right 4.5 mm{last}, wire 0.9 mm, inside 2 mm
"""


def rings_and_links(path):
    """Middle lines (n, 3) of the wire of all rings, and of all links, each with its thickness, mm."""
    piece = check(str(path)).piece
    turn = np.linspace(0.0, 2 * np.pi, 240, endpoint=False)[:, None]
    rings = []
    for loop, frames in (pair for one in piece.features if one.opening for pair in openings(one)):
        inside, wire = loop.opening
        rings += [
            (f[:, 3] + (inside + wire) / 2 * (np.cos(turn) * f[:, 0] + np.sin(turn) * f[:, 1]), wire)
            for f in frames
        ]
    return rings, [(along(line.points), thick) for _, line, thick in link_wires(piece.features)]


@pytest.mark.parametrize("text", (STATIONS, LAID))
@pytest.mark.parametrize("turns", [*product(TURNS, repeat=2)])
def test_links_fit(tmp_path, text, turns):
    path = tmp_path / "chain.posy"
    path.write_text(text.format(*turns))
    rings, links = rings_and_links(path)
    assert rings and links
    for ring, wire in rings:
        far = [
            np.linalg.norm(ring[:, None] - spots[None], axis=2).min() - (wire + thick) / 2
            for spots, thick in links if np.linalg.norm(spots.mean(axis=0) - ring.mean(axis=0)) < 8.0
        ]  # fmt: skip
        assert PLAY < min(far) < 0.5  # the nearest hangs in it, free


@pytest.mark.parametrize("every", ("24 mm", "23 mm"))
@pytest.mark.parametrize("turns", [*product(TURNS[:2], repeat=2)])
def test_six_links_and_four_fit_in_a_round(tmp_path, every, turns):
    """Turned about a quarter between them, as far as the play of each in the next lets it."""
    text = SHORT.format(room=f"{every}, room 12.8 mm", first=turns[0], last=turns[1])
    (tmp_path / "chain.posy").write_text(text)
    rings, links = rings_and_links(tmp_path / "chain.posy")
    for ring, wire in rings:
        far = [np.linalg.norm(ring[:, None] - spots[None], axis=2).min() - (wire + thick) / 2 for spots, thick in links]
        assert PLAY < min(far) < 0.5
    middles = [spots.mean(axis=0) for spots, _ in links]
    for k, (spots, thick) in enumerate(links):
        near = [j for j in range(k) if np.linalg.norm(middles[j] - middles[k]) < 4.0]
        assert all(np.linalg.norm(spots[:, None] - links[j][0][None], axis=2).min() - thick > PLAY for j in near)


def test_a_clasp_is_let_in_besides_the_stations(tmp_path):
    path = tmp_path / "stations.posy"
    path.write_text(STATIONS.format("", "").replace("stations 2", "stations 3"))
    piece = check(str(path)).piece
    counted = {one.name: len(one.frames) for one in piece.features}
    assert [counted[f"trace.{name}"] for name in ("station", "front", "clasp")] == [3, 3, 1]


def test_a_path_is_found_by_its_name_in_the_block_it_is_drawn_in() -> None:
    ring = "casting {0}\n  path bow: round {1} mm\n  wire hoop: along bow, round 1.6 mm\n"
    text = ring.format("a", 20) + ring.format("b", 30) + "path top: round 40 mm\ncasting c\n  wire hoop: along top, round 1.6 mm\n"
    piece = check("p.posy", files=Texts({"p.posy": text})).piece
    assert piece is not None
    named = {one.name: piece.course(one.index) for one in piece.features if one.name.endswith("hoop")}
    assert {name: piece.features[k].name for name, k in named.items()} == {"a.hoop": "a.bow", "b.hoop": "b.bow", "c.hoop": "top"}
