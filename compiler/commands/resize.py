"""`posy resize`: a piece larger or smaller, as a change of its text, shown line by line."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from pathlib import Path

from ...lang.faults import Fault, is_fatal
from ...lang.loader import Folder, Over
from ...lang.parse import parse
from ...lang.tree import File
from ...stdlib.fingers import SYSTEMS, inside_diameter
from ..judging.mend import changes
from ..making.resize import factor_of, fingers_of, refitted, resized
from ..making.result import Built
from ..making.sized import Length, factor_for, length_of, metal_names
from ..terminal import options as shared
from ..terminal.forms import Arguments, Misuse
from ..terminal.output import say
from ..terminal.remarks import fault_text, width_for
from ..words.standard import all_words

LEAST, MOST = 0.2, 5.0


def run(arguments: Arguments) -> int:
    """Show what changes, and write it on request."""
    from ..files.atomic import write_set
    from ..making.pipeline import build

    path, asked = _asked(arguments.words)
    before = build(path, check_metal=False)
    if path not in before.texts or not before.made:
        return _told([one for one in before.faults if is_fatal([one])], before.texts, arguments)
    old = before.texts[path]
    file, _ = parse(old, path)
    change = _to_length(path, asked, before) if isinstance(asked, Length) else asked
    new = change(file)
    if new == old:
        say(f"{path}: nothing in it would change")
        return shared.DONE
    sys.stdout.write(changes({path: old}, {path: new}, "new", width_for(sys.stdout)))
    after = build(path, files=Over(Folder(path), {path: new}))
    say(_weights(before, after))
    if isinstance(asked, Length) and (long := asked.of(after)):
        side, findings = asked.way or "on its longest side", " and ".join(asked.left_out(before))
        whole = f"The metal without {findings}" if findings else "The metal"
        say(f"{asked.part or whole} is {asked.of(before):.2f} mm {side} now, and {long:.2f} mm then")
    worst = [one for one in after.faults if one.level.value != "hint"]
    if is_fatal(worst) and not is_fatal(build(path).faults):
        say(f"Nothing is written: {path} is free of faults as it is, and would have the faults below.")
    elif arguments.apply or _wanted(path):
        _, trouble = write_set({Path(path): new.encode("utf-8")})
        if trouble:
            return _told(trouble, {}, arguments)
        say(f"{path} is written")
    else:
        say("Nothing is written yet: --apply writes it.")
    return _told(worst, {**after.texts, path: new}, arguments) if worst else shared.DONE


def _wanted(path: str) -> bool:
    """Whether whoever sits at the terminal wants it written; not asked where nobody does."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        return False
    try:
        say(f"Write this into {path}? Answer yes or no.")
        return input().strip().casefold() in ("y", "yes")
    except EOFError:
        return False


def _to_length(path: str, wanted: Length, before: Built) -> Callable[[File], str]:
    """What makes a text of that length of a piece. Raises Misuse."""
    from ..making.pipeline import build

    words, (file, _) = all_words(), parse(before.texts[path], path)

    def changed(factor: float) -> Built:
        return build(path, files=Over(Folder(path), {path: resized(file, words, factor)}), check_metal=False)

    factor = factor_for(wanted, before, changed)
    if factor is None and wanted.of(before) is not None:
        name = wanted.part or path
        raise Misuse(f"{name} does not come to {wanted.mm:g} mm with the piece: change its own line")
    if factor is None:
        names = ", ".join(metal_names(before))
        none = f"no metal is called {wanted.part} in {path}; what is made of metal there: {names}"
        raise Misuse(none if wanted.part and names else f"{path} has no metal")
    return _by(factor, f"{wanted.mm:g} mm")


def _by(factor: float, said: str) -> Callable[[File], str]:
    """What makes a text that many times as large. Raises Misuse."""
    if not LEAST <= factor <= MOST:
        raise Misuse(f"{said} is out of range: from {LEAST:.0%} to {MOST:.0%}")
    return lambda file: resized(file, all_words(), factor)


def _asked(words: list[str]) -> tuple[str, Callable[[File], str] | Length]:
    """The piece; what makes its new text (a factor, a finger size), or the length wished. Raises Misuse."""
    if len(words) < 2:
        raise Misuse("posy resize needs a piece and how large it is to be, as in: posy resize ring.posy 120%")
    path, said = words[0], " ".join(words[1:])
    factor = factor_of(said)
    if factor is not None:
        return path, _by(factor, said)
    length = length_of(said)
    if length is not None:
        return path, length
    whose, size = "", said.split(None, 1)
    if len(size) != 2 or size[0].lower() not in SYSTEMS:
        whose, size = words[1], " ".join(words[2:]).split(None, 1)
    if len(size) != 2:
        raise Misuse(f"'{said}' is no size: write 120% for a fifth larger, \"32 mm\" or \"tall 32 mm\", "
                     "or a finger size, as \"uk K\"")
    diameter, problem = inside_diameter(size[0].lower(), size[1])
    if diameter is None:
        raise Misuse(problem)
    return path, lambda file: _refitted(file, path, whose, f"{size[0].lower()} {size[1]}")


def _refitted(file: File, path: str, whose: str, size: str) -> str:
    """The text with that finger size for the ring of this name, or for all of one finger. Raises Misuse."""
    every = fingers_of(file)
    chosen = [one for one in every if not whose or whose in one.names]
    names = ", ".join(f"{one.said.text} ({one.names[0]})" if one.names else one.said.text for one in every)
    if not chosen:
        none = f"no ring called {whose} in {path}: {names}"
        raise Misuse(none if every else f"no line of {path} says a finger size")
    if len({one.said.text.strip('"').casefold() for one in chosen}) > 1:
        name = next((one.names[0] for one in every if one.names), "NAME")
        write = f'posy resize {path} {name} "{size}"'
        raise Misuse(f"{path} has {len(chosen)} finger sizes: {names}; say whose, as in: {write}")
    return refitted(file, chosen, size)


def _weights(before: Built, after: Built) -> str:
    """The weight of the cast metal before and after."""
    from ..making.weights import weigh

    old, new = weigh(before)[0], weigh(after)[0]
    if old is None or new is None:
        return ""
    return f"{old.grams:.2f} g becomes {new.grams:.2f} g of {new.metal} as cast"


def _told(faults: list[Fault], texts: Mapping[str, str], arguments: Arguments) -> int:
    """Remarks, and the exit code they make."""
    from ..terminal.run import exit_code

    fault_text(faults, arguments, texts)
    return exit_code(faults)
