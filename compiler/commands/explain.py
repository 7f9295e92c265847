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
    parser.add_argument(
        "--format", choices=("human", "json"), default="human", help="a rule's page as JSON"
    )


def run(arguments: argparse.Namespace) -> int:
    """Print what is known about the code, or the list of codes."""
    from ...lang.codes import CODES
    from ...lang.suggest import did_you_mean
    from ..codes import CODES as BENCH_CODES
    from ..files.codes import FILE_FAULTS as FILE_CODES
    from ..rulebook import RULE_FAULTS

    codes, plain = {**CODES, **BENCH_CODES}, {**FILE_CODES, **RULE_FAULTS}
    name, rules = arguments.code, _rules()
    if name is None:
        titles = {
            **{code.name: code.title for code in codes.values()},
            **{code: title for code, (title, _) in plain.items()},
            **{rule.name: rule.title for rule in rules.values()},
        }
        wide = max(map(len, titles)) + 2
        print("\n".join(f"{code:<{wide}}{title}" for code, title in sorted(titles.items())))
    elif name in codes:
        print("\n".join(_code(codes[name])))
    elif name in rules:
        print(_rule(rules[name], arguments.format))
    elif name in plain:
        print("\n".join([f"{name}: {plain[name][0]}", "", *_wrapped(plain[name][1])]))
    else:
        hint = did_you_mean(name, [*codes, *rules, *plain]) or "posy explain lists them"
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


def _rule(rule: Any, form: str) -> str:
    """A bench rule with the figures that hold in this folder."""
    from ..house import house_for
    from ..rulebook import page, page_json

    house = house_for("any.posy")
    return page_json(rule, house) if form == "json" else "\n".join(page(rule, house))


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, _WIDTH, break_on_hyphens=False)


def _indented(text: str) -> list[str]:
    return [f"  {line}" for line in text.rstrip("\n").split("\n")]
