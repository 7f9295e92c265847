"""`posy picture`: a still of a piece in its metal and stones, or a turn of stills."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..making.result import Built
from ..terminal import run as making
from ..terminal.forms import Arguments, Misuse
from ..terminal.output import Outcome, folder_of, remarks_data, tell, tell_all
from ..terminal.progress import Progress

if TYPE_CHECKING:
    import numpy as np

COARSE = 0.02  # mm between chord and curve, in a draft


def run(arguments: Arguments) -> int:
    """Take the pictures of every piece; the exit code is that of the worst."""
    _have_renderer()
    found = [_taken(path, arguments) for path in arguments.pieces]
    return tell_all("picture", found, arguments, _record, _show)


def _show(one: Outcome, arguments: Arguments) -> None:
    tell(one.built, one.faults, arguments, sys.stderr)
    for file in one.files:
        print(file)


def _have_renderer() -> None:
    """Misuse, with how to get it, where the renderer is not installed."""
    from ..picture.render import EXTRA, renderer

    try:
        renderer()
    except ImportError as error:
        raise Misuse(
            f"posy picture needs a renderer ({error.name}): pip install '{EXTRA}' (about 270 MB); "
            "posy draw draws in lines without it"
        ) from None


def _taken(path: str, arguments: Arguments) -> Outcome:
    """Build one piece and write its pictures, all at once."""
    from ..files.atomic import write_set
    from ..picture.png import png

    metals = arguments.metal
    arguments.metal = metals[0] if metals else None
    if arguments.draft and arguments.tolerance is None:
        arguments.tolerance = COARSE
    built = making.built_piece(path, arguments, check_metal=False, worn=True, finished=not arguments.as_cast)
    arguments.metal = metals
    if not built.made:
        return Outcome(built, tuple(built.faults))
    target = folder_of(path, arguments.into)
    with Progress(path) as progress:
        files = {
            target / f"{Path(path).stem}-{name}.png": png(image)
            for name, image in _images(built, metals, arguments, progress)
        }
    written, trouble = write_set(files)
    return Outcome(built, (*built.faults, *trouble), dict.fromkeys(written, 0))


def _images(
    built: Built, metals: tuple[str, ...], arguments: Arguments, progress: Progress
) -> Iterator[tuple[str, np.ndarray]]:
    import numpy as np

    turns = arguments.turn or 1
    width = len(str(turns))
    strips = [_in_metal(built, metal) for metal in metals] if len(metals) > 1 else [built]
    for k in range(turns):
        row = []
        for n, one in enumerate(strips):
            progress("lighting it", (k * len(strips) + n) / (turns * len(strips)))
            row.append(_image(one, 360.0 * k / turns, arguments))
        yield f"turn-{k + 1:0{width}}" if arguments.turn else "picture", np.concatenate(row, axis=1)


def _image(built: Built, turned: float, arguments: Arguments) -> np.ndarray:
    from ..picture.render import DRAFT, FINAL, picture_of
    from ..picture.rest import rest_of, usual_rest
    from ..picture.set import Wish

    rest = rest_of(built, arguments.rest or usual_rest(built), arguments.look, turned)
    wish = Wish(arguments.ground, arguments.surface, arguments.size)
    image = picture_of(built, rest, wish, DRAFT if arguments.draft else FINAL)
    assert image is not None  # it was made
    return image


def _in_metal(built: Built, metal: str) -> Built:
    """The same piece, what is cast in its own metal cast in another."""
    parts = tuple(
        replace(part, metal=metal) if part.metal == built.metal and not part.bought else part
        for part in built.parts
    )
    return replace(built, parts=parts, metal=metal)


def _record(one: Outcome) -> dict[str, Any]:
    pictures = list(map(str, one.files))
    return {**one.record("metal"), "pictures": pictures, **remarks_data(one.built, one.faults)}
