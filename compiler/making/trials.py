"""The bench that remedies are tried at: each way gone in the text, the piece made anew and judged, as long as
tries are left; where no remedy will do, a figure sought."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace

from ...lang.faults import Fault, Level
from ..judging.done import Way, ways
from ..judging.levers import PAST, Lever, levers
from ..judging.remark import Remark, with_remedies
from ..judging.said_clauses import THEN
from ..rules import all_rules
from .changed import farther, lines, written
from .outcomes import Cure, Outcome, fresh_by, gist, gone_by, is_nearer, listed, loud
from .readings import STILL, halted
from .result import Built, is_same_there, unseen

WORK = 240_000  # triangles of all that is made in trying what remedies say; in seeking figures half as many
ONCE = 2.5  # times as many, of a large piece, that has one try
PROBE = 3  # times cheaper it is to ask one rule
READ, TEXT = 8, "text"  # texts read when no more can be made: some say themselves that they are no way out
LEAST = 20_000  # triangles that a try counts for at the least
LEVERED = 2  # faults and warnings, the gravest, for which a figure is sought where no remedy will do
FOLLOWED = 3  # times that what is still told of a remark is done
KEPT, SOUGHT = 0.02, 0.4  # of what is seen of each line, left by what a remedy says, and by a figure sought
HALVED, STEP = 3, 0.05  # times that a figure found is made less, and to which step, mm
IDLE = 0.02  # of what is lacking: a figure that changes less is not changed
LUCK = "tried, it goes by luck: with a little more it comes again"
HALTS = "tried, it is no way out"

Make = Callable[[Mapping[str, str], str], Built]
"""Makes the piece from the user's own texts by path, those that are changed, judged by all rules or by that
of a name, or not made (TEXT)."""


class Bench:
    """A piece and its texts, and the tries that are left."""

    def __init__(self, make: Make, built: Built) -> None:
        self.make, self.built, self.texts = make, built, built.own_texts
        self.whole = max(LEAST, sum(len(part.triangles) for part in built.parts))
        once = self.whole + self.whole // PROBE
        self.left = once if WORK < once <= ONCE * WORK else WORK
        self.read = READ
        self.failed: dict[object, list[tuple[Way, Outcome]]] = {}
        self.alone: list[Cure] = []
        self.second = False  # what a way out brought is being answered

    @staticmethod
    def open(faults: Sequence[Fault]) -> list[Remark]:
        """The faults and warnings of bench rules, the gravest first."""
        found = [one for one in faults if isinstance(one, Remark) and one.level is not Level.HINT]
        return sorted(found, key=lambda one: list(Level).index(one.level))

    def cures(self) -> Iterator[Cure]:
        """Cures one after the other, each tried with those before it: first that by which most goes."""
        told = self.open(self.built.faults)
        self.alone = [cure for one in told if (cure := self.cure(one, self.built, self.texts))]
        best = max(self.alone, key=lambda cure: (len(cure.along), -len(THEN.split(cure.said))), default=None)
        in_vain = {(gist(one), one.seen, one.remedy) for one in told if gist(one) in self.failed}
        seen: set[object] = set()
        now: Built = self.built
        texts: Mapping[str, str] = self.texts
        while best is not None:
            yield best
            now, texts = best.after, best.texts
            seen.add(gist(best.of))
            best = None
            for one in self.open(now.faults):
                if gist(one) in seen or best is not None:
                    continue
                one = one.told()
                if (gist(one), one.seen, one.remedy) not in in_vain:
                    seen.add(gist(one))
                    best = self.cure(one, now, texts)
        self.left += WORK // 2
        for one in self.open(now.faults)[:LEVERED]:
            one = one.told()
            still = any(gist(one) == gist(other) for other in now.faults)
            idle = gist(one) in self.failed or not any(ways(one, texts))
            if still and idle and (found := self.sought(one, now, texts)):
                yield found
                now, texts = found.after, found.texts

    def cure(self, one: Remark, before: Built, texts: Mapping[str, str]) -> Cure | None:
        """The first way out of a remark by which it goes and nothing comes, or what does is answered too."""
        idle: list[Way] = []
        near: list[tuple[Way, Outcome]] = []
        named = ways(one, texts)
        for way in named:
            found = self.followed(one, way, before, texts, near)
            idle += [] if found is not None and found.said == way.said else [way]
            if found is not None:
                return replace(found, idle=idle, rest=list(named), before=before)
        found = self.both(one, *near[0], before) if near else None
        return replace(found, idle=idle) if found else None

    def weighed(self, cure: Cure) -> Cure:
        """A cure, the other ways its remark names tried too, as far as tries are left."""
        idle, rest = list(cure.idle), []
        if cure.before is None:
            return cure
        for way in cure.rest:
            came = self.outcome(cure.of, way, cure.before)
            idle += [way] if came.trouble else []
            rest += [] if came.trouble or came.cure else [way]
        return replace(cure, idle=idle, rest=rest)

    def untold(self, cured: Sequence[Cure]) -> Iterator[Cure]:
        """Cures that were tried alone, of what does not go along with others."""
        along = {gist(other) for cure in cured for other in cure.along}
        ready = (cure for cure in self.alone if cure.idle or gist(cure.of) not in self.failed)
        return (cure for cure in ready if gist(cure.of) not in along)

    def followed(
        self, one: Remark, way: Way, before: Built, start: Mapping[str, str], near: list[tuple[Way, Outcome]]
    ) -> Cure | None:
        """A way gone, and gone on with as long as the same remark tells it; ``near`` those by which it goes
        and another comes."""
        said = way.said
        for step in range(FOLLOWED):
            came = self.outcome(one, Way(said, way.texts), before)
            if came.trouble and not step:
                self.failed.setdefault(gist(one), []).append((way, came))
            if came.after is not None and came.left:
                near.append((Way(said, way.texts), came))
            still = next(iter(with_remedies(came.left[:1])), None) if not came.after else None
            further = next(ways(still, way.texts), None) if still and is_nearer(still, one) else None
            if further is None:
                return came.cure
            way, said = further, written(start, further.texts)
        return None

    def both(self, one: Remark, way: Way, came: Outcome, before: Built) -> Cure | None:
        """A way by which a remark goes and another comes, with what answers that other."""
        other = came.left[0]
        if self.second or came.after is None or not isinstance(other, Remark):
            return None
        self.second, other = True, other.told()
        found = self.cure(other, came.after, way.texts) or self.sought(other, came.after, way.texts)
        self.second = False
        if found is None or fresh_by(before.faults, found.after.faults, hints=False):
            return None
        if any(gist(same) == gist(one) for same in loud(found.after.faults)):  # the answer brought it back
            return None
        gone = gone_by(before.faults, found.after.faults, one)
        start, end = before.own_texts, found.texts
        twice = lines(start, way.texts) & lines(way.texts, end)
        said = f"{way.said}; then {found.said}"
        told = next(ways(replace(one, remedy=said, edit=None), start), None)
        if twice or told is None or told.texts != end:  # not to be followed as it stands
            said = written(start, end)
        return Cure(one, said, end, found.after, gone)

    def outcome(self, one: Remark, way: Way, before: Built, sought: bool = False) -> Outcome:
        """What comes of a way gone; where it was ``sought``, hints count too."""
        came = self.probed(one, way.texts) or self.by_luck(one, way, before)
        return came or self.after(one, way, before, sought)

    def by_luck(self, one: Remark, way: Way, before: Built) -> Outcome | None:
        """What comes of a way gone a little farther than told, where the remark is there again."""
        more = {path: farther(before.own_texts[path], text) for path, text in way.texts.items()}
        came = self.probed(one, more) if more != way.texts else None
        return replace(came, trouble=LUCK) if came is not None and came.trouble.startswith(STILL) else None

    def probed(self, one: Remark, texts: Mapping[str, str]) -> Outcome | None:
        """What comes of other texts as far as the rule of a remark tells; None where that remark is gone."""
        probe = self.trial(texts, one.code)
        stopped = halted(probe.faults) if probe is not None else []
        if probe is None or stopped:
            return Outcome(stopped, trouble=f"{HALTS}: then {listed(stopped)}") if stopped else Outcome()
        told = next((same for same in self.open(probe.faults) if gist(same) == gist(one)), None)
        return None if told is None else Outcome([told], trouble=f"{STILL}: then {told.seen}")

    def after(self, one: Remark, way: Way, before: Built, sought: bool = False) -> Outcome:
        """What comes of a way by which a remark goes."""
        after = self.trial(way.texts)
        if after is None:
            return Outcome()
        fresh = fresh_by(before.faults, after.faults, sought)
        if fresh:
            return Outcome(fresh, None, f"tried, it goes, but another comes: {listed(fresh)}", after)
        if lost := unseen(before, after, SOUGHT if sought else KEPT):
            seen = f"tried, it goes, but then hardly anything is seen of {', '.join(lost)}"
            return Outcome(trouble=seen, after=after)
        if sought and all_rules()[one.code].answer != "all" and is_same_there(before, after, one):
            return Outcome(trouble=STILL)  # the remark goes by luck
        return Outcome(cure=Cure(one, way.said, way.texts, after, gone_by(before.faults, after.faults, one)))

    def sought(self, one: Remark, before: Built, texts: Mapping[str, str]) -> Cure | None:
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
    ) -> Cure | None:
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
