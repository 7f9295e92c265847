"""A clause of a line set from outside: as if it were written in the text, and wrong ones are told at it."""

from __future__ import annotations

import pytest

from posy.compiler.making.pipeline import check
from posy.compiler.making.result import Built
from posy.lang.faults import Level
from posy.lang.loader import Texts

TEXT = """piece "Studs"
  metal platinum-950
casting stud: row 2, every 12 mm
  stone bright: round 4 mm, gem diamond
  basket head: for bright, count 3
casting drop: up 20 mm
  stone big: round 5 mm, gem diamond
  basket head: for big
"""


def looked(settings: dict[str, str]) -> Built:
    return check("p.posy", settings=settings, files=Texts({"p.posy": TEXT}))


def told(setting: str, value: str) -> list[tuple[str, str, str]]:
    """(what is wrong, the place in the setting, what to do) of all but hints."""
    found = [one for one in looked({setting: value}).faults if one.level is not Level.HINT]
    return [(one.message, one.span.path if one.span else "", one.remedy or "") for one in found]


def calls(settings: dict[str, str]) -> dict[str, object]:
    piece = looked(settings).piece
    assert piece is not None
    return {f"{call.name}.{key}": said.value for call in piece.bench.lines for key, said in call.arguments.items()}


@pytest.mark.parametrize("name", ["bright", "stud.bright"])
def test_another_gem_and_size(name: str) -> None:
    values = calls({f"{name}.gem": "ruby", f"{name}.round": "4.5 mm"})
    assert (values["stud.bright.gem"], values["drop.big.gem"]) == (("ruby",), ("diamond",))
    assert values["stud.bright.round"] == (4.5,)


def test_a_clause_that_the_line_has_not_is_added() -> None:
    assert calls({"bright.down": "1 mm"})["stud.bright.down"] == 1.0


def test_what_is_wrong_is_told_at_the_setting() -> None:
    assert told("bright.gem", "rubi") == [("gem cannot be 'rubi'", "--set", "did you mean ruby?")]
    assert told("stud.brigth.gem", "ruby")[0][2] == "did you mean 'stud.bright'?"
    assert "say which: stud.head, drop.head" in told("head.count", "4")[0][2]
    assert told("bright.gm", "ruby")[0][:2] == ("stone takes no 'gm'", "--set")
    assert told("bright.round", "4")[0][2] == "add mm: 4 mm"
    assert told("bright.round", "(4")[0][1] == "--set"
    assert "--set stud.gem=ruby" in told("stud", "ruby")[0][2]
