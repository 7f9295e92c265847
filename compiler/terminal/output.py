"""Files written for a piece, as the options of a command ask."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO, TypeVar

from ...lang.faults import Fault, Level
from ...lang.folding import clean, fold
from ..judging.remark import LAYOUT, is_waived, remark_record, tally, waiver_record
from ..making.result import Built
from .forms import Arguments, Misuse
from .remarks import fault_text, remarks_text, tinted, waivers_text, wants_colour, width_for

if TYPE_CHECKING:
    from ..making.weights import Weights
from .run import exit_code, worst

T = TypeVar("T", bound="Outcome")


@dataclass
class Outcome:
    """A piece as it was built, all remarks, and the files written of it with their sizes in bytes."""

    built: Built
    faults: tuple[Fault, ...]
    files: Mapping[Path, int] = field(default_factory=dict)

    def record(self, *keys: str) -> dict[str, Any]:
        """The piece as plain data, of ``keys`` beside its path and title."""
        return {"file": self.built.path} | {key: getattr(self.built, key) for key in ("title", *keys)}


def tell_all(
    command: str, found: Iterable[T], arguments: Arguments, record: Callable[[T], Any],
    show: Callable[[T, Arguments], None], strict: bool = False,
) -> int:
    """Tell what came of each piece as it comes, or all as one report; the exit code is that of the worst."""
    codes, records = [], []
    for one in found:
        if arguments.show == "data":
            records.append(record(one))
        else:
            show(one, arguments)
        codes.append(exit_code(one.faults, strict=strict))
    if arguments.show == "data":
        tell_data(command, pieces=records)
    return worst(codes)


def sized(files: Mapping[Any, int]) -> list[dict[str, Any]]:
    """Files with their sizes as plain data."""
    return [{"file": str(path), "bytes": size} for path, size in files.items()]


def write_files(built: Built, arguments: Arguments, label: str = "") -> tuple[dict[Path, int], list[Fault]]:
    """Write the files asked for, named by ``label`` in a series; paths with sizes in bytes, and faults."""
    from ..files.formats import Wanted
    from ..files.outputs import write_making
    from .progress import Progress

    wanted = Wanted(arguments.formats, arguments.shrink, arguments.stones)
    name = Path(built.path).stem + (f"-{label}" if label else "")
    with Progress(built.path) as progress:
        return write_making(built, folder_of(built.path, arguments.into), name, wanted, progress)


def metal_told(built: Built, grave: Sequence[Fault]) -> str:
    """One line on the ``grave`` remarks on the metal that files were written of; "" without any."""
    codes = ", ".join(dict.fromkeys(fault.code for fault in grave))
    said = f"{tally(grave)} in the finished metal ({codes}): see posy check"
    return f"{built.path}: {said}" if grave else ""


def metal_faults(built: Built) -> list[Fault]:
    """The faults and warnings there are of the metal of a piece made without its rules."""
    from ..making.pipeline import measured

    return [fault for fault in measured(built) if fault.level is not Level.HINT and not is_waived(fault)]


def folder_of(path: str, into: str | None) -> Path:
    """Where the files of the piece at ``path`` go."""
    return Path(into) if into else Path(path).parent / "out"


def drawing_of(path: str, into: str | None) -> Path:
    """Where the drawing of the piece at ``path`` goes."""
    return folder_of(path, into) / f"{Path(path).stem}.svg"


def no_clashes(arguments: Arguments, what: str) -> None:
    """Two pieces of one name must not write over each other's files. Raises Misuse."""
    seen: dict[Path, str] = {}
    for path in arguments.pieces:
        target = drawing_of(path, arguments.into)
        if target in seen:
            raise Misuse(f"{seen[target]} and {path} would write the same {what}")
        seen[target] = path


def write_drawing(built: Built, into: str | None) -> list[Fault]:
    """Write the drawing of a piece that was made; not where its folder has gone meanwhile."""
    from ..drawing.names import USUAL
    from ..drawing.scene import scene_of
    from ..drawing.sheet import Titled, views_sheet
    from ..files.atomic import write_set

    scene = scene_of(built)
    if scene is None:
        return []
    sheet = views_sheet(Titled(scene, built.title, " and ".join(built.metals)), USUAL)
    target = drawing_of(built.path, into)
    try:
        target.parent.mkdir(parents=bool(into), exist_ok=True)
    except FileNotFoundError:
        return []
    except OSError:
        pass  # told by what follows
    return write_set({target: sheet})[1]


def say(text: str, stream: TextIO | None = None, tint: str = "") -> None:
    """Print ``text``, folded on a terminal; ``tint`` colours what stands before the first colon."""
    stream, text = stream or sys.stdout, clean(text)
    rows = fold(text, width_for(stream), "", "  ") if stream.isatty() else [text]
    head, colon, rest = rows[0].partition(":")
    rows[0] = f"{tinted(head, tint, True)}{colon}{rest}" if tint and colon else rows[0]
    print("\n".join(rows), file=stream)


def say_of(built: Built, text: str, arguments: Arguments) -> None:
    """What there is to say of a piece, after its path."""
    say(f"{built.path}: {text}", tint="bold" if wants_colour(sys.stdout, arguments.no_colour) else "")


def shown_size(size: int) -> str:
    """A file's size for people."""
    if size < 1000:
        return f"{size} bytes"
    return f"{size / 1e3:.1f} kB" if size < 1e6 else f"{size / 1e6:.1f} MB"


def tell(built: Built, faults: Iterable[Fault], arguments: Arguments, stream: TextIO) -> None:
    """The remarks on a piece and what its text sets aside, to people."""
    sys.stdout.flush()
    colour, width = wants_colour(stream, arguments.no_colour), width_for(stream)
    faults = list(faults)
    brief = stream is not sys.stdout  # only `check` tries remedies of what can be made
    hints = arguments.hints
    stream.write(remarks_text(faults, built.texts, arguments.show, colour, hints, width=width, brief=brief))
    stream.write(waivers_text(built.waivers, faults, width))
    stream.flush()


def tell_data(command: str, **told: Any) -> None:
    """A report as JSON, with the version of its layout and the command it is of."""
    import json

    print(json.dumps({"posy": LAYOUT, "command": command, **told}, indent=2, ensure_ascii=False))


def tell_faults(command: str, path: str, faults: Sequence[Fault], arguments: Arguments) -> int:
    """Faults that are about no line of a text, to people or as data; gives the exit code."""
    if arguments.show == "data":
        tell_data(command, file=path, remarks=[remark_record(fault) for fault in faults])
    else:
        fault_text(faults, arguments)
    return exit_code(faults)


def remarks_data(built: Built, faults: Iterable[Fault]) -> dict[str, Any]:
    """The remarks on a piece and what its text sets aside, as plain data."""
    return {
        "remarks": [remark_record(fault) for fault in faults],
        "waivers": [waiver_record(waiver) for waiver in built.waivers],
    }


def as_cast(weights: Weights) -> str:
    """Each cast metal with its own weight: "1.32 g of silver-925 as cast"."""
    parts = [f"{bench_grams(grams)} g of {metal}" for metal, grams, _ in weights.metals]
    return f"{' and '.join(parts) or f'no {weights.metal}'} as cast"


def bought_lines(weights: Weights) -> list[str]:
    """What is bought and not cast, a line each."""
    return [
        f"bought: {part.casting}, {part.count} in {part.metal}, {bench_grams(part.grams)} g"
        for part in weights.bought
    ]


def bench_grams(grams: float) -> str:
    """A weight to 0.01 g, finer than alloys agree; what is lighter than 0.1 g to 0.001 g."""
    return f"{grams:,.2f}" if grams >= 0.1 else f"{grams:.3f}"
