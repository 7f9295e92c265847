"""`posy resize`: a piece larger or smaller, as a change of its text, shown line by line."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path

from ...lang.faults import Fault, is_fatal
from ...lang.loader import Folder, Over
from ...lang.parse import parse
from ..judging.mend import changes
from ..making.resize import factor_of, resized
from ..making.result import Built
from ..terminal import options as shared
from ..terminal.forms import Arguments, Misuse
from ..terminal.output import say
from ..terminal.remarks import remarks_text, wants_colour, width_for

LEAST, MOST = 0.2, 5.0


def run(arguments: Arguments) -> int:
    """Show what changes, and write it on request."""
    from ..files.atomic import write_set
    from ..making.pipeline import build
    from ..words.standard import all_words

    path, factor = _asked(arguments.words)
    before = build(path, check_metal=False)
    if path not in before.texts or not before.made:
        return _told([one for one in before.faults if is_fatal([one])], before.texts, arguments)
    old = before.texts[path]
    file, _ = parse(old, path)
    new = resized(file, all_words(), factor)
    if new == old:
        say(f"{path}: nothing in it would change")
        return shared.DONE
    sys.stdout.write(changes({path: old}, {path: new}, "new", width_for(sys.stdout)))
    after = build(path, files=Over(Folder(path), {path: new}))
    say(_weights(before, after))
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


def _asked(words: list[str]) -> tuple[str, float]:
    """The piece and the factor. Raises Misuse."""
    if len(words) == 3 and words[2] == "%":
        words = [words[0], words[1] + "%"]
    if len(words) != 2:
        raise Misuse("posy resize needs a piece and how large it is to be, as in: posy resize ring.posy 120%")
    factor = factor_of(words[1])
    if factor is None:
        raise Misuse(f"'{words[1]}' is no size: write 120% for a fifth larger, 80% for a fifth smaller")
    if not LEAST <= factor <= MOST:
        raise Misuse(f"{words[1]} is out of range: from {LEAST:.0%} to {MOST:.0%}")
    return words[0], factor


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

    colour = wants_colour(sys.stderr, arguments.no_colour)
    sys.stderr.write(remarks_text(faults, texts, "full", colour, width=width_for(sys.stderr)))
    return exit_code(faults)
