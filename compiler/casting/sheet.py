"""The casting plan as a page: one HTML file, nothing fetched, made to be printed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..making.result import Built
from ..printing.drawing import drawing as print_drawing
from ..printing.figures import printing
from ..printing.plan import PrintPlan
from ..printing.printer import printer_of
from ..sheets.html import Markup, Sheet, block, cautions, heading, paragraph, table
from ..sheets.html import drawing as figure
from ..sheets.stamp import stamp_of
from . import figures
from .picture import drawing
from .plan import Cast, Plan


def page(plan: Plan, drawings: Sequence[bytes], prints: Sequence[PrintPlan] = ()) -> bytes:
    """The page of a plan, with a drawing of each casting and each print."""
    built = plan.built
    date = built.house.value("sheet", "date")
    parts: list[object] = []
    for cast, svg in zip(plan.casts, drawings, strict=True):
        parts += _cast(built, cast, svg, len(plan.casts) > 1 or bool(cast.castings))
    parts += [
        paragraph(figures.UNTOLD, class_="fine"),
        cautions((one.title, one.text) for one in plan.cautions),
    ]
    for laid in prints:
        parts += [
            block(heading(f"Printing {laid.called}"), figure(print_drawing(laid, built.title))),
            table(("", "figures"), printing(laid, printer_of(built.house))),
        ]
    return Sheet("Casting plan", built.title, stamp_of(built, str(date) if date else ""), parts).html()


def drawings(plan: Plan) -> list[bytes]:
    """A drawing of each casting."""
    return [drawing(cast, plan.built.title) for cast in plan.casts]


def _cast(built: Built, cast: Cast, svg: bytes, several: bool) -> Iterator[Markup]:
    names = figures.names(built)
    said = f"{cast.alloy.title}, {cast.grams:.2f} g {figures.as_cast(cast)}"
    yield heading(f"{cast.called}: {said}" if several else said)
    yield figure(svg)
    rows = figures.sprues(cast, names)
    if rows:
        yield block(heading("Sprues"), table(("", "where and how"), rows))
    else:
        yield paragraph("No place was found where a sprue may stand: write a line sprue.")
    rows = figures.spots(cast, names)
    if rows:
        yield block(heading("Places that may be left with holes"), table(("", "where and when"), rows))
    told = {
        "Freezing": figures.freezing(cast), "Flask": figures.flask(cast), "Pouring": figures.pouring(cast),
    }  # fmt: skip
    for title, rows in told.items():
        yield block(heading(title), table(("", "figures"), rows))
    sources = [(one.name, f"{one.value:g} {one.unit}", one.source) for one in cast.caster.settings]
    yield block(heading("Worked out with"), table(("figure", "value", "from"), sources, class_="fine"))
