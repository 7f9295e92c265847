"""Half pearls and other stones flat behind: in beads, in a cluster, and as they look once set."""

from __future__ import annotations

import numpy as np
import pytest
from manifold3d import Manifold
from texts import built, codes, made, metal_of

from posy.compiler.making.setting import as_set
from posy.lang.faults import Level

BEADS = "stone row: {}, row 4, gap 0.3 mm\nbar frame: size 16 x 5 x 2.4 mm, under row\nbead-set held: for row, in frame\n"
CLUSTER = "stone old: {}, gem garnet\n{}\ncluster pearls: for old, gem pearl, half-pearl 2 mm{}\n"


@pytest.mark.parametrize("stone", ["half-pearl 2 mm, gem pearl", "cabochon 3 x 3 mm, gem turquoise", "rose 3 mm, gem diamond"])
def test_a_flat_back_in_beads_keeps_its_ledge(stone: str) -> None:
    piece = built(BEADS.format(stone))
    assert not codes(piece, Level.WARNING)
    width = piece.stones[0].size[-1]
    (x, y, z), solid = piece.stones[0].frame[:, 3], metal_of(piece)
    under = solid.slice(z - 0.1)  # the hole is half as wide as the stone, by the usual figure of bead-set
    hole = Manifold.cylinder(1.0, width / 2).translate((x, y, z - 0.6)) - solid
    assert under.area() == pytest.approx(16 * 5 - 4 * np.pi * (width / 4) ** 2, rel=2e-3)
    assert hole.slice(z - 0.1).area() == pytest.approx(np.pi * (width / 4) ** 2, rel=0.02)


def test_beads_are_spread_on_half_a_dome_and_no_higher() -> None:
    piece = built(BEADS.format("half-pearl 2 mm, gem pearl"))
    top = piece.stones[0].frame[2, 3]
    high = {
        name: one.parts[0].points[:, 2].max() - top for name, one in (("cast", piece), ("set", as_set(piece)))
    }
    assert high["cast"] == pytest.approx(0.6 + 0.3, abs=0.01)
    assert 0.6 < high["set"] < 0.8


@pytest.mark.parametrize("more", ["", ", scalloped", ", number 16"])
@pytest.mark.parametrize("held", ["bezel cup: for old", "basket head: for old"])
@pytest.mark.parametrize("old", ["cabochon 8 x 6 mm", "oval 8 x 6 mm", "rose 8 x 6 mm"])
def test_a_cluster_of_half_pearls_gets_no_warning(old: str, held: str, more: str) -> None:
    piece = built(CLUSTER.format(old, held, more))
    assert not {*codes(piece, Level.WARNING)} - {"no-tool-room"}
    assert {one.cut for one in piece.stones[1:]} == {"half-pearl"} and len(piece.stones) > 12


def test_one_cut_is_said_of_the_stones_of_a_cluster() -> None:
    text = CLUSTER.format("oval 8 x 6 mm", "basket head: for old", "")
    assert codes(made(text.replace("2 mm\n", "2 mm, across 2 mm\n"))) == ["clauses-disagree"]
    assert codes(made(text.replace("half-pearl", "cabochon"))) == []
    (fault,) = made(text.replace("half-pearl", "across")).faults
    assert fault.code == "not-faceted" and "half-pearl 2 mm" in fault.remedy


def test_what_is_cut_for_a_pavilion_is_refused_to_a_rose_cut_as_to_a_cabochon() -> None:
    text = (
        "stone row: {} 3 mm, gem diamond, row 4, gap 0.2 mm\nbar rail: size 16 x 3 x 3 mm, under row\n"
        "u-cut u: for row, in rail, wide 3 mm"
    )
    assert "out-of-range" not in codes(made(text.format("round")))
    for cut in ("rose", "cabochon"):
        assert codes(made(text.format(cut)), Level.FAULT) == ["out-of-range"]


@pytest.mark.parametrize(("said", "remedy"), [
    ("rose 6 mm, gem pearl", "write cabochon in place of rose"),
    ("rose 6 mm, gem diamond, domed", "write cabochon in place of rose"),
    ("pear-rose 9 x 6 mm, gem diamond, domed", "write pear-cabochon in place of pear-rose"),
    ("rose 6 mm, gem diamond, flat", "leave 'flat' out, or name the cut whose outline it has"),
    ("rose-cut 6 mm, gem diamond", "write rose"),
    ("rose 6 mm, gem diamond, deep 1 mm", "measure from back to top"),
])  # fmt: skip
def test_a_rose_cut_has_facets_over_a_flat_back(said: str, remedy: str) -> None:
    (fault,) = made(f"stone one: {said}").faults
    assert fault.remedy.startswith(remedy)


def test_a_rose_cut_stands_in_its_bezel_on_its_back() -> None:
    text = "stone one: rose 6 mm, gem diamond\nbezel cup: for one, blind\n"
    assert not codes(built(text))
    piece = built(text.replace("6 mm,", "6 mm, deep 1.8 mm,"))
    assert not codes(piece)
    (stone,) = piece.stones
    assert stone.frame[2, 3] == 0.0
