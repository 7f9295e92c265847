"""What `posy explain` tells of a bench rule, and of the faults the engine itself finds."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from ...stdlib.limits import ANY, Limit, limits_of
from .house import House, shown_figure
from .rule import Rule

SCHEMA = 1
"""Version of the JSON of `posy explain RULE`; it rises when a key changes its meaning."""

WIDTH = 88

# Code -> (title, why it is one and what to do).
RULE_FAULTS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "idle-waiver": (
            "A waiver sets nothing aside.",
            "The rule it names finds nothing there (any more), so the line only makes readers "
            "wonder. Take it out.",
        ),
        "rule-not-measured": (
            "A bench rule could not be measured.",
            "The measuring failed on this piece, which is a fault of posy; the other rules "
            "stand."
            "Check by hand what the rule is about, and please report the piece.",
        ),
        "house-not-read": (
            "The house limits could not be read.",
            "A file bench.toml is there but cannot be opened; without it the house's own "
            "figures"
            "would silently not hold.",
        ),
        "house-not-toml": (
            "The house limits are not TOML.",
            "bench.toml has a table per rule, as in [thin-wall], and figures with their "
            "units in"
            'quotes below it, as in least = "0.9 mm".',
        ),
        "house-unknown-rule": (
            "The house limits name no bench rule.",
            "Every table of bench.toml is named after a rule; `posy explain` lists them.",
        ),
        "house-unknown-figure": (
            "The house limits name no figure of that rule.",
            "`posy explain RULE` lists the figures of a rule; besides them there is `level`.",
        ),
        "house-wrong-figure": (
            "A figure of the house limits makes no sense.",
            "A figure has the unit of the rule's own (0.9 mm, 55 %), is not negative, and lies "
            "within twenty times of what is usual: beyond that it must be a slip.",
        ),
        "house-wrong-level": (
            "The house limits name no level.",
            "A rule's level is fault, warning, note or off.",
        ),
    }
)


def page(rule: Rule, house: House) -> list[str]:
    """Everything about a rule as lines of text, with the figures in force."""
    lines = [f"{rule.name}: {rule.title}", f"({rule.level.value}, {_when(rule)})", ""]
    lines += [*_wrapped(rule.why), "", *_wrapped(f"What helps: {rule.remedy}"), ""]
    rows = figures(rule, house)
    if rows:
        lines.append("Figures in force:")
        for row in rows:
            metal = "" if row["family"] == ANY else f" ({row['family']})"
            said = f"{row['figure_text']:<10} {row['what']}{metal}; {row['source']}"
            lines += textwrap.wrap(said, WIDTH, initial_indent="  ", subsequent_indent=" " * 13)
        lines.append("")
    lines += [*_wrapped(f"Source: {rule.source}"), ""]
    if house.off(rule.name):
        lines += [f"Here {house.path} leaves this rule out.", ""]
    lines.append(f'To set it aside in a piece: waive {rule.name} because "…"')
    if rows:
        row = rows[0]
        lines += [
            "To set a figure of your own, in bench.toml:",
            f"  [{rule.name}]",
            f"  {row['what']} = {row['toml']}",
        ]
    return lines


def page_json(rule: Rule, house: House) -> str:
    """The same as JSON, with the version of its layout."""
    record = {
        "schema": SCHEMA,
        "rule": rule.name,
        "title": rule.title,
        "level": rule.level.value,
        "level_here": house.levels.get(rule.name, rule.level.value),
        "phase": rule.phase,
        "also_on_metal": rule.on_metal is not None,
        "why": rule.why,
        "remedy": rule.remedy,
        "source": rule.source,
        "figures": figures(rule, house),
        "house": house.path,
    }
    return json.dumps(record, indent=2, ensure_ascii=False)


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
        "source": row.source if own is None else house.name,
        "toml": f"{figure:g}" if plain else f'"{text}"',
    }


def _when(rule: Rule) -> str:
    if rule.phase == "metal":
        return "checked on the finished metal"
    also = ", and again on the metal" if rule.on_metal is not None else ""
    return f"checked on the plan, before metal{also}"


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, break_on_hyphens=False)
