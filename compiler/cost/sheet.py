"""The reckoning on paper: for the house with every figure's source, for the customer without."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from ...lang.faults import Fault
from ...stdlib.alloys import ALLOYS
from ...stdlib.cautions import CAUTIONS, cautions_for, uk_hallmark
from ...stdlib.money import rounded
from ..judging.remark import LAYOUT
from ..making.result import Built
from ..sheets import html
from ..sheets.data import csv_bytes
from ..sheets.html import Markup, Sheet, block, drawing, heading, paragraph, table, tag
from ..sheets.stamp import Stamp
from .reckoning import Cost, Line
from .work import Work

_HEADS = ("Part", "What", "How much", "Amount", "Where it comes from")


@dataclass(frozen=True)
class Reckoned:
    """One making reckoned: what tells it from the others, the piece, what it asks for, the cost."""

    label: str
    built: Built
    work: Work
    cost: Cost

    @property
    def name(self) -> str:
        """The label, or the metal where there is only one making."""
        return self.label or " and ".join(metal.alloy.name for metal in self.work.metals)


def amount(figure: Decimal | None, currency: str) -> str:
    """An amount as it is shown; a dash for none."""
    return "-" if figure is None else f"{rounded(figure, currency):,}"


def sums(cost: Cost) -> list[tuple[str, Decimal | None, str]]:
    """What the lines come to, one thing after the other: words, amount, where it comes from."""
    lacks = f", without {len(cost.missing)} that have no price" if cost.missing else ""
    rows: list[tuple[str, Decimal | None, str]] = [(f"cost{lacks}", cost.cost, "")]
    if cost.net is None:
        return [*rows, ("price", None, "no price: something has none")]
    if cost.profit[0]:
        rows.append(cost.profit)
    if cost.rounding:
        rows.append(("rounding", cost.rounding, ""))
    rows.append(("price before tax", cost.net, ""))
    if cost.tax[1]:
        rows.append(cost.tax)
    return [*rows, ("price", cost.total, "")]


def parts_of(lines: Sequence[Line]) -> dict[str, Decimal | None]:
    """What each part of the reckoning comes to; None where a price in it is missing."""
    found: dict[str, Decimal | None] = {}
    for line in lines:
        before = found.get(line.part, Decimal(0))
        found[line.part] = None if before is None or line.amount is None else before + line.amount
    return found


def beside(makings: Sequence[Reckoned]) -> tuple[list[str], list[list[str]]]:
    """Makings side by side: heads and rows."""
    currency = makings[0].cost.currency
    each = [parts_of(one.cost.lines) for one in makings]
    names = list(dict.fromkeys(name for parts in each for name in parts))
    rows = [["weight as cast, g", *(f"{sum(m.grams for m in one.work.metals):f}" for one in makings)]]
    for name in names:
        rows.append([name, *(amount(one[name], currency) if name in one else "" for one in each)])
    for name in ("cost", "price before tax", "price"):
        found = [{row[0].partition(",")[0]: row[1] for row in sums(one.cost)} for one in makings]
        rows.append([name, *(amount(one.get(name), currency) for one in found)])
    return [currency, *(one.name for one in makings)], rows


def cost_sheet(makings: Sequence[Reckoned], stamp: Stamp, remarks: Sequence[Fault]) -> bytes:
    """The house's own sheet."""
    first = makings[0]
    parts: list[object] = []
    if remarks:
        parts += [heading("To mind"), html.bullets(_said(remark) for remark in remarks)]
    if len(makings) > 1:
        heads, rows = beside(makings)
        parts += [heading("Side by side"), table(heads, rows)]
    for number, one in enumerate(makings):
        cost = one.cost
        lines = [
            (line.part, line.what, line.much, amount(line.amount, cost.currency), line.source)
            for line in cost.lines
        ]
        foot = [("", what, "", amount(figure, cost.currency), source) for what, figure, source in sums(cost)]
        parts.append(tag(
            "section", heading(one.name, f"amounts in {cost.currency}"),
            table(_HEADS, lines, foot=foot, class_="cost"), class_="page" if number else None,
        ))  # fmt: skip
    parts.append(paragraph(
        "Weights are those of the metal as cast, by the published density of the alloy; your caster's may "
        "weigh 1 to 2 % more or less.", class_="fine",
    ))  # fmt: skip
    parts += _marking(makings)
    return Sheet("Cost, for the workshop alone", first.built.title, stamp, parts).html()


def _marking(makings: Sequence[Reckoned]) -> list[Markup]:
    """Whether UK law asks for a mark, and that other laws may."""
    rows = dict.fromkeys(
        (metal.alloy.name, f"{metal.grams:f} g as cast", uk_hallmark(metal.alloy, float(metal.grams)))
        for one in makings for metal in one.work.metals if metal.alloy.fineness
    )  # fmt: skip
    return [] if not rows else [block(
        heading("Marking"), table(("Metal", "Weight", "In the UK"), rows),
        paragraph(CAUTIONS["hallmark"].text, class_="fine"),
    )]  # fmt: skip


def _said(remark: Fault) -> str:
    more = f": {remark.seen}" if remark.seen and remark.seen not in remark.message else ""
    do = f" {remark.remedy[:1].upper()}{remark.remedy[1:]}." if remark.remedy else ""
    return f"{remark.message}{more}.{do}"


def quote_sheet(makings: Sequence[Reckoned], stamp: Stamp, look: bytes) -> bytes:
    """The customer's sheet: what it is and what it is sold for, and nothing of what it costs."""
    first = makings[0]
    house = first.built.house
    parts: list[object] = [drawing(look)]
    if (address := house.value("sheet", "address")) is not None:
        parts.insert(0, paragraph(address, class_="fine"))
    stones = [(kind.count, kind.shown, kind.weight) for kind in first.work.stones]
    if stones:
        parts += [heading("Stones"), table(("Number", "Stone", "Together"), stones)]
    parts.append(block(heading("Price"), _prices(makings), *_terms(first, stamp)))
    parts += _to_the_customer(makings)
    return Sheet("Quote", first.built.title, stamp, parts).html()


def _prices(makings: Sequence[Reckoned]) -> Markup:
    """A row for each making, or a list for one."""
    rows = []
    for one in makings:
        cost = one.cost
        metal = " and ".join(m.alloy.title for m in one.work.metals)
        grams = " and ".join(f"{m.grams:f} g" for m in one.work.metals)
        rows.append((
            one.label or metal, metal, grams, amount(cost.net, cost.currency),
            amount(cost.tax[1], cost.currency), f"{amount(cost.total, cost.currency)} {cost.currency}",
        ))  # fmt: skip
    if len(rows) == 1:
        _, metal, grams, net, tax, total = rows[0]
        said = [("Metal", metal), ("About, as cast", grams)]
        if makings[0].cost.tax[1]:
            name = makings[0].cost.tax[0]
            said += [("Before tax", net), (name[:1].upper() + name[1:], tax)]
        return tag("div", html.facts([*said, ("To pay", total)]), class_="one")
    heads = ["", "Metal", "About, as cast", "Before tax", "Tax", "To pay"]
    if not any(one.label for one in makings):
        return table(heads[1:], [row[1:] for row in rows])
    return table(heads, rows)


def _terms(one: Reckoned, stamp: Stamp) -> list[Markup]:
    house = one.built.house
    said = []
    valid = house.value("sheet", "valid")
    if valid is not None and stamp.date:
        last = datetime.date.fromisoformat(stamp.date) + datetime.timedelta(days=int(valid))
        said.append(paragraph(f"This quote holds until {last.isoformat()}."))
    if (terms := house.value("sheet", "terms")) is not None:
        said.append(paragraph(terms))
    return [*said, paragraph(
        "The finished piece weighs less than it does as cast, and may differ a little from what is told "
        "here, as everything made by hand does.", class_="fine",
    )]  # fmt: skip


def _to_the_customer(makings: Sequence[Reckoned]) -> list[Markup]:
    """What a wearer should know: nickel."""
    alloys = [metal.alloy for one in makings for metal in one.work.metals]
    found = {
        caution.key: (caution.title, caution.text)
        for alloy in alloys for caution in cautions_for(alloy, ()) if caution.key == "nickel"
    }  # fmt: skip
    return [html.cautions(found.values())] if found else []


# -- for programs


def cost_csv(makings: Sequence[Reckoned]) -> bytes:
    """Every line of every making."""
    rows: list[list[object]] = []
    for one in makings:
        name, money = one.name, one.cost.currency
        for line in one.cost.lines:
            rows.append([name, line.part, line.what, line.much, line.amount, money, line.source])
        for what, figure, source in sums(one.cost):
            rows.append([name, "sum", what, "", figure, money, source])
    return csv_bytes(("making", "part", "what", "how_much", "amount", "currency", "source"), rows)


def cost_record(makings: Sequence[Reckoned], stamp: Stamp) -> dict[str, Any]:
    """The same as plain data; money as text, so that no digit is lost."""
    return {
        "posy": LAYOUT,
        "sheet": "cost",
        **stamp.record(),
        "makings": [
            {
                "making": one.name,
                "metals": [
                    {"metal": m.alloy.name, "title": ALLOYS[m.alloy.name].title, "grams": f"{m.grams:f}",
                     "castings": m.castings}
                    for m in one.work.metals
                ],
                "currency": one.cost.currency,
                "lines": [
                    {"part": line.part, "what": line.what, "how_much": line.much,
                     "amount": _text(line.amount), "source": line.source}
                    for line in one.cost.lines
                ],
                "missing": list(one.cost.missing),
                "sums": [
                    {"what": what, "amount": _text(figure), "source": source}
                    for what, figure, source in sums(one.cost)
                ],
            }
            for one in makings
        ],
    }  # fmt: skip


def _text(figure: Decimal | None) -> str | None:
    return None if figure is None else f"{figure:f}"
