"""Every text of ``tests/usual_texts.py`` built and judged: python tests/wear/usual.py [WORD ...]

Prints what is told of each, and how many were tried; it takes some minutes."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from usual_texts import is_advice, usual_texts

from posy.compiler.judging import judge
from posy.compiler.making.pipeline import build
from posy.lang.loader import Texts


def main(words: list[str]) -> int:
    judge.STRICT = True
    texts = {name: text for name, text in usual_texts().items() if not words or name.split()[0] in words}
    told = 0
    for name, text in texts.items():
        for one in build("p.posy", files=Texts({"p.posy": text})).faults:
            if not is_advice(one):
                told += 1
                print(f"{name}: {one.level.value} {one.code}: {one.message}; {one.seen}", flush=True)
    print(f"{len(texts)} texts, {told} remarks")
    return 1 if told else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
