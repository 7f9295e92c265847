"""A ball looks round from everywhere: its picture is as wide as high, whatever makes it and at any size.

Source: a sphere's outline seen along a line through its middle is a circle (plain geometry). Read by Pillow
and, of a PDF, by poppler's pdftoppm."""

from __future__ import annotations

import shutil
import subprocess

import numpy as np
import pytest
from PIL import Image

from posy.compiler.command import main

BALL = 'piece "Ball"\n  metal gold-750-yellow\nball one: across 10 mm\n'
SIZES = (320, 240), (200, 300), (260, 260)


@pytest.fixture
def ball(tmp_path, monkeypatch):
    """A folder with a golden ball, worked in."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "ball.posy").write_text(BALL, "utf-8")
    return tmp_path / "out"


def roundness(path) -> float:
    """How many times as high as wide what is golden in a picture is."""
    picture = np.asarray(Image.open(path).convert("RGB")).astype(int)
    gold = picture[..., 0] > picture[..., 2] + 25
    rows, columns = np.flatnonzero(gold.sum(1) > 2), np.flatnonzero(gold.sum(0) > 2)
    assert len(columns) > 0.15 * min(picture.shape[:2]), "a ball is to be seen"
    return (rows[-1] - rows[0] + 1) / (columns[-1] - columns[0] + 1)


@pytest.mark.parametrize("size", SIZES)
def test_a_still_of_the_page(ball, size):
    from posy.compiler.files.browser import browser

    if browser() is None:
        pytest.skip("no Chromium here: apt-get install chromium")
    assert main(["show", "ball.posy", "--tolerance", "0.03mm", "--stills", "face", "--size", "{}x{}".format(*size)]) == 0
    assert Image.open(ball / "ball-face.png").size == size
    assert roundness(ball / "ball-face.png") == pytest.approx(1, abs=0.03)


@pytest.mark.parametrize("size", SIZES[:2])
def test_a_picture_by_the_renderer(ball, size):
    words = ["picture", "ball.posy", "--draft", "--look", "face", "--ground", "grey", "--size", "{}x{}".format(*size)]
    assert main(words) == 0
    assert Image.open(ball / "ball-picture.png").size == size
    assert roundness(ball / "ball-picture.png") == pytest.approx(1, abs=0.05)


def test_a_drawing_as_png_and_pdf(ball):
    from posy.compiler.files.browser import browser

    if browser() is None:
        pytest.skip("no Chromium here: apt-get install chromium")
    assert main(["draw", "ball.posy", "--views", "face", "--also", "png,pdf", "--tolerance", "0.03mm"]) == 0
    kinds = ["ball.png"]
    if shutil.which("pdftoppm"):  # else the size of its page stands for it, see test_drawing_command
        subprocess.run(["pdftoppm", "-r", "40", "-png", "-singlefile", "ball.pdf", "printed"], cwd=ball, check=True)
        kinds.append("printed.png")
    assert [roundness(ball / kind) for kind in kinds] == pytest.approx([1] * len(kinds), abs=0.03)
