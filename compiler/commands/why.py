"""`posy why`: more about a remark: why it matters and what helps."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from ...lang.folding import fold, in_columns
from ..house import FILE as HOUSE_FILE
from ..terminal import options as shared
from ..terminal.forms import Arguments, Misuse
from ..terminal.output import tell_data
from ..terminal.remarks import width_for

if TYPE_CHECKING:
    from ..house.house import House


def run(arguments: Arguments) -> int:
    """Print what is known about the name, or the list of names."""
    from ..rules import rule_names

    width = width_for(sys.stdout)
    if arguments.code is None:
        _tell_list(arguments.show, width)
        return shared.DONE
    name = arguments.code.strip().strip("()[],.:")
    if not (_records(name) or name in rule_names() or name in _plain()):
        from ...lang.suggest import did_you_mean

        hint = did_you_mean(name, known()) or "posy why lists them"
        raise Misuse(f"no remark goes by the name '{name}'; {hint}")
    if arguments.show == "data":
        tell_data("why", **_record(name))
    elif arguments.show == "lines":
        print(f"{name}: {known()[name]}")
    else:
        print("\n".join(_page(name, width)))
    return shared.DONE


def known() -> Mapping[str, str]:
    """Every name there is with its title."""
    return {name: title for group in _groups().values() for name, title in group.items()}


def _groups() -> dict[str, dict[str, str]]:
    from ...lang.codes import CODES
    from ..codes import CODES as BENCH_CODES
    from ..rules import all_rules

    made = {name: title for name, title in _titles(BENCH_CODES).items() if name not in CODES}
    return {
        "the text cannot be read or does not add up": _titles(CODES),
        "figures that cannot be made": made,
        "bench rules: what can be made, but may fail": _titles(all_rules()),
        "files, weights, your own limits": {name: title for name, (title, _) in _plain().items()},
    }


def _titles(codes: Mapping[str, Any]) -> dict[str, str]:
    return {code.name: code.title for code in codes.values()}


def _plain() -> Mapping[str, tuple[str, str]]:
    """Codes without examples: title, and why it is one and what to do."""
    from ..codes import PLAIN

    return {**PLAIN, HOUSE_FILE: ("The file of your own limits, metals, stones and prices.", "")}


def _records(name: str) -> list[Any]:
    """What is on record about a code: of the language, of the bench, or of both."""
    from ...lang.codes import CODES
    from ..codes import CODES as BENCH_CODES

    return [codes[name] for codes in (CODES, BENCH_CODES) if name in codes]


def _tell_list(show: str, width: int) -> None:
    if show == "data":
        tell_data("why", remarks=[
            {"name": name, "title": title, "group": group}
            for group, titles in _groups().items()
            for name, title in sorted(titles.items())
        ])  # fmt: skip
        return
    for group, titles in _groups().items():
        if show == "full":
            print("\n".join([*fold(f"{group[:1].upper()}{group[1:]}", width),
                             *in_columns(sorted(titles.items()), width), ""]))  # fmt: skip
        else:
            print("\n".join(f"{name}: {title}" for name, title in sorted(titles.items())))
    if show == "full":
        print("posy why NAME tells more of one.")


def house_here() -> House:
    """The workshop whose folder this is."""
    from ..house.house import house_for
    from ..rules import rule_names

    return house_for("any.posy", rule_names())


def _page(name: str, width: int) -> list[str]:
    if name == HOUSE_FILE:
        from ..house.page import page as house_page

        return house_page(width)
    from ..rules import one_rule

    rule = one_rule(name)
    if rule is not None:
        from ..judging.rulebook import page

        return page(rule, house_here(), width)
    records = _records(name)
    if records:
        pages = [_record_page(code, width) for code in records]
        return [line for page in pages for line in ["", *page]][1:]
    title, why = _plain()[name]
    return [*fold(f"{name}: {title}", width), "", *fold(why, width)]


def _record_page(code: Any, width: int) -> list[str]:
    """A name, why it is a fault, and an example wrong and right."""
    lines = [*fold(f"{code.name}: {code.title}", width), "", *fold(code.why, width)]
    if code.shown:
        lines += ["", "Not so", *_indented(code.wrong), "", "But so", *_indented(code.right)]
    return lines


def _record(name: str) -> dict[str, Any]:
    if name == HOUSE_FILE:
        from ..house.page import record

        return record()
    from ..rules import one_rule

    rule = one_rule(name)
    if rule is not None:
        from ..judging.rulebook import rule_record

        return rule_record(rule, house_here())
    if records := _records(name):
        meanings: list[dict[str, str]] = []
        for code in records:
            shown = {"wrong": code.wrong, "right": code.right} if code.shown else {}
            meanings.append({"title": code.title, "why": code.why, **shown})
        return {"name": name, "meanings": meanings}
    return {"name": name, **dict(zip(("title", "why"), _plain()[name], strict=True))}


def _indented(text: str) -> list[str]:
    return [f"  {line}" for line in text.rstrip("\n").split("\n")]
