"""What `posy why` tells of a bench rule."""

from __future__ import annotations

from typing import Any

from ...lang.folding import fold
from ...stdlib.limits import ANY, Limit, limits_of
from ...stdlib.provenance import told
from ..house.house import House
from ..house.kinds import shown_figure
from .rule import Rule


def page(rule: Rule, house: House, width: int) -> list[str]:
    """Everything about a rule as lines of text, with the figures in force."""
    lines = fold(f"{rule.name}: {rule.title}", width)
    lines += fold(f"A {rule.level.value}, {_when(rule)}.", width)
    lines += ["", *fold(rule.why, width), "", *fold(f"What helps: {rule.remedy}", width), ""]
    rows = figures(rule, house)
    if rows:
        lines.append("Figures in force")
        for row in rows:
            metal = "" if row["family"] == ANY else f" for {row['family']}"
            said = f"{row['figure_text']} {row['what']}{metal}: {row['source']}"
            lines += fold(said, width, "  ", "      ")
        lines.append("")
    lines += [*fold(f"Where it comes from: {told(rule.source)}", width), ""]
    if house.off(rule.name):
        lines += [*fold(f"Here {house.path} leaves this rule out.", width), ""]
    lines += fold(f'To set it aside in a piece, write: waive {rule.name} because "…"', width)
    if rows:
        row = rows[0]
        lines += [
            *fold("To set a figure of your own, write in bench.toml:", width),
            f"  [{rule.name}]",
            *fold(f"{row['what']} = {row['toml']}", width, "  "),
        ]
    return lines


def rule_record(rule: Rule, house: House) -> dict[str, Any]:
    """The same as plain data."""
    return {
        "name": rule.name,
        "title": rule.title,
        "level": rule.level.value,
        "level_here": house.levels.get(rule.name, rule.level.value),
        "phase": rule.phase,
        "also_on_metal": rule.on_metal is not None,
        "why": rule.why,
        "do": rule.remedy,
        "source": told(rule.source),
        "figures": figures(rule, house),
        "house": house.path,
    }


def figures(rule: Rule, house: House) -> list[dict[str, Any]]:
    """The figures of a rule as they hold here, house figures in place of the table's."""
    return [_row(row, house) for row in limits_of(rule.name)]


def _row(row: Limit, house: House) -> dict[str, Any]:
    own = house.figures.get((row.rule, row.what, row.family))
    if own is None:
        own = house.figures.get((row.rule, row.what, ANY))
    figure = row.figure if own is None else own
    text = shown_figure(figure, row.unit)
    plain = row.unit in ("count", "ratio", "mohs")
    return {
        "what": row.what,
        "family": row.family,
        "figure": figure,
        "unit": row.unit,
        "figure_text": text,
        "source": told(row.source, brief=True) if own is None else house.name,
        "toml": f"{figure:g}" if plain else f'"{text}"',
    }


def _when(rule: Rule) -> str:
    if rule.phase != "plan":
        return "checked on the finished metal" if rule.phase == "metal" else "checked by posy cast"
    also = ", and again on the metal" if rule.on_metal is not None else ""
    return f"checked on the plan, before metal{also}"
