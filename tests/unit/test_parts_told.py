"""What of a word written in posy its page lists as asked of it: the parts that a help of the word tells."""

import pytest

from posy.compiler.pages.word_text import offered, page
from posy.compiler.words.standard import all_words

INNER = [name for name, word in all_words().items() if word.body is not None]


@pytest.mark.parametrize("name", INNER)
def test_a_page_lists_no_inner_workings(name: str) -> None:
    word = all_words()[name]
    helps = " ".join(take.help for take in (word, *word.takes))
    for part, what in offered(word).items():
        assert f"'{part} of'" in helps or part in ("rim", "waist")
        assert "the part called" not in what and "'" not in what


def test_a_chain_tells_its_clasp_and_keeps_the_rest_reachable(posy, tmp_path) -> None:
    assert list(offered(all_words()["chain"])) == ["clasp"]
    assert "firm of" not in "\n".join(page(all_words()["brooch-pin"], 80))
    text = tmp_path / "p.posy"
    text.write_text(
        'piece "Hoop"\n  metal silver-925\nhoop ring: inside 16 mm\n'
        "ball low: along pin-way of ring, stretch 40 % to 60 %, number 1, across 2 mm\n"
    )
    assert "unknown-part" not in posy("check", "--plan", str(text)).out


def test_a_hoop_tells_its_front_and_its_outside() -> None:
    asked = offered(all_words()["hoop"])
    assert asked["face"] == "its lowest place as worn" and "outer" in asked
