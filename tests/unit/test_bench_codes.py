"""Every fault code of the bench: its wrong example gives exactly it, its right one nothing."""

from __future__ import annotations

import pytest

from posy.compiler.codes import CODES
from posy.compiler.making.pipeline import build
from posy.lang.faults import Level
from posy.lang.loader import Texts

SHOWN = [code for code in CODES.values() if code.shown]


def _faults(text: str, files: object = ()) -> list[str]:
    texts = Texts({"piece.posy": text, **dict(files)})  # type: ignore[call-overload]
    made = build("piece.posy", files=texts, check_metal=False)
    return [fault.code for fault in made.faults if fault.level is Level.FAULT]


@pytest.mark.parametrize("code", SHOWN, ids=lambda code: code.name)
def test_wrong_example_gives_exactly_this_fault(code: object) -> None:
    assert _faults(code.wrong, code.files) == [code.name]  # type: ignore[attr-defined]


@pytest.mark.parametrize("code", SHOWN, ids=lambda code: code.name)
def test_right_example_gives_none(code: object) -> None:
    assert _faults(code.right) == []  # type: ignore[attr-defined]


def test_the_cap_on_triangles() -> None:
    assert _faults(CODES["too-many-triangles"].wrong) == ["too-many-triangles"]
