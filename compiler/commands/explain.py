"""`posy explain`: more about a fault code or a bench rule."""

from __future__ import annotations

import argparse
import json
import re
import textwrap
from collections.abc import Mapping
from typing import Any

from ..terminal import options as shared

DETAILS = (
    "Codes stand in brackets in every finding, as in fault[unknown-name], and before every "
    "note. Without one, all are listed."
)
EXAMPLES = ("posy explain thin-wall", "posy explain")
_WIDTH = 88
_BRACKETS = re.compile(r"(?:\w+\[)?([^\[\]]+)\]?")  # "fault[unknown-name]" as it was pasted


def options(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("code", nargs="?", metavar="CODE", help="a code, as shown in brackets")
    parser.add_argument(
        "--format", choices=("human", "json"), default="human", help="as text, or all as JSON"
    )


def run(arguments: argparse.Namespace) -> int:
    """Print what is known about the code, or the list of codes."""
    given = arguments.code
    if given is None:
        print(_list_json() if arguments.format == "json" else "\n".join(_list()))
        return shared.DONE
    bare = _BRACKETS.fullmatch(given.strip())
    name = bare[1] if bare else given
    if not _is_known(name):
        from ...lang.suggest import did_you_mean

        hint = did_you_mean(name, known()) or "posy explain lists them"
        raise shared.Misuse(f"no code {name!r}; {hint}")
    print(_json(name) if arguments.format == "json" else "\n".join(_page(name)))
    return shared.DONE


def _is_known(name: str) -> bool:
    """Whether there is such a code; asked so that most commands load few of them."""
    from ..rules import rule_names

    return bool(_records(name)) or name in rule_names() or name in _plain()


def known() -> Mapping[str, str]:
    """Every code there is with its title."""
    return {name: title for group in _groups().values() for name, title in group.items()}


def _groups() -> dict[str, dict[str, str]]:
    """Titles by code, grouped by what finds them."""
    from ...lang.codes import CODES
    from ..codes.bench_codes import CODES as BENCH_CODES

    made = {name: title for name, title in _titles(BENCH_CODES).items() if name not in CODES}
    return {
        "the text cannot be read or does not add up": _titles(CODES),
        "figures that cannot be made": made,
        "bench rules: what can be made, but may fail": _titles(_rules()),
        "files, weights, the house's own limits": {
            name: title for name, (title, _) in _plain().items()
        },
    }


def _titles(codes: Mapping[str, Any]) -> dict[str, str]:
    return {code.name: code.title for code in codes.values()}


def _plain() -> Mapping[str, tuple[str, str]]:
    """Codes without examples: title, and why it is one and what to do."""
    from ..codes.file_codes import FILE_FAULTS
    from ..judging.rulebook import RULE_FAULTS

    return {**FILE_FAULTS, **RULE_FAULTS}


def _rules() -> Mapping[str, Any]:
    """The bench rules by name."""
    from ..rules import all_rules

    return all_rules()


def _rule(name: str) -> Any:
    """The bench rule called ``name``, or None."""
    from ..rules import one_rule

    return one_rule(name)


def _records(name: str) -> list[Any]:
    """What is on record about a code: of the language, of the bench, or of both."""
    from ...lang.codes import CODES
    from ..codes.bench_codes import CODES as BENCH_CODES

    return [codes[name] for codes in (CODES, BENCH_CODES) if name in codes]


def _list() -> list[str]:
    """All codes, a line each, by group."""
    lines: list[str] = []
    wide = max(map(len, known())) + 2
    for group, titles in _groups().items():
        lines += ["", group] if lines else [group]
        lines += [f"  {name:<{wide}}{title}" for name, title in sorted(titles.items())]
    return [*lines, "", "posy explain CODE tells why, and what helps."]


def _page(name: str) -> list[str]:
    """All that is known about one code."""
    rule = _rule(name)
    if rule is not None:
        from ..judging.house import house_for
        from ..judging.rulebook import page
        from ..rules import rule_names

        return page(rule, house_for("any.posy", rule_names()))
    records = _records(name)
    if records:
        pages = [_record_page(code) for code in records]
        return [line for page in pages for line in ["", *page]][1:]
    title, why = _plain()[name]
    return [f"{name}: {title}", "", *_wrapped(why)]


def _record_page(code: Any) -> list[str]:
    """A code, why it is one, and an example wrong and right."""
    lines = [f"{code.name}: {code.title}", "", *_wrapped(code.why)]
    if code.shown:
        lines += ["", "not so", *_indented(code.wrong), "", "but so", *_indented(code.right)]
    return lines


def _json(name: str) -> str:
    """The same as data; a rule's page has a layout of its own, see compiler/rulebook.py."""
    rule = _rule(name)
    if rule is not None:
        from ..judging.house import house_for
        from ..judging.rulebook import page_json
        from ..rules import rule_names

        return page_json(rule, house_for("any.posy", rule_names()))
    record: dict[str, Any] = {"posy": 1, "command": "explain", "code": name}
    records = _records(name)
    if records:
        record["meanings"] = [_record_data(code) for code in records]
    else:
        record |= dict(zip(("title", "why"), _plain()[name], strict=True))
    return json.dumps(record, indent=2, ensure_ascii=False)


def _record_data(code: Any) -> dict[str, str]:
    """A record as data; the examples where they are whole."""
    told = {"title": code.title, "why": code.why}
    return told | ({"wrong": code.wrong, "right": code.right} if code.shown else {})


def _list_json() -> str:
    """All codes with titles, as data."""
    codes = [
        {"code": name, "title": title, "group": group}
        for group, titles in _groups().items()
        for name, title in sorted(titles.items())
    ]
    report = {"posy": 1, "command": "explain", "codes": codes}
    return json.dumps(report, indent=2, ensure_ascii=False)


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, _WIDTH, break_on_hyphens=False)


def _indented(text: str) -> list[str]:
    return [f"  {line}" for line in text.rstrip("\n").split("\n")]
