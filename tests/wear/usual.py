"""Every text of ``tests/usual_texts.py`` built and judged: python tests/wear/usual.py [--odd] [WORD ...]

Prints what is told of each, and how many were tried; it takes some minutes. With ``--odd`` one clause of
each setting has an odd figure, and what the remedies of its remarks leave, once followed, is told."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from usual_texts import is_advice, odd_texts, usual_texts, what_remedies_leave

from posy.compiler.judging import judge
from posy.compiler.making.pipeline import build
from posy.lang.loader import Texts


def main(words: list[str]) -> int:
    judge.STRICT = True
    odd = "--odd" in words
    words = [word for word in words if word != "--odd"]
    texts = odd_texts() if odd else usual_texts()
    texts = {name: text for name, text in texts.items() if not words or name.split()[0] in words}
    told = 0
    for name, text in texts.items():
        for one in what_remedies_leave(text) if odd else remarks(text):
            told += 1
            print(f"{name}: {one}", flush=True)
    print(f"{len(texts)} texts, {told} remarks")
    return 1 if told else 0


def remarks(text: str) -> list[str]:
    found = build("p.posy", files=Texts({"p.posy": text})).faults
    return [f"{one.level.value} {one.code}: {one.message}; {one.seen}" for one in found if not is_advice(one)]


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
