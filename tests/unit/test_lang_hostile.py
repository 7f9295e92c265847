"""Hostile texts end soon with a fault that says why, and nothing raises."""

from __future__ import annotations

import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_lang_parse import PIECES
from test_lang_run import codes, go

from posy.lang.faults import Fault, in_order

HOSTILE = {
    "turns": "each a from 1 to 200\n  each b from 1 to 200\n    ball: across 1 mm\n",
    "empty turns": "each a from 1 to 20000\n  each b from 1 to 20000\n    measure c = 1 mm\n",
    "work": "word w\n" + "  ball: across 1 mm\n" * 300 + "each a from 1 to 9999\n  w\n",
    "doubling": "word w0\n  ball: across 1 mm\n"
    + "".join(f"word w{k}\n  w{k - 1}\n  w{k - 1}\n" for k in range(1, 60))
    + "w59\n",
    "silent doubling": "word w0\n  measure a = 1 mm\n"
    + "".join(f"word w{k}\n" + f"  w{k - 1}\n" * 9 for k in range(1, 15))
    + "w14\n",
    "deep words": "word w0\n  ball: across 1 mm\n"
    + "".join(f"word w{k}\n  w{k - 1}\n" for k in range(1, 400))
    + "w399\n",
    "reckoning": "each a from 1 to 20000\n  measure b = " + "1 + " * 480 + "1\n",
    "deep defaults": "word w\n"
    + "".join(
        f"  takes k{k}: number, default k{k - 1} + k{k - 1}\n"
        if k
        else "  takes k0: number, default 1\n"
        for k in range(3000)
    )
    + "  ball: across 1 mm\nw\n",
    "growing": "measure a0 = 1000000000 mm\n"
    + "".join(f"measure a{k} = a{k - 1} * a{k - 1}\n" for k in range(1, 300)),
    "deep blocks": "word w0\n  ball: across 1 mm\n"
    + "".join(
        f"word w{k}\n"
        + "".join("  " * (d + 1) + "when 1 < 2\n" for d in range(20))
        + "  " * 21
        + f"w{k - 1}\n"
        for k in range(1, 15)
    )
    + "w14\n",
    "nested parentheses": "measure a = " + "(" * 40 + "1 mm" + ")" * 40 + "\n",
    "misspelt": "".join(f"measure n{k} = nn{k}\n" for k in range(5000)),
    "many each faults": "each a from 1 to 20000\n  ball: across a\n",
    "series": "measure a = 1 mm\nmeasure b = 1 mm\nseries s: a "
    + " to ".join(["1 mm"] * 50)
    + ", b "
    + " to ".join(["1 mm"] * 50)
    + "\n",
    "large count": "ball: across 1 mm, row 99999999\n",
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_files_end(name: str) -> None:
    start = time.perf_counter()
    _, outcome = go(HOSTILE[name])
    assert time.perf_counter() - start < 20  # a few seconds at the very worst; not a benchmark
    if name not in ("deep blocks", "nested parentheses"):
        assert outcome.faults


def test_caps_by_name() -> None:
    found = {
        name: sorted(set(codes(go(HOSTILE[name])[1])))
        for name in ("turns", "doubling", "deep words", "series", "reckoning", "growing")
    }
    assert found == {
        "turns": ["too-much-work"],
        "doubling": ["too-deep", "too-much-work"],
        "deep words": ["too-deep"],
        "series": ["series-too-long"],
        "reckoning": ["too-much-work"],
        "growing": ["number-too-large"],
    }


@settings(max_examples=400, deadline=None)
@given(st.lists(PIECES, max_size=60).map(" ".join))
def test_run_takes_any_order_of_the_languages_words(text: str) -> None:
    _, outcome = go(text)
    check(outcome.faults)


VALUES = st.recursive(
    st.sampled_from(
        [
            "2", "0", "2 mm", "3 g", "30 deg", "40 %", '"t"', "garnet", "a", "b", "row", "frame", "k",
            "nowhere", "(1, 2 mm)", "18 ga", "1 < 2", "wide",
        ]
    ),
    lambda inner: st.one_of(
        st.tuples(
            inner, st.sampled_from([" + ", " * ", " / ", " x ", " - ", " < ", " is ", " to ", " and "]),
            inner,
        ).map("".join),
        inner.map(lambda text: f"({text})"),
        inner.map(lambda text: f"-{text}"),
        st.tuples(
            st.sampled_from(["min", "sqrt", "sin", "round", "pick", "count", "between", "given", "acos"]),
            inner, inner,
        ).map(lambda part: f"{part[0]}({part[1]}, {part[2]})"),
        inner.map(lambda text: f"count({text})"),
        inner.map(lambda text: f"ends of {text}"),
        inner.map(lambda text: f"not {text}"),
    ),
    max_leaves=5,
)


KEYS = st.sampled_from(
    [
        "across", "size", "at", "right", "line", "every", "gem", "round", "oval", "for", "in", "wall", "roof",
        "through", "turn", "grid", "wide", "on", "along", "corner", "closed", "hole", "mass", "table",
        "height",
    ]
)


CLAUSE = st.tuples(KEYS, VALUES).map(" ".join) | KEYS


HEADS = st.sampled_from(
    [
        "bar frame", "ball a", "stone row", "seat", "hollow", "wire b", "disc", "row l", "dot", "weigh",
        "copy c", "letters",
    ]
)


WORK = st.tuples(HEADS, st.lists(CLAUSE, max_size=4)).map(
    lambda part: part[0] + (": " + ", ".join(part[1]) if part[1] else "")
)


LINE = st.one_of(
    WORK, VALUES.map(lambda text: f"measure b = {text}, from {text} to 3 mm"),
    VALUES.map(lambda text: f'expect {text}, else "no"'),
    VALUES.map(lambda text: f'waive thin-wall on {text} because "so"'),
    VALUES.map(lambda text: f"series s: b {text}, metal {text}"),
)


BLOCK = st.one_of(
    st.tuples(VALUES, WORK).map(lambda p: f"each k from 1 to {p[0]}\n  {p[1]}"),
    st.tuples(VALUES, WORK).map(lambda p: f"each k in {p[0]}\n  {p[1]}"),
    st.tuples(VALUES, WORK).map(lambda p: f"when {p[0]}\n  {p[1]}\notherwise\n  {p[1]}"),
    st.tuples(CLAUSE, WORK).map(lambda p: f"workpiece g: {p[0]}\n  {p[1]}"),
    st.tuples(VALUES, WORK).map(
        lambda p: f"word dot\n  takes wide: any, default {p[0]}\n  takes on: places\n  {p[1]}"
    ),
)


def check(faults: list[Fault]) -> None:
    assert faults == in_order(faults)
    for fault in faults:
        assert fault.message and "\n" not in fault.message and "Quantity" not in fault.message


@settings(max_examples=500, deadline=None)
@given(
    st.lists(LINE | BLOCK, max_size=8).map("\n".join),
    st.dictionaries(st.sampled_from(["a", "b", "c"]), VALUES, max_size=2),
)
def test_run_takes_any_piece(text: str, settings_: dict[str, str]) -> None:
    _, outcome = go(text, **settings_)
    check(outcome.faults)
    again = go(text, **settings_)[1]
    assert again.faults == outcome.faults


@settings(max_examples=300, deadline=None)
@given(VALUES)
def test_no_metal_is_lost_in_silence(text: str) -> None:
    _, outcome = go(f'piece "Bar"\n  metal {text}\nball: across 1 mm\nseries s: metal {text}\n')
    assert outcome.metal is not None or outcome.faults
