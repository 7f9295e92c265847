"""What is wrong in the bodies of the standard words: they may use each other, but not in a circle."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from posy.lang import tree
from posy.lang.faults import Fault, in_order
from posy.lang.lexicon import choices_of
from posy.lang.resolve import Resolver
from posy.lang.words import Word


def check_words(
    standard: Mapping[str, Word], bench_words: Mapping[str, Word], roles: Iterable[str] = ()
) -> list[Fault]:
    """Faults in the bodies of standard words, which may use each other, but not in a circle."""
    words = {**bench_words, **standard}
    faults: list[Fault] = []
    for word in standard.values():
        if not isinstance(word.body, tree.WordBlock):
            continue
        others = {name: other for name, other in words.items() if name != word.name}
        records = {word.body.span: word}
        resolver = Resolver(others, choices_of(words.values()), {}, records, roles)
        file = tree.File(word.body.span.path, (word.body,), (), "")
        faults += resolver.file(file, library=True)
    return in_order([*faults, *_circles(standard)])


def _circles(standard: Mapping[str, Word]) -> list[Fault]:
    """Words that use each other round about."""
    uses = {name: _used(word.body.lines, standard) for name, word in standard.items() if word.body}
    faults = []
    for name, word in standard.items():
        seen: list[str] = []
        waiting = [other for other in uses.get(name, ()) if other != name]
        while waiting:
            other = waiting.pop()
            if other == name:
                faults.append(
                    Fault("word-in-itself", f"the word {name} uses itself round about", word.body.name.span)
                )
                break
            if other not in seen:
                seen.append(other)
                waiting += uses.get(other, [])
    return faults


def _used(lines: Iterable[tree.Line], known: Mapping[str, Word]) -> list[str]:
    """The words of ``known`` that ``lines`` use."""
    found: list[str] = []
    for line in lines:
        if isinstance(line, tree.Feature) and line.word.name in known:
            found.append(line.word.name)
        elif isinstance(line, tree.When | tree.Group | tree.Each | tree.Unread):
            found += _used(tree.lines_below(line), known)
    return list(dict.fromkeys(found))
