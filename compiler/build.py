"""The whole pipeline on one page: text, checked tree, plan, rules, metal, rules on metal.

Each step gives a value and faults; nothing here prints, and nothing raises for a user's mistake.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from ..lang.faults import Fault, in_order, is_fatal
from ..lang.loader import Files, Folder
from ..lang.outcome import Outcome
from ..lang.program import Program, read_piece, run, settings_text
from ..lang.values import Quantity, Text
from .bench import PieceBench
from .result import Built, FeatureInfo, Waiver
from .session import FINAL, Session, metal_parts, oversized, stones_of
from .standard import all_words, standard_texts, standard_words

__all__ = ["all_words", "build", "check"]

DEFAULT_METAL = "silver-925"
Progress = Callable[[str, float], None]


def check(
    path: str,
    *,
    settings: Mapping[str, Any] | None = None,
    metal: str | None = None,
    files: Files | None = None,
) -> Built:
    """Read, check and lay out the piece at ``path``: everything short of metal."""
    return _laid_out(path, settings or {}, metal, files)[0]


def build(
    path: str,
    *,
    settings: Mapping[str, Any] | None = None,
    metal: str | None = None,
    tolerance: float | None = None,
    check_metal: bool = True,
    session: Session | None = None,
    progress: Progress | None = None,
    files: Files | None = None,
) -> Built:
    """Make the piece at ``path``. ``tolerance`` is the chord tolerance in mm (default FINAL).

    ``settings`` sets measures ("2.8 mm" or values of a series), ``metal`` the piece's alloy.
    ``session`` carries the memo of a long-lived process.
    """
    built, bench = _laid_out(path, settings or {}, metal, files)
    tolerance = FINAL if tolerance is None else tolerance
    built = replace(built, tolerance=tolerance)
    if is_fatal(built.faults):
        return built
    session = session or Session()
    faults = oversized(bench, session, tolerance) or _no_metal(built, bench)
    if faults:
        return replace(built, faults=tuple(in_order([*built.faults, *faults])))
    parts, faults = metal_parts(bench, session, tolerance, progress)
    return replace(
        built,
        parts=parts,
        steps_total=len(bench.plan().steps),
        steps_rebuilt=len(bench.plan().steps),
        faults=tuple(in_order([*built.faults, *faults])),
    )


def _laid_out(
    path: str, settings: Mapping[str, Any], metal: str | None, files: Files | None
) -> tuple[Built, PieceBench]:
    """Text to plan: the piece as Built without metal, and the bench that holds the plan."""
    bench = PieceBench(DEFAULT_METAL)
    program = read_piece(
        path, files or Folder(path), bench.core_words(), standard_words(), bench.metals()
    )
    outcome = run(program, bench, settings, metal)
    bench.metal = outcome.metal or DEFAULT_METAL
    built = Built(
        path=path,
        title=outcome.title or Path(path).stem,
        metal=bench.metal,
        note=" ".join(outcome.notes),
        measures=_measures(outcome),
        features=_features(bench),
        stones=() if is_fatal(outcome.faults) else stones_of(bench),
        faults=tuple(outcome.faults),
        waivers=tuple(Waiver(w.rule, w.feature, w.reason, w.span) for w in outcome.waivers),
        files_read=program.files_read,
        texts=_texts(program, settings),
        series=tuple(outcome.series),
    )
    return built, bench


def _texts(program: Program, settings: Mapping[str, Any]) -> Mapping[str, str]:
    return {**standard_texts(), **program.sources, **settings_text(settings)}


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
    return {(1, 0, 0): "mm", (0, 1, 0): "g", (0, 0, 1): "deg"}.get(tuple(value.dimension), "")


def _features(bench: PieceBench) -> tuple[FeatureInfo, ...]:
    return tuple(
        FeatureInfo(call.name, call.words[0] if call.words else call.word.name,
                    call.trail[0] if call.trail else call.span)
        for call in bench.lines
    )


def _no_metal(built: Built, bench: PieceBench) -> list[Fault]:
    if any(step.work == "add" for step in bench.plan().steps):
        return []
    return [
        Fault(
            "no-metal",
            "this piece has no metal",
            remedy="begin with a bar, disc, plate, band or wire; see `posy words`",
        )
    ]
