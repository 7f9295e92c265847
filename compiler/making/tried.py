"""Remedies tried: what a remark says to do is done in the text, the piece is made anew, and it is told what
came of it. What goes by the same change is told with the remark whose change it is."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from typing import TYPE_CHECKING, Any

from ...lang.faults import Fault, Level
from ...lang.loader import Files, Folder, Over
from ..judging.done import OR, THEN, Way, agreed, told_anew, ways
from ..judging.levers import PAST, Lever, levers
from ..judging.mend import mended
from ..judging.remark import Remark, with_remedies
from ..rules import all_rules
from .readings import STILL, as_read, halted
from .result import Built, Tried, is_same_there, unseen

if TYPE_CHECKING:
    from .pipeline import Progress
    from .session import Session

WORK = 240_000  # triangles of all that is made in trying what remedies say; in seeking figures half as many
ONCE = 2.5  # times as many, of a large piece, that has one try
PROBE = 3  # times cheaper it is to ask one rule
READ, TEXT = 8, "text"  # texts read when no more can be made: some say themselves that they are no way out
LEAST = 20_000  # triangles that a try counts for at the least
LEVERED = 2  # faults and warnings, the gravest, for which a figure is sought where no remedy will do
FOLLOWED = 3  # times that what is still told of a remark is done
KEPT, SOUGHT = 0.02, 0.4  # of what is seen of each line, left by what a remedy says, and by a figure sought
HALVED, STEP = 3, 0.05  # times that a figure found is made less, and to which step, mm
WORSE = 1.2  # times what a remark lacks, from which it comes anew
IDLE = 0.02  # of what is lacking: a figure that changes less is not changed
BEYOND = 1.03  # times each figure that a remedy changes, that cure too
LUCK = "tried, it goes by luck: with a little more it comes again"
HALTS = "tried, it is no way out"
MOST = 3  # remarks named that go along with another, or come in its place

LENGTH = re.compile(r"-?\d+(?:\.\d+)?(?= mm\b)")
Make = Callable[[Mapping[str, str], str], Built]
"""Makes the piece from the user's own texts by path, those that are changed, judged by all rules or by that
of a name, or not made (TEXT)."""


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
        return Tried(as_read(built, _Bench(make, built).trial, left, judged))
    return tried(built, make)


def tried(built: Built, make: Make) -> Tried:
    """``built`` with what came of the remedies of its faults and warnings, those tried that the piece is
    small enough for."""
    built = replace(built, faults=tuple(agreed(built.faults, built.own_texts)))
    bench = _Bench(make, built)
    if not bench.open(built.faults):
        return Tried(built)
    cured = list(bench.cures())
    known = [bench.weighed(one) for one in (*cured, *bench.untold(cured))]
    told = replace(built, faults=tuple(_told(built.faults, known, bench.failed)))
    now, texts = (cured[-1].after, cured[-1].texts) if cured else (built, bench.texts)
    sound = [one for one in now.faults if _gist(one) not in bench.failed]
    texts = {**texts, **mended(sound, texts).texts}
    return Tried(told, texts if texts != bench.texts else {})


@dataclass
class _Cure:
    """A change of text that makes a remark go, and what else goes by it."""

    of: Remark
    said: str
    texts: Mapping[str, str]
    after: Built
    along: list[Fault]
    idle: Sequence[Way] = ()  # ways its remark names that are none
    rest: Sequence[Way] = ()  # ways it names besides, not tried yet
    before: Built | None = None


@dataclass
class _Outcome:
    """What came of a way gone: what is told yet, of its remark or else what came of it, of the piece
    ``after``; or the cure, where nothing is; and what is wrong with it."""

    left: Sequence[Fault] = ()
    cure: _Cure | None = None
    trouble: str = ""
    after: Built | None = None  # where the remark is gone


class _Bench:
    """A piece and its texts, and the tries that are left."""

    def __init__(self, make: Make, built: Built) -> None:
        self.make, self.built, self.texts = make, built, built.own_texts
        self.whole = max(LEAST, sum(len(part.triangles) for part in built.parts))
        once = self.whole + self.whole // PROBE
        self.left = once if WORK < once <= ONCE * WORK else WORK
        self.read = READ
        self.failed: dict[object, list[tuple[Way, _Outcome]]] = {}
        self.alone: list[_Cure] = []
        self.second = False  # what a way out brought is being answered

    @staticmethod
    def open(faults: Sequence[Fault]) -> list[Remark]:
        """The faults and warnings of bench rules, the gravest first."""
        found = [one for one in faults if isinstance(one, Remark) and one.level is not Level.HINT]
        return sorted(found, key=lambda one: list(Level).index(one.level))

    def cures(self) -> Iterator[_Cure]:
        """Cures one after the other, each tried with those before it: first that by which most goes."""
        told = self.open(self.built.faults)
        self.alone = [cure for one in told if (cure := self.cure(one, self.built, self.texts))]
        best = max(self.alone, key=lambda cure: (len(cure.along), -len(THEN.split(cure.said))), default=None)
        in_vain = {(_gist(one), one.seen, one.remedy) for one in told if _gist(one) in self.failed}
        seen: set[object] = set()
        now: Built = self.built
        texts: Mapping[str, str] = self.texts
        while best is not None:
            yield best
            now, texts = best.after, best.texts
            seen.add(_gist(best.of))
            best = None
            for one in self.open(now.faults):
                if _gist(one) in seen or best is not None:
                    continue
                one = one.told()
                if (_gist(one), one.seen, one.remedy) not in in_vain:
                    seen.add(_gist(one))
                    best = self.cure(one, now, texts)
        self.left += WORK // 2
        for one in self.open(now.faults)[:LEVERED]:
            one = one.told()
            still = any(_gist(one) == _gist(other) for other in now.faults)
            idle = _gist(one) in self.failed or not any(ways(one, texts))
            if still and idle and (found := self.sought(one, now, texts)):
                yield found
                now, texts = found.after, found.texts

    def cure(self, one: Remark, before: Built, texts: Mapping[str, str]) -> _Cure | None:
        """The first way out of a remark by which it goes and nothing comes, or what does is answered too."""
        idle: list[Way] = []
        near: list[tuple[Way, _Outcome]] = []
        named = ways(one, texts)
        for way in named:
            found = self.followed(one, way, before, texts, near)
            idle += [] if found is not None and found.said == way.said else [way]
            if found is not None:
                return replace(found, idle=idle, rest=list(named), before=before)
        found = self.both(one, *near[0], before) if near else None
        return replace(found, idle=idle) if found else None

    def weighed(self, cure: _Cure) -> _Cure:
        """A cure, the other ways its remark names tried too, as far as tries are left."""
        idle, rest = list(cure.idle), []
        if cure.before is None:
            return cure
        for way in cure.rest:
            came = self.outcome(cure.of, way, cure.before)
            idle += [way] if came.trouble else []
            rest += [] if came.trouble or came.cure else [way]
        return replace(cure, idle=idle, rest=rest)

    def untold(self, cured: Sequence[_Cure]) -> Iterator[_Cure]:
        """Cures that were tried alone, of what does not go along with others."""
        along = {_gist(other) for cure in cured for other in cure.along}
        ready = (cure for cure in self.alone if cure.idle or _gist(cure.of) not in self.failed)
        return (cure for cure in ready if _gist(cure.of) not in along)

    def followed(
        self, one: Remark, way: Way, before: Built, start: Mapping[str, str], near: list[tuple[Way, _Outcome]]
    ) -> _Cure | None:
        """A way gone, and gone on with as long as the same remark tells it; ``near`` those by which it goes
        and another comes."""
        said = way.said
        for step in range(FOLLOWED):
            came = self.outcome(one, Way(said, way.texts), before)
            if came.trouble and not step:
                self.failed.setdefault(_gist(one), []).append((way, came))
            if came.after is not None and came.left:
                near.append((Way(said, way.texts), came))
            still = next(iter(with_remedies(came.left[:1])), None) if not came.after else None
            further = next(ways(still, way.texts), None) if still and _is_nearer(still, one) else None
            if further is None:
                return came.cure
            way, said = further, _written(start, further.texts)
        return None

    def both(self, one: Remark, way: Way, came: _Outcome, before: Built) -> _Cure | None:
        """A way by which a remark goes and another comes, with what answers that other."""
        other = came.left[0]
        if self.second or came.after is None or not isinstance(other, Remark):
            return None
        self.second, other = True, other.told()
        found = self.cure(other, came.after, way.texts) or self.sought(other, came.after, way.texts)
        self.second = False
        if found is None or _fresh(before.faults, found.after.faults, hints=False):
            return None
        if any(_gist(same) == _gist(one) for same in _loud(found.after.faults)):  # the answer brought it back
            return None
        gone = _gone(before.faults, found.after.faults, one)
        start, end = before.own_texts, found.texts
        twice = _lines(start, way.texts) & _lines(way.texts, end)
        said = _written(start, end) if twice else f"{way.said}; then {found.said}"
        return _Cure(one, said, end, found.after, gone)

    def outcome(self, one: Remark, way: Way, before: Built, sought: bool = False) -> _Outcome:
        """What comes of a way gone; where it was ``sought``, hints count too."""
        came = self.probed(one, way.texts) or self.by_luck(one, way, before)
        return came or self.after(one, way, before, sought)

    def by_luck(self, one: Remark, way: Way, before: Built) -> _Outcome | None:
        """What comes of a way gone a little farther than told, where the remark is there again."""
        farther = {path: _farther(before.own_texts[path], text) for path, text in way.texts.items()}
        came = self.probed(one, farther) if farther != way.texts else None
        return replace(came, trouble=LUCK) if came is not None and came.trouble.startswith(STILL) else None

    def probed(self, one: Remark, texts: Mapping[str, str]) -> _Outcome | None:
        """What comes of other texts as far as the rule of a remark tells; None where that remark is gone."""
        probe = self.trial(texts, one.code)
        stopped = halted(probe.faults) if probe is not None else []
        if probe is None or stopped:
            return _Outcome(stopped, trouble=f"{HALTS}: then {_listed(stopped)}") if stopped else _Outcome()
        told = next((same for same in self.open(probe.faults) if _gist(same) == _gist(one)), None)
        return None if told is None else _Outcome([told], trouble=f"{STILL}: then {told.seen}")

    def after(self, one: Remark, way: Way, before: Built, sought: bool = False) -> _Outcome:
        """What comes of a way by which a remark goes."""
        after = self.trial(way.texts)
        if after is None:
            return _Outcome()
        fresh = _fresh(before.faults, after.faults, sought)
        if fresh:
            return _Outcome(fresh, None, f"tried, it goes, but another comes: {_listed(fresh)}", after)
        if lost := unseen(before, after, SOUGHT if sought else KEPT):
            seen = f"tried, it goes, but then hardly anything is seen of {', '.join(lost)}"
            return _Outcome(trouble=seen, after=after)
        if sought and all_rules()[one.code].answer != "all" and is_same_there(before, after, one):
            return _Outcome(trouble=STILL)  # the remark goes by luck
        return _Outcome(cure=_Cure(one, way.said, way.texts, after, _gone(before.faults, after.faults, one)))

    def sought(self, one: Remark, before: Built, texts: Mapping[str, str]) -> _Cure | None:
        """The change of one figure by which a remark goes and nothing comes, as far as tries are left."""
        piece, span = before.piece, one.span
        if piece is None or span is None or span.path not in texts or one.figure is None or one.bound is None:
            return None
        for lever in levers(piece, one, texts[span.path]):
            if (found := self.levered(one, lever, before, texts, span.path)) is not None:
                return replace(found, idle=list(ways(one, texts)))
        return None

    def levered(
        self, one: Remark, lever: Lever, before: Built, texts: Mapping[str, str], path: str
    ) -> _Cure | None:
        """A lever pulled one way, then the other; then as far as what it changed asks."""
        assert one.figure is not None and one.bound is not None
        for value in (lever.first, 2 * lever.now - lever.first):
            for _ in range(2):
                if not lever.least <= value <= lever.most:
                    break
                new = {**texts, path: lever.at(value, texts[path], path)}
                came = self.probed(one, new)
                if came is None:
                    way = self.least(one, lever, value, texts, path)
                    came = self.by_luck(one, way, before) or self.after(one, way, before, sought=True)
                if came.after is not None and came.left:
                    return self.both(one, way, came, before)
                if came.cure is not None:
                    return came.cure
                told = came.left[0] if came.left else None
                now, lack = told.figure if isinstance(told, Remark) else None, abs(one.figure - one.bound)
                if now is not None and abs(now - one.figure) < IDLE * lack:
                    return None  # it has no part in it, either way
                if now is None or abs(now - one.bound) >= lack:
                    break
                far = PAST * (one.bound - one.figure) / (now - one.figure)
                value = lever.now + far * (value - lever.now)
        return None

    def least(
        self, one: Remark, lever: Lever, value: float, texts: Mapping[str, str], path: str
    ) -> Way:
        """By the value nearest to what a lever is now, of some, by which a remark goes, as one does."""
        low = lever.now
        for _ in range(HALVED):
            middle = round((low + value) / 2 / STEP) * STEP
            new = {**texts, path: lever.at(middle, texts[path], path)}
            if min(abs(middle - low), abs(middle - value)) < STEP / 2:
                break
            low, value = (low, middle) if self.probed(one, new) is None else (middle, value)
        return Way(lever.said(value, texts[path]), {**texts, path: lever.at(value, texts[path], path)})

    def trial(self, texts: Mapping[str, str], rule: str = "") -> Built | None:
        """The piece of changed texts, judged by all rules or by one; None where it would take more work than
        is left."""
        whole, probe = self.whole, self.whole // PROBE
        if whole + (probe if rule else 0) > self.left:  # to ask one rule is in vain, if then not all can be
            self.read -= 1
            read = self.make(texts, TEXT) if self.read >= 0 else None
            return read if read is not None and halted(read.faults) else None
        made = self.make(texts, rule)
        if not halted(made.faults):  # else it was not made
            self.left -= probe if rule else whole
        return None if any(one.code == "rule-not-measured" for one in made.faults) else made


def _gist(one: Fault) -> tuple[str, object]:
    """What a remark is about, wherever its lines stand, however often and however badly it is met."""
    return one.code, one.parts if isinstance(one, Remark) else one.message


def _is_nearer(now: Fault, one: Remark) -> bool:
    """Whether a remark lacks less than it did, as far as that is known."""
    return not (_lack(now) and _lack(one)) or _lack(now) < _lack(one)


def _loud(faults: Sequence[Fault]) -> list[Fault]:
    return [one for one in faults if one.level is not Level.HINT]


def _fresh(before: Sequence[Fault], after: Sequence[Fault], hints: bool) -> list[Fault]:
    """Faults and warnings, and ``hints`` too, of a rule on a part, not told before, or not so bad."""
    known: dict[object, float] = {}
    for one in before if hints else _loud(before):
        known[_gist(one)] = max(_lack(one), known.get(_gist(one), 0.0))
    told = after if hints else _loud(after)
    return [one for one in told if _gist(one) not in known or _lack(one) > WORSE * known[_gist(one)]]


def _lack(one: Fault) -> float:
    """How far the figure of a remark is from its limit; 0 of what has none."""
    if not isinstance(one, Remark) or one.figure is None or one.bound is None:
        return 0.0
    return abs(one.figure - one.bound)


def _gone(before: Sequence[Fault], after: Sequence[Fault], one: Fault) -> list[Fault]:
    """What is no longer told, of that rule on that part or in those words, besides ``one``."""
    left = {_gist(other) for other in (*_loud(after), one)}
    return [other for other in _loud(before) if _gist(other) not in left]


def _written(old: Mapping[str, str], new: Mapping[str, str]) -> str:
    """The lines of new texts that are not in the old ones, as they are to be written."""
    said = []
    for path in new:
        lines, before = new[path].splitlines(), old[path].splitlines()
        same = SequenceMatcher(None, before, lines, autojunk=False).get_opcodes()
        for kind, first, last, start, end in same:
            if kind != "equal":
                for k, line in enumerate(lines[start:end]):
                    where = f"line {first + k + 1} as" if first + k < last else "below the last line"
                    said.append(f"write {where}: {line.strip()}")
    return ", and ".join(said)


def _farther(old: str, new: str) -> str:
    """A text of as many lines with each length that differs from an old one a little farther from it."""
    before, lines = old.splitlines(keepends=True), new.splitlines(keepends=True)
    for k, (was, line) in enumerate(zip(before, lines, strict=False)):
        if was != line and len(before) == len(lines):
            told, now, rest = LENGTH.findall(was), LENGTH.findall(line), LENGTH.split(line)
            if LENGTH.split(was) != rest:  # a clause is new
                told = [one if one in told else "0" for one in now]
            lines[k] = "".join(map("".join, zip(rest, [*map(_beyond, told, now), ""], strict=True)))
    return "".join(lines)


def _beyond(was: str, now: str) -> str:
    more = BEYOND if abs(float(now)) > abs(float(was)) else 1 / BEYOND
    return now if now == was else f"{float(now) * more:.3f}"


def _lines(old: Mapping[str, str], new: Mapping[str, str]) -> set[tuple[str, int]]:
    """The lines, by path and number, that are not as they were."""
    return {
        (path, k) for path in new
        for k, (was, line) in enumerate(zip(old[path].splitlines(), new[path].splitlines(), strict=False))
        if was != line
    }  # fmt: skip


def _listed(faults: Sequence[Fault]) -> str:
    named = [f"line {one.span.line}, {one.message}" if one.span else one.message for one in faults[:MOST]]
    more = len(faults) - MOST
    return "; ".join([*named, *([f"and {more} more"] if more > 0 else [])])


def _told(
    faults: Sequence[Fault], cures: Sequence[_Cure], failed: Mapping[object, Sequence[tuple[Way, _Outcome]]]
) -> Iterator[Fault]:
    """The remarks with what came of their remedies, without those that go along with others."""
    by_gist = {_gist(cure.of): cure for cure in reversed(cures)}
    along = {_gist(other) for cure in cures for other in cure.along}
    for one in faults:
        cure = by_gist.get(_gist(one))
        if cure is not None and isinstance(one, Remark):
            yield _cured(one, cure)
        elif _gist(one) not in along:
            known = failed.get(_gist(one))
            yield _failed(one, known) if known and isinstance(one, Remark) else one


def _failed(one: Remark, tries: Sequence[tuple[Way, _Outcome]]) -> Fault:
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


def _cured(one: Remark, cure: _Cure) -> Fault:
    along = [other for other in cure.along if isinstance(other, Remark)]
    level = min([one.level, *(other.level for other in along)], key=list(Level).index)
    one = _saying(one, told_anew(cure.of.remedy or "", cure.said, cure.texts, cure.idle))
    then = "the first tried, it is gone" if cure.rest else "tried, it is gone"
    then += f", and gone with it: {_listed(along)}" if along else ""
    return replace(one, level=level, then=then)
