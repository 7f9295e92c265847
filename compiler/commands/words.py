"""`posy words`: the reference, from the same records that check the text."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Mapping

from ...lang.placing import PLACING
from ...lang.words import Word
from ..pages.word_text import markdown, overview, page, plain, take_record, word_record
from ..terminal import options as shared

DETAILS = (
    "Every word lists its clauses with kind, range and default, and what others may ask of it."
)
EXAMPLES = (
    "posy words",
    "posy words prong",
)


def options(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("word", nargs="?", metavar="WORD", help="one word, in full")
    parser.add_argument(
        "--as",
        dest="form",
        choices=("text", "json", "md"),
        default="text",
        help="how to show it",
    )
    parser.add_argument(
        "--pages", metavar="FOLDER", help="write a page and a drawing of every word there"
    )


def run(arguments: argparse.Namespace) -> int:
    """Print the reference, or one word of it."""
    from ..making.pipeline import all_words

    if arguments.pages:
        return _write_pages(arguments)
    words = all_words() if arguments.form != "text" else with_blocks()
    chosen = list(words.values()) if arguments.word is None else [_chosen(arguments.word, words)]
    if arguments.form == "json":
        records = [word_record(word) for word in chosen]
        report = {"posy": 1, "placing": [take_record(take) for take in PLACING]}
        print(json.dumps({**report, "words": records}, indent=2, ensure_ascii=False))
    elif arguments.form == "md":
        print(markdown(chosen, whole=arguments.word is None))
    elif arguments.word is None:
        print("\n".join(overview(words)))
    else:
        print("\n".join(page(chosen[0])))
    return shared.DONE


def _write_pages(arguments: argparse.Namespace) -> int:
    """Write the reference as linked pages; words that cannot be drawn are told."""
    from pathlib import Path

    from ..judging.messages import findings_text
    from ..pages.reference import write_pages
    from ..terminal.run import exit_code

    if arguments.word or arguments.form != "text":
        raise shared.Misuse("--pages writes all words as they are: leave out WORD and --as")
    written, faults, troubles = write_pages(Path(arguments.pages))
    sys.stderr.write(findings_text(faults, {}, "short", False))
    for trouble in troubles:
        print(f"posy: no drawing of {trouble}", file=sys.stderr)
    print(f"{arguments.pages}: {len(written)} files")
    return exit_code(faults) or (shared.FAULTS if troubles else shared.DONE)


def _chosen(name: str, words: Mapping[str, Word]) -> Word:
    """The word asked for; Misuse when there is none."""
    if name in words:
        return words[name]
    from ...lang.suggest import did_you_mean

    hint = did_you_mean(name, words) or "posy words lists them"
    raise shared.Misuse(f"no word {name!r}; {hint}")


def with_blocks() -> dict[str, Word]:
    """Every word, and what a line may begin with besides: measure, each, when and their like."""
    from ..making.pipeline import all_words
    from ..pages.scenes import PIECE, scenes

    words = all_words()
    blocks = {
        name: Word(name, plain(scene.prose), "blocks", places=False, example=scene.texts[PIECE])
        for name, scene in scenes().items()
        if name not in words
    }
    return {**blocks, **words}
