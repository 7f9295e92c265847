"""Several gems in one line of stones: they take turns along each row, and nothing else changes."""

from __future__ import annotations

import numpy as np
import pytest
from texts import built, made

from posy.compiler.making.weights import weigh
from posy.stdlib.gems import GEMS

ROW = "stone row: round {size}, gem {gem}, row 5, gap 0.2 mm\nbasket heads: for row, shared\n"
THREE = "garnet and emerald and sapphire"


def told(text: str) -> dict[str, str]:
    """The remedies of the remarks on a text, by their codes."""
    return {one.code: one.remedy or "" for one in made(text).faults}


def test_gems_take_turns_along_the_row_and_begin_anew() -> None:
    piece = built(ROW.format(size="2.6 mm", gem=THREE))
    assert [one.gem for one in piece.stones] == ["garnet", "emerald", "sapphire", "garnet", "emerald"]


def test_the_metal_is_that_of_a_row_of_one_gem_to_the_byte() -> None:
    one, three = (built(ROW.format(size="2.6 mm", gem=gem), check_metal=False) for gem in ("garnet", THREE))
    assert np.array_equal(one.parts[0].points, three.parts[0].points)
    assert np.array_equal(one.parts[0].triangles, three.parts[0].triangles)


def test_each_stone_weighs_what_its_own_gem_does() -> None:
    """Stones of one cut weigh as their densities are: sp. gravities of the table of gems."""
    weights, _ = weigh(built(ROW.format(size="2.6 mm", gem=THREE)))
    each = {row.gem: row.carats_each for row in weights.stones}
    assert {row.gem: row.count for row in weights.stones} == {"garnet": 2, "emerald": 2, "sapphire": 1}
    for gem in ("emerald", "sapphire"):
        assert each[gem] / each["garnet"] == pytest.approx(
            GEMS[gem].density / GEMS["garnet"].density, rel=2e-3
        )


def test_a_graded_row_keeps_its_sizes() -> None:
    piece = built(ROW.format(size="1.8 mm to 2.6 mm to 1.8 mm", gem="ruby and diamond"))
    assert [(one.gem, round(one.size[0], 2)) for one in piece.stones] == [
        ("ruby", 1.8), ("diamond", 2.2), ("ruby", 2.6), ("diamond", 2.2), ("ruby", 1.8),
    ]  # fmt: skip


def test_each_row_of_several_begins_with_the_first_gem() -> None:
    text = "stone s: round 2 mm, gem ruby and diamond, at (0, 0) to (0, 6 mm), row 3, every 3 mm\n"
    assert [one.gem for one in made(text).stones] == ["ruby", "diamond", "ruby"] * 2


def test_the_words_that_lay_stones_take_several_gems() -> None:
    text = "stone c: round 5 mm, gem citrine\nbezel b: for c\n{} round: for c, gem ruby and diamond\n"
    for word in ("halo", "cluster"):
        gems = [one.gem for one in built(text.format(word)).stones[1:]]
        assert set(gems) == {"ruby", "diamond"} and gems[:2] == ["ruby", "diamond"]


@pytest.mark.parametrize(
    ("line", "code", "remedy"),
    [
        ("stone s: round 2 mm, gem ruby and diamond", "several-stones", "row 2, gap 0.25 mm"),
        ("stone s: round 2 mm, gem ruby and diamond and opal, row 2, every 3 mm", "several-stones", "row 3"),
        ("stone s: round 0.1 ct, gem ruby and diamond, row 2, gap 1 mm", "clauses-disagree", "in mm"),
        (
            "stone s: round 2 mm, gem ruby and diamond, row 2, gap 1 mm, weighs 0.04 ct",
            "clauses-disagree",
            "weighs",
        ),
        ('stone s: round 2 mm, gem ruby and diamond, row 2, gap 1 mm, lot "A"', "clauses-disagree", "lot"),
        ("stone s: round 2 mm, gem ruby and pearl, row 2, gap 1 mm", "not-faceted", "pearl"),
        ("stone s: round 2 mm, gem ruby and blue topaz, row 2", "unreadable", 'write ruby and "blue topaz"'),
        ("stone s: round 2 mm, gem ruby and rubby, row 2, gap 1 mm", "unknown-choice", "ruby"),
    ],
)
def test_what_cannot_be_several_is_told(line: str, code: str, remedy: str) -> None:
    assert remedy in told(line)[code]


PAIR = """stone p: round 2 mm, gem ruby, left 3 mm
stone q: round 2 mm, gem ruby, right 3 mm
bar b: size 20 x 6 x 2.4 mm, under p
"""


@pytest.mark.parametrize("said", ["for p and q", "for p, q"])
def test_stones_joined_otherwise_are_told_to_be_added(said: str) -> None:
    remedies = told(f"{PAIR}seat: {said}, in b\n")
    assert list(remedies.values()) == ["write p + q"]
    assert not told(f"{PAIR}bead-set held: for p + q, in b\n").keys() & {"wrong-kind", "unknown-clause"}


def test_single_stones_of_several_lines_make_one_row() -> None:
    stones = [
        f"stone {name}: round 3 mm, gem ruby, right {at} mm\n"
        for name, at in zip("abcd", (-4.95, -1.65, 1.65, 4.95), strict=True)
    ]
    piece = built("".join(stones) + "basket heads: for a + b + c + d, shared\n")
    row = built("stone r: round 3 mm, gem ruby, row 4, gap 0.3 mm\nbasket heads: for r, shared\n")
    assert len(piece.parts[0].triangles) == pytest.approx(len(row.parts[0].triangles), rel=0.05)
