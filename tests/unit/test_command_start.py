"""What a command loads before it answers: the start of `posy check --plan` is felt at every save."""

from __future__ import annotations

import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

from posy.compiler import words
from posy.compiler.words import MODULES

HEAVY = {"trimesh", "scipy", "watchdog", "fontTools", "svgelements", "lxml", "distributed", "networkx"}
# Asked before metal only to move a line inward, and for house limits.
KERNEL = {"manifold3d", "numpy.ma", "tomllib"}
NUMBERS = {"numpy"}
RECORDS = (frozenset(), frozenset({"tomllib"}))  # what `why` alone reads its records with

PIECE = """piece "Loop"
  metal silver-925

stone eye: round 4 mm, gem garnet
disc tray: across 9 mm, thick 2 mm, under eye
seat: for eye, in tray
prong claws: for eye, count 4, wire 1 mm
jump-ring hanger: up 5.4 mm, inward 1 mm, wire 1.1 mm, inside 2.4 mm
"""


def loaded(folder: Path, *words: str) -> set[str]:
    """The modules that a command has loaded by its end, in a process of its own."""
    code = (
        "import sys; from posy.compiler.command import main; code = main(sys.argv[1:]); "
        "print('loaded', *sys.modules); sys.exit(code)"
    )
    done = subprocess.run([sys.executable, "-c", code, *words], cwd=folder, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    return set(done.stdout.rpartition("loaded ")[2].split())


@pytest.fixture
def folder(tmp_path):
    """A folder with a small piece that has a stone, prongs and a bail."""
    (tmp_path / "loop.posy").write_text(PIECE, "utf-8")
    return tmp_path


def test_check_of_the_plan_loads_nothing_for_metal_or_files(folder):
    modules = loaded(folder, "check", "--plan", "loop.posy")
    assert not (HEAVY | KERNEL) & modules
    mine = {name for name in modules if name.startswith(("posy.compiler.files", "posy.compiler.drawing"))}
    # What options are told from: a few names without numbers.
    light = {"posy.compiler.files", "posy.compiler.files.formats", "posy.compiler.files.digits",
             "posy.compiler.drawing", "posy.compiler.drawing.names"}
    assert mine <= light
    for room in ("measures.skin", "metal.kernel", "judging.castings", "words.engraving", "words.fingers"):
        assert f"posy.compiler.{room}" not in modules  # for metal, and words the piece does without


def test_core_words_are_found_in_the_module_that_makes_them():
    for module, names in MODULES.items():
        made = import_module(f"posy.compiler.words.{module}").WORDS
        assert [word.name for word in made] == names.split()
    holding = {path.stem for path in Path(words.__file__).parent.glob("*.py") if "\nWORDS" in path.read_text("utf-8")}
    assert holding == set(MODULES)


@pytest.mark.parametrize("words", [("words",), ("words", "seat"), ("why", "thin-wall")])
def test_words_and_explain_load_nothing_for_metal(folder, words):
    assert not ((HEAVY | KERNEL) - RECORDS[words[0] == "why"]) & loaded(folder, *words)


@pytest.mark.parametrize("words", [("--help",), ("--version",), ("start", "ring.posy"), ("why", "unit-missing")])
def test_these_need_no_numbers(folder, words):
    unwanted = HEAVY | KERNEL | NUMBERS | {"lark"}
    assert not (unwanted - RECORDS[words[0] == "why"]) & loaded(folder, *words)
