"""`posy explain`: more about a fault code or a bench rule."""

from __future__ import annotations

import argparse
import textwrap
from collections.abc import Mapping
from typing import Any

from . import shared

DETAILS = (
    "Codes stand in brackets in every finding, as in fault[unknown-name]. "
    "Without one, all are listed."
)
_WIDTH = 88


def options(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("code", nargs="?", metavar="CODE", help="a code, as shown in brackets")


def run(arguments: argparse.Namespace) -> int:
    """Print what is known about the code, or the list of codes."""
    from ...lang.codes import CODES
    from ...lang.suggest import did_you_mean
    from ..files.codes import FILE_FAULTS

    name, rules = arguments.code, _rules()
    if name is None:
        titles = {
            **{code.name: code.title for code in CODES.values()},
            **{code: title for code, (title, _) in FILE_FAULTS.items()},
            **{rule.name: rule.title for rule in rules.values()},
        }
        wide = max(map(len, titles)) + 2
        print("\n".join(f"{code:<{wide}}{title}" for code, title in sorted(titles.items())))
    elif name in CODES:
        print("\n".join(_code(CODES[name])))
    elif name in rules:
        print("\n".join(_rule(rules[name])))
    elif name in FILE_FAULTS:
        print(
            "\n".join([f"{name}: {FILE_FAULTS[name][0]}", "", *_wrapped(FILE_FAULTS[name][1])])
        )
    else:
        hint = did_you_mean(name, [*CODES, *rules, *FILE_FAULTS]) or "posy explain lists them"
        raise shared.Misuse(f"no code {name!r}; {hint}")
    return shared.DONE


def _rules() -> Mapping[str, Any]:
    """The bench rules by name."""
    from ..rules import all_rules

    return all_rules()


def _code(code: Any) -> list[str]:
    """A fault of the language: why, and an example wrong and right."""
    lines = [f"{code.name}: {code.title}", "", *_wrapped(code.why)]
    if code.shown:
        lines += ["", "not so", *_indented(code.wrong), "", "but so", *_indented(code.right)]
    return lines


def _rule(rule: Any) -> list[str]:
    """A bench rule: why, what helps, where its figures come from."""
    when = "on the plan, before metal" if rule.phase == "plan" else "on the finished metal"
    return [
        f"{rule.name} ({rule.level.value}, checked {when}): {rule.title}",
        "",
        *_wrapped(rule.why),
        "",
        *_wrapped(f"What helps: {rule.remedy}"),
        "",
        *_wrapped(f"Source: {rule.source}"),
        "",
        f'To set it aside in a piece: waive {rule.name} because "…"',
    ]


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, _WIDTH, break_on_hyphens=False)


def _indented(text: str) -> list[str]:
    return [f"  {line}" for line in text.rstrip("\n").split("\n")]
