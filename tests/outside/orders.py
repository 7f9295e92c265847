"""A workshop, its prices, and the orders it sends, as others read them: meshes by trimesh, pages by lxml,
tables as plain text. For the tests of sheets and costs."""

import csv
import json
import re
import shutil
import tomllib
from functools import cached_property
from pathlib import Path

import numpy as np
import pytest
import trimesh
from lxml import html

import posy.compiler.command
from posy.compiler.command import main
from posy.compiler.making.pipeline import build

ROOT = Path(posy.compiler.command.__file__).parents[1]
HOUSE = Path(__file__).with_name("orders.toml").read_text("utf-8")
TOML = tomllib.loads(HOUSE)
COUNT, SHRINK, DATE = 3, 0.0125, "2025-03-31"
SLAB = """piece "Slip of lapis"
  metal gold-750-white
bar tray: size 18 x 12 x 2.4 mm
stone slab: oval 12 x 8 mm, flat, gem lapis, on tray, level table
inlay pocket: for slab, in tray
"""


def table_of(name):
    """A table of stdlib as plain rows."""
    lines = (ROOT / f"stdlib/tables/{name}.tsv").read_text("utf-8").splitlines()
    return list(csv.DictReader([line for line in lines if not line.startswith("#")], delimiter="\t"))


def rows_of(name):
    return {next(iter(row.values())): row for row in table_of(name)}


ALLOYS, GEMS, EXEMPT = rows_of("alloys"), rows_of("gems"), rows_of("hallmarks")


def figures(text):
    return [float(one.replace(",", "")) for one in re.findall(r"-?\d[\d,]*\.?\d*", text)]


def marking(alloy, grams):
    """What UK law asks of so many grams: exempt below the family's mass, doubtful within 1 % of it."""
    below = float(EXEMPT[ALLOYS[alloy]["family"]]["exempt_below"])
    if abs(grams - below) <= 0.01 * below:
        return "at or near the limit"
    return "exempt" if grams < below else "needs a hallmark"


def page(path):
    """A sheet as lxml reads it, without what is not shown."""
    tree = html.parse(str(path)).getroot()
    for gone in tree.xpath("//style | //script"):
        gone.getparent().remove(gone)
    return tree


def facts(tree):
    return {div.xpath("string(dt)"): div.xpath("string(dd)") for div in tree.xpath("//dl/div")}


class Order:
    """An order of COUNT of a piece to all, made in ``folder``, where its text lies with the house's figures;
    ``shrink`` where the meshes allow for it."""

    def __init__(self, folder, name, shrink=False):
        self.folder, self.name = folder, name
        self.size = 1 / (1 - SHRINK) if shrink else 1.0
        self.text = folder / f"{name}.posy"
        (folder / "bench.toml").write_text(HOUSE, "utf-8")
        if not self.text.exists():
            shutil.copytree(ROOT / "examples/parts", folder / "parts", dirs_exist_ok=True)
            shutil.copy(ROOT / f"examples/{name}.posy", folder)
        self.made(folder / "out", "caster,setter,stones")

    def made(self, into, receivers):
        shrink = ["--shrink", "1.25%"] if self.size > 1 else []
        words = ["order", str(self.text), "--to", receivers, "--count", str(COUNT), "--date", DATE, *shrink]
        assert main([*words, "--tolerance", "0.005mm", "--show", "lines", "--into", str(into)]) == 0

    def home(self, receiver):
        return self.folder / "out" / f"{self.name}-order" / receiver

    def record(self, receiver):
        return json.loads((self.home(receiver) / f"{self.name}-{receiver}.json").read_text("utf-8"))

    def table(self, receiver, what):
        with (self.home(receiver) / f"{self.name}-{what}.csv").open(newline="", encoding="utf-8") as stream:
            return list(csv.DictReader(stream))

    def page(self, receiver):
        return page(self.home(receiver) / f"{self.name}-{receiver}.html")

    @cached_property
    def meshes(self):
        """The metal, a mesh for each casting and alloy, in its true size: as written; where castings that are
        alike share a file, each where it stands, no farther from what was written than its digits."""
        found = [trimesh.load_mesh(path) for path in sorted(self.home("caster").glob("*.stl"))]
        for one in found:
            one.vertices /= self.size
        cast = [part for part in self.built.parts if not part.bought]
        if len(found) == len(cast):
            return found
        every = [trimesh.Trimesh(part.points, part.triangles) for part in cast]
        assert all(min(abs(one.volume - file.volume) for file in found) < 1e-3 * one.volume for one in every)
        return every

    @cached_property
    def built(self):
        return build(str(self.text), tolerance=0.005, check_metal=False)

    def near(self, figure):
        """A figure of the mesh (or some) as it may be told of the round metal it stands for: chords lie 0.005 mm
        inside that at most, two thirds of it in the mean; and sheets show hundredths."""
        lacks = sum(one.area for one in self.meshes) * 0.005 * 2 / 3 / sum(one.volume for one in self.meshes)
        return pytest.approx(figure, abs=0.006 + lacks * float(np.max(figure)))

    @property
    def alloy(self):
        (alloy,) = self.built.metals
        return alloy

    @property
    def grams(self):
        """Of a piece of one alloy, by the mesh and the published density."""
        return sum(one.volume for one in self.meshes) * float(ALLOYS[self.alloy]["density"]) / 1000

    def stone(self, number):
        """The points of a stone itself, by the table of cuts, in its own frame."""
        from posy.compiler.bench.stone_solid import stone_mesh

        return np.asarray(stone_mesh(self.built.piece.stones.of(number - 1).figures)[0])

    def seen_from(self, number, points):
        """Points as a stone sees them: its girdle at z = 0."""
        frame = self.built.stones[number - 1].frame
        return (np.asarray(points) - frame[:, 3]) @ frame[:, :3]
