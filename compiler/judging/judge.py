"""The rules at work: verdicts of all bench rules on a piece, in the form all outputs show.

``before_metal`` runs the rules of the plan, ``on_metal`` those that measure the solid; both give verdicts in
the order of the text, waivers already taken into account."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cached_property, partial

import numpy as np

from ...lang.faults import Fault, Level, Span, in_order
from ...lang.outcome import Waiver
from .digits import told_apart
from .done import for_all
from .piece import Piece
from .remark import Edit, Remark
from .rule import Rule, Verdict
from .source_lines import SourceLine, SourceLines

__all__ = ["Edit", "Remark", "as_cast", "before_metal", "idle_waivers", "on_metal"]

Rules = Mapping[str, Rule]  # by name
_QUOTED = re.compile(r"'([a-z][a-z-]*)[^']*'")
# Rules that raise are our bugs: a test sets this and sees them; a user gets one note.
STRICT = False
WORTH_TWO = 60_000  # triangles from which a second thread is worth its while
BY_STONE = ("surrounds", "floors", "roots")
BY_FACE = ("thin", "gaps", "edges")


def before_metal(piece: Piece, rules: Rules) -> list[Fault]:
    """Verdicts of ``rules`` on the plan."""
    return _Judge(piece, rules).phase("plan")


def on_metal(piece: Piece, rules: Rules, go_on: Callable[[], bool] | None = None) -> list[Fault]:
    """Verdicts of ``rules`` on the solid; ``piece`` has its parts. ``go_on`` is asked before each rule
    whether it is still wanted, as when a newer text waits."""
    return _Judge(piece, rules).phase("metal", go_on)


def as_cast(piece: Piece, rules: Rules) -> list[Fault]:
    """Verdicts of ``rules`` on how the piece freezes; ``piece`` has its pours."""
    return _Judge(piece, rules).phase("cast")


def idle_waivers(
    piece: Piece, phases_of: Callable[[str], Sequence[str]], verdicts: Iterable[Fault],
    phases: Sequence[str],
) -> list[Fault]:
    """A note for each waiver that set nothing aside, as far as the ``phases`` run can tell; ``phases_of``
    gives those in which a rule may check."""
    used = {
        (fault.code, waiver.span)
        for fault in verdicts
        if isinstance(fault, Remark) and fault.waived is not None
        for waiver in piece.waivers
        if waiver.rule == fault.code and waiver.covers(fault.feature)
    }
    return [
        _idle(waiver)
        for waiver in piece.waivers
        if (waiver.rule, waiver.span) not in used
        and (checked := phases_of(waiver.rule))
        and set(checked) <= set(phases)
    ]


def _idle(waiver: Waiver) -> Fault:
    on = f" on {waiver.feature}" if waiver.feature else ""
    return Fault(
        "idle-waiver", f"this waives {waiver.rule}{on}, but there is nothing to waive", waiver.span,
        Level.HINT, remedy="take the line out",
    )


@dataclass
class _Judge:
    piece: Piece
    rules: Rules

    @cached_property
    def made(self) -> frozenset[Span]:
        """The heads of the text's own lines that did work."""
        return frozenset(call.trail[0] if call.trail else call.span for call in self.piece.bench.lines)

    def phase(self, phase: str, go_on: Callable[[], bool] | None = None) -> list[Fault]:
        """All verdicts of one phase."""
        found: list[Fault] = []
        if phase == "metal" and len(self.rules) > 1:
            _measure_ahead(self.piece, go_on or (lambda: True))
        for rule in self.rules.values():
            if go_on is not None and not go_on():
                break
            if phase == "plan" != rule.phase and self.piece.parts:
                continue  # the metal tells it better
            if rule.checks(phase) is not None and not self.piece.house.off(rule.name):
                found += self.one_rule(rule, phase)
        return in_order(found)

    def one_rule(self, rule: Rule, phase: str) -> list[Fault]:
        """What one rule finds; one note when it fails."""
        check = rule.checks(phase)
        assert check is not None
        try:
            return self.merged(rule, list(check(self.piece)))
        except Exception:
            if STRICT:
                raise
            return [
                Fault(
                    "rule-not-measured", f"{rule.name} could not be measured on this piece", level=Level.HINT,
                    remedy="check it by hand, and please report the piece",
                )
            ]

    def merged(self, rule: Rule, verdicts: Sequence[Verdict]) -> list[Fault]:
        """One verdict per line, clause, level and limit: the worst, with the count. A lesser one
        beside a graver one of the same words is left out: the same cure answers both."""
        piles: dict[tuple[object, ...], list[tuple[Verdict, SourceLine]]] = {}
        for verdict in verdicts:
            call = self.piece.call(verdict.feature)
            line = self.piece.source_lines.of(call, verdict.key, verdict.keys)
            alike = (line.span, verdict.level, verdict.limit, verdict.key,
                     frozenset(map(self.piece.name_of, verdict.others)))
            piles.setdefault(alike, []).append((verdict, line))
        return list(_severest(self.told(rule, pile) for pile in piles.values()))

    def told(self, rule: Rule, pile: Sequence[tuple[Verdict, SourceLine]]) -> Remark:
        """One pile of alike verdicts as a fault."""
        pile = sorted(pile, key=lambda pair: -abs(pair[0].figure - pair[0].bound))
        verdict, line = pile[0]
        level = self.piece.house.level(rule.name, verdict.level or rule.level)
        assert level is not None
        call = self.piece.call(verdict.feature)
        edit = self.edit_of(verdict, line)
        seen, limit = told_apart(verdict.seen, self.wanted(verdict), verdict.figure, verdict.bound)
        many = f" ({len(pile)} places, this the worst)" if len(pile) > 1 else ""
        return self.waived(
            Remark(
                rule.name, verdict.message + many, line.span, level, seen, limit,
                also=_inside(call.span) if call.trail else (), feature=call.name, place=verdict.place,
                reason=rule.why, figure=float(verdict.figure), bound=float(verdict.bound), count=len(pile),
                edit=edit, ask=partial(self.remedy_of_all, rule, pile, edit),
                parts=frozenset(map(self.piece.name_of, (verdict.feature, *verdict.others))), made=self.made,
            )
        )

    def wanted(self, verdict: Verdict) -> str:
        """The limit as shown, with its source where it is the house's own."""
        limit, house = verdict.limit, self.piece.house.name
        mine = limit is not None and limit.source == house
        return f"{verdict.wanted} ({house})" if mine else verdict.wanted

    def edit_of(self, verdict: Verdict, line: SourceLine) -> Edit | None:
        """The verdict's change of text, at its own line or at another."""
        mend = verdict.mend
        if mend is not None and mend.feature not in (None, verdict.feature):
            call = self.piece.call(mend.feature)
            line = self.piece.source_lines.of(call, mend.key, (mend.key,))
            verdict = replace(verdict, key=mend.key)
        return _edit(verdict, line, self.piece.source_lines)

    def remedy_of_all(self, rule: Rule, pile: Sequence[tuple[Verdict, SourceLine]], edit: Edit | None) -> str:
        """The remedy of the worst verdict of a pile; where each line of stones has one of its own, each way
        gone in all of them."""
        stones, worst = self.piece.stones, dict[str, tuple[Verdict, SourceLine]]()
        for verdict, line in pile if len(pile) > 1 and len(stones.line) else ():
            if verdict.place is not None:
                off = np.linalg.norm(stones.frames[:, :, 3] - verdict.place, axis=1)
                worst.setdefault(self.piece.name_of(int(stones.line[off.argmin()])), (verdict, line))
        told = self.remedy(rule, *pile[0], edit)
        if len(worst) < 2:
            return told
        return for_all(told, {name: self.remedy(rule, *one, None) for name, one in worst.items()})

    def remedy(self, rule: Rule, verdict: Verdict, line: SourceLine, edit: Edit | None) -> str:
        """The remedy of a verdict, unless it cannot be worked out, or quotes a clause that what its line says
        excludes: then what usually helps."""
        try:
            told = verdict.remedy if isinstance(verdict.remedy, str) else verdict.remedy()
        except Exception:
            if STRICT:
                raise
            told = rule.remedy
        said = line.line is not None and any(
            self.piece.source_lines.excludes(line.line, key) for key in _QUOTED.findall(told)
            if "in place of" not in told
        )
        return _remedy(rule.remedy if said else told, edit)

    def waived(self, found: Remark) -> Remark:
        """The verdict as a note, where the text sets it aside."""
        for waiver in self.piece.waivers:
            if waiver.rule == found.code and waiver.covers(found.feature):
                return replace(found, level=Level.HINT, waived=waiver.because, edit=None)
        return found


def _severest(remarks: Iterable[Remark]) -> Iterator[Remark]:
    """The remarks without those that another of the same line and words outranks."""
    found = list(remarks)
    words = [(one.span, one.message.partition(" (")[0]) for one in found]
    worst: dict[object, Level] = {}
    for which, one in zip(words, found, strict=True):
        known = worst.setdefault(which, one.level)
        worst[which] = min(known, one.level, key=list(Level).index)
    return (one for which, one in zip(words, found, strict=True) if one.level is worst[which])


def _inside(span: Span) -> tuple[tuple[Span, str], ...]:
    """The place inside a word of the user's own (standard words are not theirs to change)."""
    return () if span.path.startswith("<") else ((span, "made here"),)


def _remedy(remedy: str, edit: Edit | None) -> str:
    """What to try, the clause to write first where one would cure it."""
    if edit is None or edit.value in remedy:
        return remedy
    return f"write {edit.key} {edit.value}: {remedy}"


def _edit(verdict: Verdict, line: SourceLine, source_lines: SourceLines) -> Edit | None:
    """The verdict's change of text, if its line has or takes that clause."""
    mend, text = verdict.mend, line.line
    if mend is None or text is None:
        return None
    key = line.key if mend.key == verdict.key else mend.key
    if key is None or not source_lines.can_say(text, key):
        return None
    return Edit(text.head, key, mend.value, mend.side)


def _measure_ahead(piece: Piece, go_on: Callable[[], bool]) -> None:
    """Take the figures of a large piece, those that go by stones in a second thread.

    Whatever fails is measured again, and told, when a rule asks for it."""
    if sum(len(part.triangles) for part in piece.parts) < WORTH_TWO:
        return
    from concurrent.futures import ThreadPoolExecutor

    skin, stones, sets = piece.skin_measures, piece.stone_measures, piece.sets
    _ = skin.skin.grid, stones.stones, sets.seats, sets.holders, sets.beads
    with ThreadPoolExecutor(1) as second:
        second.submit(_touch, stones, BY_STONE, go_on)
        _touch(skin, BY_FACE, go_on)
        _touch(piece.casting_measures, ("bodies",), go_on)
        _touch(piece.wear_measures, ("centre",), go_on)


def _touch(measures: object, names: Sequence[str], go_on: Callable[[], bool]) -> None:
    for name in names:
        if go_on():
            with suppress(Exception):
                getattr(measures, name)
