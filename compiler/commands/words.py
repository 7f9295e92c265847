"""`posy words`: the reference, from the same records that check the text."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from typing import Any

from ...lang.folding import fold, in_columns
from ...lang.placing import PLACING
from ...lang.samples import sample
from ...lang.words import Word
from ..pages import word_text as text
from ..terminal import options as shared
from ..terminal.forms import Arguments, Misuse
from ..terminal.output import tell_data
from ..terminal.remarks import remarks_text, width_for
from ..words.standard import FILED, GROUPS, trade, trade_lines, trade_note, trade_words


def run(arguments: Arguments) -> int:
    """Print the reference, or what is asked of it."""
    if arguments.pages:
        return _write_pages(arguments)
    if arguments.open:
        return _open(arguments)
    words = with_blocks()
    asked = "-".join((arguments.word or "").casefold().replace("'s", "").split())
    if arguments.show == "data":
        chosen = {"": _chosen(asked, words)} if asked else words
        records = [text.word_record(word) for word in chosen.values()]
        tell_data("words", placing=[text.take_record(take) for take in PLACING], words=records)
    elif not asked:
        full = arguments.show == "full"
        print("\n".join(text.overview(words, width_for(sys.stdout)) if full else text.lines(words)))
    else:
        print("\n".join(_told(asked, words, width_for(sys.stdout))))
    return shared.DONE


def _told(name: str, words: Mapping[str, Word], width: int) -> list[str]:
    """What there is under a name: a word, a group, metals or stones, a word of the trade, one of those."""
    if name in words:
        return [*text.page(words[name], width), *text.example_lines(_example(words[name]), width)]
    if name in GROUPS:
        return text.group_page(name, words, width)
    tables = {"metal": _metals, "metals": _metals, "gem": _gems, "gems": _gems, "alloy": _metals}
    if name in tables:
        _with_the_house()
        return in_columns(tables[name](), width)
    for said in _forms(name):
        if said in words:
            return _told(said, words, width)
        meant, note = trade_words().get(said), trade_note(said)
        told = fold(f"{said}: {note}.", width) if note else []
        if meant is not None:
            told += fold(f"What the trade calls {said} is made with {' or '.join(meant)} here.", width)
            told += [*text.example_lines(trade_lines(said), width), ""]
            if clause := _clause(words, said, width):
                told += [*clause, ""]
            return [*told, *_told(meant[0], words, width)]
        if note:
            return told
    return (
        _stuff(name, width) or _clause(words, name, width) or _meant(words, name, width)
        or _part(words, name, width) or _found(words, name, width)
    )


def _forms(name: str) -> tuple[str, ...]:
    """A name, and what it may be the plural of."""
    ends = {"ies": "y", "es": "", "s": ""}
    return name, *(name.removesuffix(end) + one for end, one in ends.items() if name.endswith(end))


def _clause(words: Mapping[str, Word], name: str, width: int) -> list[str]:
    """The words that take a clause of that name."""
    for said in _forms(name):
        takes = [(word.name, take) for word in words.values() if (take := word.take(said))]
        takes += [("placing", take) for take in PLACING if take.name == said]
        rows = [(word, f"{take.help}, as in: {sample(take)}" if sample(take) else take.help)
                for word, take in takes]  # fmt: skip
        if rows:
            return [*fold(f"There is a clause called {said}:", width), "", *in_columns(rows, width)]
    return []


def _meant(words: Mapping[str, Word], name: str, width: int) -> list[str]:
    """The clause for what the trade calls a cut or a measure."""
    for said in _forms(name):
        for clause in trade().clauses.get(said, ()):
            if told := _clause(words, clause, width):
                return [*fold(f"What the trade calls {said} is said with {clause} here.", width), "", *told]
    return []


def _part(words: Mapping[str, Word], name: str, width: int) -> list[str]:
    """What there is under some of several words: the most of them that are known together, of those what the
    trade begins by lines of its own, else what has the fewest meanings, else the last."""
    known, parts = {**trade_words(), **dict.fromkeys(words, ("",))}, name.split("-")
    spans = [(first, last) for last in range(len(parts) + 1) for first in range(last)]
    found = [
        (last - first, bool(trade_lines(said)), -len(known[said]), last, said)
        for first, last in spans
        if (said := next(filter(known.__contains__, _forms("-".join(parts[first:last]))), name)) != name
    ]
    if not found:
        return []
    said = max(found)[-1]
    return [*fold(f"No word is called {name}; this is {said}:", width), "", *_told(said, words, width)]


def _stuff(name: str, width: int) -> list[str]:
    """A stone or a metal by its name or another it goes by: how a text says it, and its figures."""
    from ...stdlib.alloys import alloys_called
    from ...stdlib.gems import find_gem

    _with_the_house()
    gem = find_gem(name)
    if gem is not None:
        bears = f"torch {gem.torch}, ultrasonic {gem.ultrasonic}, steam {gem.steam}"
        hard = " to ".join(dict.fromkeys((f"{gem.mohs_low:g}", f"{gem.mohs_high:g}")))
        rows = [
            ("a stone", f"{gem.title}{_also(gem)}"),
            ("write", f"gem {gem.name}, as in: stone eye: round 5 mm, gem {gem.name}"),
            ("density", f"{gem.density:g} g/cm3"), ("hardness", f"{hard} Mohs"), ("bears", bears),
            ("to mind", gem.notes),
        ]  # fmt: skip
        return in_columns([row for row in rows if row[1]], width)
    metals = alloys_called(name)
    if not metals:
        return []
    return [*fold("A metal; a text says one of these after 'metal', for the piece or a part:", width), "",
            *in_columns(_metals(metals), width)]  # fmt: skip


def _found(words: Mapping[str, Word], name: str, width: int) -> list[str]:
    """The words whose help speaks of it; Misuse when none does."""
    from ...lang.suggest import nearest

    near = nearest(name, (*words, *GROUPS, *trade_words()))
    if near is None:
        told = ((word, (word.help, *(take.help for take in word.takes), *word.offers.values()))
                for word in words.values())  # fmt: skip
        if rows := [(word.name, word.help) for word, said in told if name in " ".join(said).casefold()]:
            return [*fold(f"No word is called {name}; these speak of it:", width), "",
                    *in_columns(rows, width)]  # fmt: skip
    hint = f"did you mean '{near}'?" if near else "posy words lists them"
    raise Misuse(f"there is no word '{name}'; {hint}")


def _example(word: Word) -> list[str]:
    """An example that can be made: the word's own with what its page puts round it."""
    from ..pages.scenes import scenes

    scene = scenes().get(word.name)
    return list(scene.with_example(word.example).values()) if scene else [word.example]


def _with_the_house() -> None:
    """Let the tables hold the metals and stones of the workshop whose folder this is."""
    from ...stdlib.alloys import ALLOYS
    from ...stdlib.gems import GEMS
    from .why import house_here

    house = house_here()
    ALLOYS.adopt(house.alloys)
    GEMS.adopt(house.gems)


def _metals(rows: Sequence[Any] = ()) -> list[tuple[str, str]]:
    """Metals with what they are; all there are, without ``rows``."""
    from ...stdlib.alloys import ALLOYS

    rows = rows or tuple(ALLOYS.values())
    return [(row.name, f"{row.title}, {row.density:g} g/cm3{_also(row)}") for row in rows]


def _gems() -> list[tuple[str, str]]:
    from ...stdlib.gems import GEMS

    return [(row.name, f"{row.title}{_also(row)}") for row in GEMS.values()]


def _also(row: Any) -> str:
    return f"; also {', '.join(row.also)}" if row.also else ""


def _open(arguments: Arguments) -> int:
    """The whole reference as one page, in the browser."""
    import tempfile
    import webbrowser
    from pathlib import Path

    from ..pages.book import book

    try:
        page = Path(tempfile.mkdtemp(prefix="posy-")) / "words.html"
        page.write_text(book(), "utf-8")
    except OSError as error:
        print(f"posy: the page could not be written: {error.strerror}", file=sys.stderr)
        return shared.FILE_TROUBLE
    place = page.as_uri() + (f"#{arguments.word}" if arguments.word else "")
    opened = webbrowser.open(place)
    print(page if opened else f"Open this file in your browser: {page}")
    return shared.DONE


def _write_pages(arguments: Arguments) -> int:
    """Write the reference as linked pages; words that cannot be drawn are told."""
    from pathlib import Path

    from ..pages.reference import write_pages
    from ..terminal.run import exit_code

    if arguments.word:
        raise Misuse("--pages writes all words: leave out WORD")
    written, faults, troubles = write_pages(Path(arguments.pages))
    sys.stderr.write(remarks_text(faults, {}, "lines", False))
    for trouble in troubles:
        print(f"posy: no drawing of {trouble}", file=sys.stderr)
    print(f"{arguments.pages}: {len(written)} files")
    return exit_code(faults) or (shared.FAULTS if troubles else shared.DONE)


def _chosen(name: str, words: Mapping[str, Word]) -> Word:
    if name in words:
        return words[name]
    from ...lang.suggest import did_you_mean

    hint = did_you_mean(name, words) or "posy words lists them"
    raise Misuse(f"there is no word '{name}'; {hint}")


def with_blocks() -> dict[str, Word]:
    """Every word, and what else a line may begin with (measure, each ...), in the order one learns them."""
    from ..making.pipeline import all_words
    from ..pages.scenes import PIECE, scenes

    words = dict(all_words())
    for name, scene in scenes().items():
        if name not in words:
            example = scene.texts[PIECE]
            words[name] = Word(name, text.plain(scene.prose), "blocks", places=False, example=example)
    return {name: words[name] for name in dict.fromkeys((*(n for n in FILED if n in words), *words))}
