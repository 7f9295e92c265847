"""`posy why` knows every code that can appear: the sources are searched for them."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import posy.compiler.command
import posy.lang.faults
from posy.compiler.command import main
from posy.compiler.commands.why import known
from posy.lang.codes import CODES
from posy.lang.suggest import nearest

ROOMS = [Path(room.__file__).parent for room in (posy.lang.faults, posy.compiler.command)]
CODE = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
# Calls whose first argument is a code, by the name called.
MAKERS = "fault", "Fault", "Refusal", "Trouble", "add", "tell", "wrong"


def codes_in(path: Path) -> Iterator[str]:
    """The codes a source gives to a maker of faults."""
    for node in ast.walk(ast.parse(path.read_text())):
        if not isinstance(node, ast.Call):
            continue
        called = node.func
        name = called.attr if isinstance(called, ast.Attribute) else getattr(called, "id", "")
        named = [one.value for one in node.keywords if one.arg == "code"]
        if name in MAKERS or named:
            for value in [*node.args[:1], *named]:
                for text in ast.walk(value):
                    if isinstance(text, ast.Constant) and isinstance(text.value, str):
                        yield text.value


def all_codes() -> dict[str, str]:
    """Every code in the sources with one place it comes from."""
    return {
        code: path.name
        for room in ROOMS
        for path in sorted(room.rglob("*.py"))
        for code in codes_in(path)
        if CODE.fullmatch(code) and ("-" in code or code in known())
    }


def test_every_code_of_the_sources_is_explained(capsys: pytest.CaptureFixture[str]) -> None:
    found = all_codes()
    assert len(found) > 80  # the search still finds them
    unknown = {code: file for code, file in found.items() if code not in known()}
    assert unknown == {}


def test_every_explanation_reads(posy) -> None:
    for name, title in known().items():
        assert title.endswith("."), f"{name}: {title}"
        told = posy("why", name).out
        assert told.startswith(name) and len(told.splitlines()) >= 3, name
        assert max(len(line) for line in told.splitlines() if "http" not in line) <= 100, name


def test_the_list_and_a_slip_of_the_pen(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["why"]) == 0
    assert len(capsys.readouterr().out.splitlines()) >= len(known())
    assert main(["why", "thin-wal"]) == 2
    assert "did you mean 'thin-wall'?" in capsys.readouterr().err


def test_swapped_neighbours_are_nearer_than_a_wrong_letter() -> None:
    assert nearest("silver-952", ["silver-958", "silver-925"]) == "silver-925"
    assert nearest("silver-926", ["silver-958", "silver-925"]) == "silver-925"
    assert "unit-missing" in CODES


MARKDOWN = {"book.py", "hover.py", "first_page.py", "gallery.py", "reference.py", "word_text.py", "scenes.py", "help.py"}  # write pages


def test_no_message_has_a_back_tick() -> None:
    """Texts that users read quote names with '…'; docstrings are for those who work on posy."""
    found = []
    for room in (*ROOMS, Path(posy.lang.faults.__file__).parents[1] / "stdlib"):
        top = room if room.name != "making" else room.parent
        for path in sorted(top.rglob("*.py")):
            tree = ast.parse(path.read_text("utf-8"))
            said = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
            found += [
                f"{path.name}:{node.lineno}"
                for node in ast.walk(tree)
                if isinstance(node, ast.Constant) and isinstance(node.value, str)
                and "`" in node.value and id(node) not in said and path.name not in MARKDOWN
            ]  # fmt: skip
    assert found == []
