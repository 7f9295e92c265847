"""`posy about`: what is installed, what is missing and how to get it, and a make that can be reckoned by hand."""

from __future__ import annotations

import json
import re
from importlib import metadata
from math import pi

import pytest

from posy.compiler.command import main
from posy.compiler.commands import about


def test_it_tells_versions_and_makes_a_disc(posy):
    said = posy("about").out
    assert f"posy {metadata.version('posy-lang')}, the language in version 1" in said
    for library in ("numpy", "manifold3d", "lark"):
        assert re.search(rf"{library} +{re.escape(metadata.version(library))}", said)
    # A cylinder of 10 mm and 2 mm, sterling silver of 10.36 g/cm3.
    volume = pi / 4 * 100 * 2
    flat = " ".join(said.split())
    assert f"{volume:.2f} mm3 (worked out by hand {volume:.2f} mm3)" in flat
    assert f"{volume * 0.01036:.3f} g" in flat


def test_what_is_missing_is_told_with_how_to_get_it(capsys, monkeypatch):
    known = metadata.version

    def version(name):
        if name in ("pygls", "distributed"):
            raise metadata.PackageNotFoundError(name)
        return known(name)

    monkeypatch.setattr(about.metadata, "version", version)
    assert main(["about"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "pip install 'posy-lang[editor]'" in said and "pip install 'posy-lang[dask]'" in said
    assert "missing (an editor's questions answered: posy editor)" in said


def test_as_data_and_with_a_piece_of_ones_own(capsys, posy, tmp_path):
    piece = tmp_path / "bar.posy"
    piece.write_text("bar b: size 10 x 5 x 2 mm\n", "utf-8")
    told = json.loads(posy("about", str(piece), "--show", "data").out)
    assert told["made"]["volume_mm3"] == "100.00" and told["made"]["right"] is True
    assert {one["name"] for one in told["libraries"]} >= {"lark", "numpy", "trimesh"}
    piece.write_text("bar b: size\n", "utf-8")
    assert main(["about", str(piece)]) == 1
    assert "not made" in capsys.readouterr().out


@pytest.mark.parametrize("extra", ["dask", "editor", "picture"])
def test_every_extra_says_what_it_is_for(extra):
    assert extra in about._FOR
    assert set(about.libraries()[1]) <= set(about._FOR)
