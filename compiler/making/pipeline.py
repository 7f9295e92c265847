"""The whole pipeline on one page: text, checked tree, plan, rules, metal, rules on metal.

Each step gives a value and faults; nothing here prints, nothing raises for a user's mistake."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ...lang.bench import Call
from ...lang.faults import Fault, Span, in_order, is_fatal
from ...lang.loader import Files, Folder
from ...lang.outcome import Outcome
from ...lang.program import Program, read_piece, run, settings_text
from ...lang.terms import names_in
from ...lang.tree import Feature, Group, work_in
from ...lang.values import ANGLE, LENGTH, MASS, Quantity, Text
from ...lang.words import Word
from ...stdlib.alloys import ALLOYS
from ...stdlib.gems import GEMS
from ..bench.hung import HANGS_IN
from ..bench.piece_bench import PieceBench
from ..bench.plan import cast_steps, casting_of, labels_of
from ..house.house import house_among, house_for
from ..judging.causes import one_each
from ..judging.judge import as_cast, before_metal, idle_waivers, on_metal
from ..judging.piece import Piece
from ..judging.remark import with_remedies
from ..rules import all_rules, phases_of, rule_names
from ..words import core_words
from ..words.standard import all_words, standard_texts, standard_words, trade
from .result import Built, FeatureInfo, Worn

if TYPE_CHECKING:
    from ..judging.pours import Pour
    from ..metal.part import Part
    from .session import Session

__all__ = ["all_words", "build", "check"]

DEFAULT_METAL = "silver-925"
Progress = Callable[[str, float], None]


def check(
    path: str, *, settings: Mapping[str, Any] | None = None, metal: str | None = None,
    files: Files | None = None,
) -> Built:
    """Read, check and lay out the piece at ``path``: everything short of metal.

    The bench rules of the plan are run; waivers that only the metal could need stand unjudged. Stones are not
    weighed: that takes the facets of each."""
    built, piece = _laid_out(path, settings or {}, metal, files)
    if is_fatal(built.faults):
        from .rest import with_the_rest

        return with_the_rest(built, piece)
    return _judged(built, piece, _ahead(piece), ("plan",))


def build(
    path: str, *, settings: Mapping[str, Any] | None = None, metal: str | None = None,
    tolerance: float | None = None, check_metal: bool = True, session: Session | None = None,
    progress: Progress | None = None, files: Files | None = None,
    made: Callable[[Built], None] | None = None, go_on: Callable[[], bool] | None = None, worn: bool = False,
    finished: bool = False, rest: bool = False,
    pour: Callable[[Built, Piece], tuple[Pour, ...]] | None = None, rule: str = "", told: bool = True,
) -> Built:
    """Make the piece at ``path``. ``tolerance`` is the chord tolerance in mm (default FINAL) of what is drawn
    and written; judged is always what is made at FINAL.

    ``settings`` sets measures ("2.8 mm" or values of a series), ``metal`` the piece's alloy. ``session``
    carries the memo of a long-lived process. ``check_metal`` runs the bench rules on the metal too; that
    takes longer than making it, so ``made`` is told the piece before any rule begins (its verdicts are those
    of the text alone), and ``go_on`` is asked before each of them whether the rest is still wanted. ``worn``
    asks how the piece is worn, too. With ``pour``, which works out how the castings of a piece freeze, that
    is judged in place of the metal; with ``rule`` the metal is judged by that rule alone. ``finished`` makes
    it as it looks with its stones set, for pictures alone: nothing of that metal is weighed or judged. With
    ``rest`` what the faulty lines of a text leave is made too, to be judged. Not ``told``, remarks have their
    remedies yet to be worked out."""
    from .session import FINAL, Session, metal_parts, oversized, stones_of

    built, piece = _laid_out(path, settings or {}, metal, files)
    bench = piece.bench
    tolerance = FINAL if tolerance is None else tolerance
    built = replace(built, tolerance=tolerance)
    session = session or Session()
    if is_fatal(built.faults):
        from .rest import with_the_rest

        return with_the_rest(built, piece, partial(_sound_parts, piece, session, progress) if rest else None)
    built = replace(built, stones=stones_of(bench))
    faults = oversized(bench, session, tolerance) or _no_metal(built, bench)
    if faults:
        return replace(built, faults=tuple(in_order([*built.faults, *faults])))
    steps = None
    if finished:
        from .setting import set_steps

        steps = set_steps(piece)
    parts, faults = metal_parts(bench, session, tolerance, progress, steps)
    piece.parts, piece.mesh_of, piece.tolerance = parts, session.memo.mesh, tolerance
    laid = built.faults
    built = replace(
        built, parts=parts, steps_total=session.total, steps_rebuilt=session.rebuilt,
        faults=tuple(in_order([*laid, *faults])),
    )
    if made is not None and parts and not is_fatal(faults):
        made(built)
    if check_metal and pour is None:
        judged, faults = _to_judge(piece, session, faults, progress)
        built = replace(built, faults=tuple(in_order([*laid, *faults])))
    else:
        judged = replace(piece, tolerance=FINAL)
    if not judged.parts or is_fatal(faults):
        from .rest import with_the_rest

        judged.parts = judged.parts if rest and _is_whole(judged) else ()
        return with_the_rest(built, judged)
    ahead = _ahead(judged)
    planned = _judged(built, judged, ahead, ("plan",), told=finished or not check_metal)
    if worn:
        planned = replace(planned, worn=_worn(piece))
    if finished:
        return planned
    if pour is not None:
        piece.pours = pour(planned, piece)
        return _judged(built, piece, [*ahead, *as_cast(piece, all_rules("cast"))], ("plan", "cast"))
    if not check_metal:
        return planned
    built = replace(built, worn=planned.worn)
    rules = all_rules("metal")
    rules = {rule: rules[rule]} if rule in rules else rules
    found = [*ahead, *on_metal(judged, rules, go_on)]
    return _judged(built, judged, found, ("plan", "metal"), told)


def _to_judge(
    piece: Piece, session: Session, faults: list[Fault], progress: Progress | None
) -> tuple[Piece, list[Fault]]:
    """``piece`` as rules measure it, with the ``faults`` of its making: at FINAL, however fine its files are
    wished, so that no verdict hangs on that; as it is, where it is too large for that."""
    from .session import FINAL, metal_parts, oversized

    if piece.tolerance == FINAL or oversized(piece.bench, session, FINAL):
        return piece, faults
    parts, faults = metal_parts(piece.bench, session, FINAL, progress)
    return replace(piece, parts=parts, tolerance=FINAL), faults


def _sound_parts(piece: Piece, session: Session, progress: Progress | None) -> tuple[Part, ...]:
    """The metal of what is left of a piece without its faulty lines; none where not all of it is sound."""
    from .session import metal_parts, oversized

    if oversized(piece.bench, session, piece.tolerance):
        return ()
    piece.parts, _ = metal_parts(piece.bench, session, piece.tolerance, progress)
    piece.mesh_of = session.memo.mesh
    return piece.parts if _is_whole(piece) else ()


def as_far_as_read(built: Built) -> Built:
    """A piece that was not made, with the metal and stones there are of it without its faulty lines, to be
    looked at alone."""
    from .session import Session, metal_parts, oversized, stones_of

    session = Session()
    if built.parts or built.piece is None or oversized(built.piece.bench, session, built.tolerance):
        return built
    parts, _ = metal_parts(built.piece.bench, session, built.tolerance, None)
    return replace(built, parts=parts, stones=stones_of(built.piece.bench))


def _is_whole(piece: Piece) -> bool:
    """Whether something is cast, and all that is to be cast or bought came out as metal."""
    labels = labels_of(cast_steps(piece.bench.plan().steps))
    return len(piece.parts) == len(labels) and any(not part.bought for part in piece.parts)


def measured(built: Built) -> list[Fault]:
    """What the rules of the finished metal have to say of a piece that was made without them."""
    from .session import Session

    if built.piece is None or not built.made:
        return []
    judged, faults = _to_judge(built.piece, Session(), [], None)
    return [*faults, *with_remedies(on_metal(judged, all_rules("metal")))]


def _worn(piece: Piece) -> Worn:
    """The hole it is put on by, and the loops that carry it."""
    from ..judging.hanging import carrying

    wear, skin = piece.wear_measures, piece.skin_measures.skin
    return Worn(wear.hole, carrying(wear.loops, skin))


def _ahead(piece: Piece) -> list[Fault]:
    """Verdicts before there is metal: of the house's own limits, and of the plan."""
    return [*piece.house.faults, *before_metal(piece, all_rules("plan"))]


def _judged(
    built: Built, piece: Piece, found: Sequence[Fault], phases: Sequence[str], told: bool = True
) -> Built:
    """``built`` with ``found``, the verdicts of the rules of ``phases``, among its faults."""
    idle, causes = idle_waivers(piece, phases_of, found, phases), one_each(found)
    causes = with_remedies(causes) if told else causes
    return replace(built, faults=tuple(in_order([*built.faults, *causes, *idle])))


def _laid_out(
    path: str, settings: Mapping[str, Any], metal: str | None, files: Files | None
) -> tuple[Built, Piece]:
    """Text to plan: the piece as Built without metal, and the piece as the rules see it."""
    house = house_for(path, rule_names()) if files is None else house_among(files, path, rule_names())
    ALLOYS.adopt(house.alloys)
    GEMS.adopt(house.gems)
    files = files or Folder(path)
    bench = PieceBench(core_words(), rule_names(), metal=DEFAULT_METAL, files=files, path=path)
    program = _read(path, files, bench, settings)
    bench.hosts = _hosts(program)
    outcome = run(program, bench, settings, metal)
    bench.fit_chains()
    bench.metal = outcome.metal or DEFAULT_METAL
    waivers = tuple(outcome.waivers)
    read = (*program.files_read, *bench.files_read)
    built = Built(
        path=path,
        title=outcome.title or _readable(Path(path).stem),
        metal=bench.metal,
        note=" ".join(outcome.notes),
        measures=_measures(outcome),
        features=_features(bench),
        # What stops the text may come of the house's own rows: they are told with it.
        faults=tuple(in_order([*outcome.faults, *house.faults])) if is_fatal(outcome.faults)
        else tuple(outcome.faults),
        waivers=waivers,
        files_read=(*read, house.path) if house.path else read,
        texts={**_texts(program, settings), **({house.path: house.text} if house.path else {})},
        series=tuple(outcome.series),
        settable=tuple(outcome.measures.values()),
        house=house,
    )
    piece = Piece(
        bench, house, trees=program.trees, words=program.words.with_further(_taught(program)),
        waivers=waivers, left_out=outcome.left_out if outcome.whole else None,
    )  # fmt: skip
    return replace(built, piece=piece), piece


def read(path: str, files: Files) -> Program:
    """The piece read and its names checked; no line of it is worked."""
    bench = PieceBench(core_words(), rule_names(), metal=DEFAULT_METAL, files=files, path=path)
    return _read(path, files, bench)


def _read(path: str, files: Files, bench: PieceBench, settings: Mapping[str, Any] | None = None) -> Program:
    return read_piece(
        path, files, bench.core_words(), standard_words(), bench.metals(), bench.roles(), trade(), settings,
    )  # fmt: skip


def _hosts(program: Program) -> frozenset[str]:
    """The names of a text that something hangs in."""
    lines = (one for one in work_in(program.tree.lines) if isinstance(one, Feature | Group))
    hung = (one.value for line in lines for one in line.clauses if one.key.name == HANGS_IN.name)
    return frozenset(name for value in hung if value is not None for name in names_in(value))


def lines_of_work(path: str, files: Files) -> list[Call]:
    """The lines of work of a piece, each with the value of every clause, those left out too."""
    _, piece = _laid_out(path, {}, None, files)
    return [piece.call(feature.index) for feature in piece.features]


def _readable(name: str) -> str:
    """A file name as text; letters of another code than UTF-8 become question marks."""
    return name.encode("utf-8", "replace").decode("utf-8")


def _taught(program: Program) -> Mapping[str, Word]:
    """Words the text teaches or takes, by name."""
    return {word.name: word for word in program.records.values()}


def _texts(program: Program, settings: Mapping[str, Any]) -> Mapping[str, str]:
    standard = standard_texts()
    used = {word.body.span.path for word in program.words.met() if word.body is not None}
    own = {**program.sources, **settings_text(settings)}
    return {path: standard[path] for path in sorted(used) if path in standard} | own


def _measures(outcome: Outcome) -> dict[str, tuple[float | str, str]]:
    shown: dict[str, tuple[float | str, str]] = {}
    for name, measured in outcome.measures.items():
        value = measured.value
        if isinstance(value, Quantity):
            shown[name] = (value.value, _unit(value))
        elif isinstance(value, Text):
            shown[name] = (value.text, "")
        elif hasattr(value, "name"):
            shown[name] = (str(value.name), "")
    return shown


def _unit(value: Quantity) -> str:
    if value.share:
        return "share"
    return {LENGTH: "mm", MASS: "g", ANGLE: "deg"}.get(value.dimension, "")


def _features(bench: PieceBench) -> tuple[FeatureInfo, ...]:
    return tuple(
        FeatureInfo(call.name, call.made_by, call.trail[0] if call.trail else call.span, call.roles)
        for call in bench.lines
    )


def _no_metal(built: Built, bench: PieceBench) -> list[Fault]:
    labels = labels_of(bench.plan().steps)
    if any(casting_of(label) not in bench.bought for label in labels):
        return []
    why = "this piece has no metal"
    remedy = "begin with a bar, disc, plate, band or wire; see 'posy words'"
    if labels:
        why, remedy = "all metal of this piece is bought", "leave 'bought' off what is to be cast"
    last = bench.lines[-1] if bench.lines else None
    span = Span(built.path, 1, 1, 1, 1) if last is None else last.trail[0] if last.trail else last.span
    return [Fault("no-metal", why, span, remedy=remedy)]
