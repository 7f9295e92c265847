"""Every code explains itself with an example that gives exactly that code."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from toy_bench import ToyBench

from posy.lang import parse as parse_module
from posy.lang.codes import CODES, Code
from posy.lang.loader import Texts
from posy.lang.program import read_piece, run

LANG = Path(parse_module.__file__).parent


def _codes_of(text: str, code: Code, settings: dict[str, str]) -> list[str]:
    bench = ToyBench()
    files = Texts({"piece.posy": text, **code.files})
    program = read_piece("piece.posy", files, bench.core_words(), {}, bench.metals(), bench.roles())
    return [fault.code for fault in run(program, bench, settings).faults]


@pytest.mark.parametrize("code", CODES.values(), ids=lambda code: code.name)
def test_wrong_example_gives_its_code_and_right_one_none(code: Code) -> None:
    if code.shown:
        assert _codes_of(code.wrong, code, dict(code.settings)) == [code.name]
    assert _codes_of(code.right, code, {}) == []


def test_examples_not_run_are_only_the_caps_and_rules() -> None:
    """An example may be left unrun only where it would be a megabyte, needs the rules, or a slip of posy's own."""
    assert {code.name for code in CODES.values() if not code.shown} == {
        "line-too-long", "file-too-long", "file-too-large", "too-deep", "too-many-faults", "series-too-long",
        "too-many-files", "unknown-rule", "not-worked-out",
    }


def test_every_code_used_in_the_room_has_a_record() -> None:
    used: set[str] = set()
    call = re.compile(r'(?:Fault|fault|trouble|Trouble|Refusal|tell|odd)\(\s*"([a-z][a-z-]+)"')
    for path in LANG.glob("*.py"):
        used |= set(call.findall(path.read_text(encoding="utf-8")))
    assert used - set(CODES) == set()
    assert len(used) > 50


def test_records_are_written_out() -> None:
    for code in CODES.values():
        assert code.title.endswith(".") and code.why.endswith("."), code.name
        assert re.fullmatch(r"[a-z]+(-[a-z0-9]+)*", code.name)
