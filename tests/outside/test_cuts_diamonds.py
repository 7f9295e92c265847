"""The weight formula against 53,940 weighed diamonds.

Data: the open `diamonds` set (ggplot2's, prices and measures of 53,940 round diamonds) as
shipped in the package plotnine 0.15, file data/diamonds.csv. It is read as a file; plotnine
itself is never imported. Filter F: drop stones with a measure of 0 or less, then those whose
depth column and measures disagree by more than one point (mistyped measures)."""

from __future__ import annotations

import csv
import importlib.util
import os
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

from posy.stdlib import stones
from posy.stdlib.cuts import CUTS

DIAMOND = 3.52  # g/cm3, GM gemmology-dev.pages.dev/tools/measurement


@lru_cache(maxsize=1)
def rows() -> list[dict[str, str]] | None:
    """All rows of the data set, None when the package is not installed."""
    spec = importlib.util.find_spec("plotnine")
    places = (spec.submodule_search_locations or []) if spec else []
    for place in places:
        path = Path(place) / "data" / "diamonds.csv"
        if path.is_file():
            with path.open(newline="", encoding="utf-8") as file:
                return list(csv.DictReader(file))
    return None


class Diamonds:
    """Measured diamonds after filter F, as columns; D is the mean of the two diameters."""

    def __init__(self, table: list[dict[str, str]]) -> None:
        columns = "carat", "depth", "table", "x", "y", "z"
        figures = np.array([[float(row[c]) for c in columns] for row in table])
        grade = np.array([row["cut"] for row in table])
        self.whole = len(figures)
        keep = (figures[:, 3:] > 0).all(axis=1)
        self.measured = int(keep.sum())
        with np.errstate(divide="ignore", invalid="ignore"):
            depth = 200 * figures[:, 5] / (figures[:, 3] + figures[:, 4])
        keep &= np.abs(depth - figures[:, 1]) <= 1.0
        self.carat, self.depth, self.table, x, y, self.z = figures[keep].T
        self.across = (x + y) / 2
        self.ideal = grade[keep] == "Ideal"

    def ratio(self) -> np.ndarray:
        """Our formula over the scales, stone by stone."""
        cut = CUTS["round"]
        formula = [
            cut.carats(d, d, density=DIAMOND, depth=z)
            for d, z in zip(self.across.tolist(), self.z.tolist(), strict=True)
        ]
        return np.array(formula) / self.carat


@pytest.fixture(scope="module")
def diamonds() -> Diamonds:
    table = rows()
    if table is None:
        reason = "the diamonds data is not here: pip install --no-deps plotnine"
        if os.environ.get("POSY_ALL_OUTSIDE") == "1":
            pytest.fail(reason)
        pytest.skip(reason)
    return Diamonds(table)


@pytest.fixture(scope="module")
def ratio(diamonds: Diamonds) -> np.ndarray:
    return diamonds.ratio()


def test_the_set_is_the_one_we_know(diamonds: Diamonds):
    assert (diamonds.whole, diamonds.measured) == (53940, 53920)
    assert (len(diamonds.carat), int(diamonds.ideal.sum())) == (53840, 21531)
    assert np.median(diamonds.depth[diamonds.ideal]) == pytest.approx(61.8)
    assert np.median(diamonds.table[diamonds.ideal]) == pytest.approx(56.0)


def test_formula_against_the_scales_ideal_stones(diamonds: Diamonds, ratio: np.ndarray):
    ideal = ratio[diamonds.ideal]
    assert np.median(ideal) == pytest.approx(1.003941, abs=1e-5)
    assert np.percentile(ideal, 5) == pytest.approx(0.983558, abs=1e-5)
    assert np.percentile(ideal, 95) == pytest.approx(1.026510, abs=1e-5)
    within = [float((np.abs(ideal - 1) <= k).mean()) for k in (0.03, 0.05, 0.10)]
    assert within == pytest.approx([0.9644, 0.9990, 0.9998], abs=1e-4)


def test_formula_against_the_scales_all_stones(ratio: np.ndarray):
    assert np.median(ratio) == pytest.approx(0.997240, abs=1e-5)
    within = [float((np.abs(ratio - 1) <= k).mean()) for k in (0.03, 0.05, 0.10)]
    assert within == pytest.approx([0.8931, 0.9794, 0.9989], abs=1e-4)


def test_our_default_stone_weighs_like_the_median_ideal_stone(diamonds: Diamonds):
    """Solid x density over D^3, within 1 % of the set's median carat / D^3 (0.0037522)."""
    ideal = diamonds.ideal
    known = float(np.median(diamonds.carat[ideal] / diamonds.across[ideal] ** 3))
    assert known == pytest.approx(0.0037522, abs=1e-7)
    ours = stones.weigh(CUTS["round"], 6.5, 6.5, None, DIAMOND).carats_volume / 6.5**3
    assert ours == pytest.approx(known, rel=0.01)


@pytest.mark.parametrize(("across", "carats"), [(6.5, 1.03), (4.0, 0.24), (7.0, 1.28)])
def test_sizes_by_weight(diamonds: Diamonds, across: float, carats: float):
    """Median of ideal stones within 0.05 mm of a diameter, and what we say it weighs."""
    near = diamonds.ideal & (np.abs(diamonds.across - across) <= 0.05)
    assert np.median(diamonds.carat[near]) == pytest.approx(carats, abs=0.005)
    ours = CUTS["round"].carats(across, across, density=DIAMOND)
    assert ours == pytest.approx(carats, rel=0.02)


@pytest.mark.parametrize(("carats", "across"), [
    (0.25, 4.065), (0.30, 4.315), (0.50, 5.105), (0.75, 5.840), (1.00, 6.410), (1.50, 7.340),
    (2.00, 8.055),
])  # fmt: skip
def test_diameters_for_a_weight(diamonds: Diamonds, carats: float, across: float):
    """Median diameter of ideal stones of exactly a weight, and the one we give for it."""
    exact = diamonds.ideal & (diamonds.carat == carats)
    assert np.median(diamonds.across[exact]) == pytest.approx(across, abs=0.005)
    assert CUTS["round"].size_for(carats, DIAMOND)[1] == pytest.approx(across, rel=0.01)
