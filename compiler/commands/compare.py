"""`posy compare`: what is not the same in two pieces, or two texts of one."""

from __future__ import annotations

import difflib
import os
import sys
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from ...lang.loader import Folder, Over
from ..terminal import options as shared
from ..terminal.forms import Arguments, Misuse
from ..terminal.output import remarks_data, say, tell, tell_data
from ..terminal.progress import Progress
from ..terminal.run import exit_code

if TYPE_CHECKING:
    from ..history.changes import Change
    from ..history.metal import Difference
    from ..history.record import Made
    from ..history.revision import Revision

_HEADS = {
    "title": "title", "note": "note", "metal": "metal", "measure": "measures", "weight": "weight",
    "size": "size over all", "stones": "stones", "carats": "stones in all", "cost": "cost",
    "set aside": "set aside", "remark": "remarks",
}  # fmt: skip
_FROM_GIT = (7, 9)  # words git gives a differ: with two more where the file was renamed


def run(arguments: Arguments) -> int:
    """Two pieces side by side; or, for git, two texts of one."""
    from ..history.lookup import now

    if arguments.for_git:
        return _for_git(arguments)
    if len(arguments.words) != 2:
        raise Misuse("posy compare takes two pieces, as in: posy compare ring.posy wider-ring.posy")
    one, other = arguments.words
    return told(now(one, one), now(other, other), arguments, "compare")


def told(before: Revision, after: Revision, arguments: Arguments, command: str) -> int:
    """Make both and tell what changed; the exit code."""
    from ..history.changes import changes
    from ..history.metal import difference

    both = _made(before, after, arguments)
    for one in both:
        if one.faults or not one.built.parts:
            faults = one.faults or one.built.faults
            if arguments.show == "data":
                tell_data(command, file=one.built.path, **remarks_data(one.built, faults))
                return exit_code(faults) or shared.FAULTS
            tell(one.built, faults, arguments, sys.stderr)
            if command != "git":
                print(f"{one.revision.told}: cannot be made, so nothing can be compared", file=sys.stderr)
            return exit_code(faults) or shared.FAULTS
    found = changes(both[0].record, both[1].record)
    metal = difference(both[0].built, both[1].built)
    trouble = 0
    if arguments.picture:
        trouble = _drawn(both, metal, arguments)
    if arguments.show == "data":
        _tell_data(both, found, metal, command)
    else:
        for line in _lines(both, found, metal, arguments):
            say(line)
    same = not found and not metal.gone_mm3 and not metal.come_mm3
    return trouble or (shared.FAULTS if arguments.same and not same else shared.DONE)


def _made(before: Revision, after: Revision, arguments: Arguments) -> tuple[Made, Made]:
    """Both made, with one memory of work between them."""
    from ..history.record import make
    from ..making.session import Session

    session = Session()
    made = []
    for one in (before, after):
        with Progress(one.told) as progress:
            made.append(
                make(one, session=session, tolerance=arguments.tolerance, progress=progress,
                     disk=type(one.files) is Folder)
            )  # fmt: skip
    return made[0], made[1]


def _lines(
    both: tuple[Made, Made], found: Sequence[Change], metal: Difference, arguments: Arguments
) -> list[str]:
    """All changes as text; with --show lines each by itself."""
    from ..history.metal import told as volume

    plain = arguments.show == "lines"
    head = f"{both[0].revision.told} -> {both[1].revision.told}"
    lines = [] if plain else [f"{both[1].built.title}: {head}"]
    last = ""
    for one in found:
        if plain:
            lines.append(f"{one.of} {one.name}: {one.was or '-'} -> {one.now or '-'} {one.by}".rstrip())
            continue
        if one.of != last:
            lines.append(_HEADS[one.of])
        last = one.of
        lines.append(f"  {_told(one)}")
    if metal.gone_mm3 or metal.come_mm3:
        figures = f"{volume(metal.come_mm3)} added, {volume(metal.gone_mm3)} removed"
        lines += [f"metal: {figures}"] if plain else ["metal added and removed", f"  {figures}"]
    return lines if found or metal.gone_mm3 or metal.come_mm3 else [*lines, "nothing has changed"]


def _told(one: Change) -> str:
    if one.of in ("remark", "set aside"):
        said = one.now or one.was
        return f"{'new ' if one.now else 'gone'}  {said} ({one.name})"
    name = f"{one.name}  " if one.name else ""
    if not one.was or not one.now:
        return f"{name}{one.now or one.was}, {'new' if one.now else 'gone'}"
    return f"{name}{one.was} -> {one.now}{f' ({one.by})' if one.by else ''}"


def _tell_data(both: tuple[Made, Made], found: Sequence[Change], metal: Difference, command: str) -> None:
    before, after = (
        {"file": one.built.path, "revision": one.revision.name, "when": one.revision.when or None}
        for one in both
    )
    tell_data(
        command, before=before, after=after, changes=[asdict(one) for one in found],
        metal_mm3={"added": round(metal.come_mm3, 3), "removed": round(metal.gone_mm3, 3)},
    )  # fmt: skip


def _drawn(both: tuple[Made, Made], metal: Difference, arguments: Arguments) -> int:
    from ..drawing.names import USUAL
    from ..files.atomic import write_set
    from ..history.picture import changes_sheet, pair
    from ..terminal.remarks import fault_text

    scenes = pair(metal, both[0].built, both[1].built)
    if scenes is None:
        return shared.DONE
    names = both[0].revision.told, both[1].revision.told
    sheet = changes_sheet(scenes, metal, both[1].built.title, names, arguments.views or USUAL)
    _, faults = write_set({Path(arguments.picture): sheet})
    fault_text(faults, arguments)
    return exit_code(faults)


def _for_git(arguments: Arguments) -> int:
    """What git asks of a differ: the two texts line by line, then what changed in the piece.

    Git ends at once when a differ says anything but that all is well, so it always does."""
    from ..history.revision import Revision

    if len(arguments.words) not in _FROM_GIT:
        raise Misuse("--for-git is for git: git config diff.posy.command 'posy compare --for-git'")
    path, old, _, _, new = arguments.words[:5]
    data = (b"" if one == os.devnull else Path(one).read_bytes() for one in (old, new))  # none: new or gone
    texts = [one.decode("utf-8", "replace") for one in data]
    names = [f"a/{path}", f"b/{path}"]
    old_rows, new_rows = (text.splitlines(keepends=True) for text in texts)
    for row in difflib.unified_diff(old_rows, new_rows, names[0], names[1]):
        sys.stdout.write(row if row.endswith("\n") else f"{row}\n")
    if "" in texts:
        return shared.DONE
    before, after = (
        Revision(name, path, Over(Folder(path), {path: text}))
        for name, text in zip(names, texts, strict=True)
    )
    sys.stdout.flush()
    told(before, after, arguments, "git")
    return shared.DONE
