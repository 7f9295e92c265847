"""Remedies tried: what a remark says to do is done in the text, the piece is made anew, and it is told what
came of it. What goes by the same change is told with the remark whose change it is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from ...lang.faults import Fault, Level
from ...lang.loader import Files, Folder, Over
from ..judging.agreed import agreed
from ..judging.done import Way, told_anew
from ..judging.mend import mended
from ..judging.remark import Remark, with_remedies
from ..judging.said_clauses import OR
from .outcomes import Cure, Outcome, gist, listed
from .readings import as_read, halted
from .result import Built, Tried
from .trials import TEXT, Bench, Make

if TYPE_CHECKING:
    from .pipeline import Progress
    from .session import Session


def built_and_tried(
    path: str, *, settings: Mapping[str, Any] | None = None, metal: str | None = None,
    tolerance: float | None = None, progress: Progress | None = None, files: Files | None = None,
    session: Session | None = None, rest: bool = False, only_faults: bool = False,
) -> Tried:
    """The piece at ``path`` made and judged, as ``build`` does it, and its remedies tried; with
    ``only_faults`` where it has any."""
    from .pipeline import build, check
    from .session import Session

    session, under = session or Session(), files or Folder(path)
    how: dict[str, Any] = {"settings": settings, "metal": metal, "session": session}

    def make(texts: Mapping[str, str], rule: str) -> Built:
        if progress is not None:
            progress("trying remedies", 0.0)
        if rule == TEXT:
            return check(path, settings=settings, metal=metal, files=Over(under, texts))
        return build(path, files=Over(under, texts), rule=rule, told=False, **how)

    def left(texts: Mapping[str, str]) -> Built:
        return build(path, files=Over(under, texts), rest=rest, **how)

    def judged(built: Built) -> Built:
        return tried(replace(built, faults=tuple(with_remedies(built.faults))), make).built

    built = build(path, files=files, progress=progress, tolerance=tolerance, **how)
    if only_faults and all(one.level is not Level.FAULT for one in built.faults):
        return Tried(replace(built, faults=tuple(with_remedies(built.faults))))
    if halted(built.faults):
        return Tried(as_read(built, Bench(make, built).trial, left, judged))
    return tried(built, make)


def tried(built: Built, make: Make) -> Tried:
    """``built`` with what came of the remedies of its faults and warnings, those tried that the piece is
    small enough for."""
    built = replace(built, faults=tuple(agreed(built.faults, built.own_texts)))
    bench = Bench(make, built)
    if not bench.open(built.faults):
        return Tried(built)
    cured = list(bench.cures())
    known = [bench.weighed(one) for one in (*cured, *bench.untold(cured))]
    told = replace(built, faults=tuple(_told(built.faults, known, bench.failed)))
    now, texts = (cured[-1].after, cured[-1].texts) if cured else (built, bench.texts)
    sound = [one for one in now.faults if gist(one) not in bench.failed]
    texts = {**texts, **mended(sound, texts).texts}
    return Tried(told, texts if texts != bench.texts else {})


def _told(
    faults: Sequence[Fault], cures: Sequence[Cure], failed: Mapping[object, Sequence[tuple[Way, Outcome]]]
) -> Iterator[Fault]:
    """The remarks with what came of their remedies, without those that go along with others."""
    by_gist = {gist(cure.of): cure for cure in reversed(cures)}
    along = {gist(other) for cure in cures for other in cure.along}
    for one in faults:
        cure = by_gist.get(gist(one))
        if cure is not None and isinstance(one, Remark):
            yield _cured(one, cure)
        elif gist(one) not in along:
            known = failed.get(gist(one))
            yield _failed(one, known) if known and isinstance(one, Remark) else one


def _failed(one: Remark, tries: Sequence[tuple[Way, Outcome]]) -> Fault:
    """A remark with the first of its ways by which it goes at least, and what is wrong with that; else
    without those that are none, where it names others. A figure it names only once others are cured is not
    told beside its own."""
    own = OR.split(one.remedy or "")
    if not any(way.said in own for way, _ in tries):
        return replace(one, then=tries[0][1].trouble.replace("tried,", "tried with what else is told,", 1))
    tries = [(way, came) for way, came in tries if way.said in own]
    near = [(way, came) for way, came in tries if came.after is not None]
    rest = told_anew(one.remedy or "", "", {}, [way for way, _ in tries]).removeprefix("; or ")
    if rest and not near:
        return _saying(one, rest)
    way, came = (near or tries)[0]
    return replace(_saying(one, f"{way.said}; or {rest}" if rest else way.said), edit=None, then=came.trouble)


def _saying(one: Remark, remedy: str) -> Remark:
    """A remark with another remedy; the change of text it offers is that of the first way it named."""
    first = next(iter(OR.split(one.remedy or "")))
    return replace(one, remedy=remedy, edit=one.edit if OR.split(remedy)[0] == first else None)


def _cured(one: Remark, cure: Cure) -> Fault:
    along = [other for other in cure.along if isinstance(other, Remark)]
    level = min([one.level, *(other.level for other in along)], key=list(Level).index)
    one = _saying(one, told_anew(cure.of.remedy or "", cure.said, cure.texts, cure.idle))
    then = "the first tried, it is gone" if cure.rest else "tried, it is gone"
    then += f", and gone with it, told here alone: {listed(along)}" if along else ""
    return replace(one, level=level, then=then)
