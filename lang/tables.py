"""The parse tables of grammar.lark, worked out beforehand: tables.json for our own reader of lines, and
slips.json, the same as lark has them, for saying what is wrong with a line.

Working them out takes longer than reading and checking a whole piece, and they change only with
the grammar or with lark. They are plain data (JSON, no pickle: reading them runs nothing), shipped
with posy so that nothing is ever written to a user's disk. After a change of the grammar:

    python -m posy.lang.tables

A stale or missing file costs time, never truth: the tables are then worked out anew."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .line_reader import LineReader

if TYPE_CHECKING:
    from lark import Lark

STARTS = ["line", "clauses", "value"]
KEPT, LARKS = "tables.json", "slips.json"
_HERE = Path(__file__).parent


def line_reader(build: object) -> LineReader:
    """The reader of one line, by the kept tables if they are those of this grammar."""
    grammar = _grammar()
    kept = _kept(KEPT)
    if kept is None or not str(kept.get("made-from")).endswith(f", grammar {grammar}"):
        kept = json.loads(tables(grammar)[KEPT])
    return LineReader(kept, build)


def parser() -> Lark:
    """The same grammar as lark reads it, to say what is wrong with a line, or to give its tokens."""
    from lark import Lark

    grammar = _grammar()
    kept = _kept(LARKS)
    if kept is None or kept.get("made-from") != made_from(grammar):
        return fresh(grammar)
    # JSON has no numbers for keys.
    memo = {int(key): value for key, value in kept["memo"].items()}
    table = kept["data"]["parser"]["parser"]
    table["tokens"] = {int(key): value for key, value in table["tokens"].items()}
    table["states"] = {
        int(state): {int(token): action for token, action in actions.items()}
        for state, actions in table["states"].items()
    }
    return Lark._load_from_dict(kept["data"], memo)


def _grammar() -> str:
    return _HERE.joinpath("grammar.lark").read_text(encoding="utf-8")


def fresh(grammar: str) -> Lark:
    """The parser, its tables worked out here and now. Raises lark's GrammarError for a grammar
    that is not LALR(1)."""
    from lark import Lark

    return Lark(grammar, parser="lalr", lexer="contextual", start=STARTS, maybe_placeholders=False)


def made_from(grammar: str) -> str:
    """What the tables rest on: the grammar, and the lark whose layout of data they have."""
    import lark

    release = ".".join(lark.__version__.split(".")[:2])
    return f"lark {release}, grammar {grammar}"


def _kept(name: str) -> dict[str, Any] | None:
    """The kept tables, or None where there are none that can be read."""
    try:
        kept = json.loads(_HERE.joinpath(name).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return kept if isinstance(kept, dict) else None


def tables(grammar: str) -> dict[str, str]:
    """The texts of tables.json and slips.json for ``grammar``."""
    from lark.grammar import Rule
    from lark.lexer import TerminalDef

    made = fresh(grammar)
    data, memo = made.memo_serialize([TerminalDef, Rule])
    # The rest of the options are lark's own usual ones.
    said = "parser", "lexer", "start", "maybe_placeholders"
    data["options"] = {name: data["options"][name] for name in said}
    table = data["parser"]["parser"]
    data["parser"]["parser"] = {**table, **_in_order(table)}
    of = {"made-from": made_from(grammar)}
    records = {KEPT: of | reading(data["parser"], memo), LARKS: of | {"data": data, "memo": memo}}
    return {
        name: json.dumps(record, ensure_ascii=False, separators=(",", ":")) + "\n"
        for name, record in records.items()
    }


def reading(data: dict[str, Any], memo: dict[int, Any]) -> dict[str, Any]:
    """What the reader of lines needs of lark's tables: ``states`` (by what comes next the state to go on
    to, or below zero ~(rule to reduce by)), their ``starts`` and ``ends``; ``rules`` (what is made, by
    which method, of how many parts, of them [place, whether a run] kept, whether a single one stays);
    ``terminals`` in the order in which lark tries them (name, the letter it begins with where there is
    but one, pattern), and the pattern of all that is ``ignored``."""
    table, ignored = data["parser"], data["lexer_conf"]["ignore"]
    names, actions = table["tokens"], [state for _, state in sorted(table["states"].items())]
    numbers = sorted({to["@"] for state in actions for reduces, to in state.values() if reduces})
    states = [
        {names[token]: ~numbers.index(to["@"]) if reduces else to for token, (reduces, to) in state.items()}
        for state in actions
    ]
    met = sorted((one for one in memo.values() if one["__type__"] == "TerminalDef"), key=_rank)
    return {
        "states": states,
        "starts": table["start_states"],
        "ends": table["end_states"],
        "rules": [_rule(memo[number]) for number in numbers],
        "terminals": [
            (one["name"], _first(one["pattern"]), _pattern(one)) for one in met if one["name"] not in ignored
        ],
        "ignored": f"(?:{'|'.join(_pattern(one) for one in met if one['name'] in ignored)})*",
    }


def _rule(rule: dict[str, Any]) -> tuple[str, str | None, int, list[tuple[int, bool]], bool]:
    made, options = rule["origin"]["name"], rule["options"]
    kept = [
        (place, part["__type__"] == "NonTerminal" and part["name"].startswith("_"))
        for place, part in enumerate(rule["expansion"])
        if not part.get("filter_out")
    ]
    maker = None if made.startswith("_") else rule["alias"] or made
    return made, maker, len(rule["expansion"]), kept, bool(options["expand1"] and not rule["alias"])


def _rank(terminal: dict[str, Any]) -> tuple[int, int, int, str]:
    """What comes first is tried first: what is put first, then the widest and the longest."""
    pattern = terminal["pattern"]
    long = len(pattern["value"])
    return -terminal["priority"], -pattern.get("_width", (long, long))[1], -long, terminal["name"]


def _pattern(terminal: dict[str, Any]) -> str:
    """The regular expression of a terminal."""
    pattern = terminal["pattern"]
    return str(re.escape(pattern["value"]) if pattern["__type__"] == "PatternStr" else pattern["value"])


def _first(pattern: dict[str, Any]) -> str | None:
    """The one letter a terminal begins with, None where it may be several."""
    plain = pattern["__type__"] == "PatternStr" or re.match(r"[a-z](?![*?{|])[^|]*$", pattern["value"])
    return str(pattern["value"][0]) if plain else None


def _in_order(table: dict[str, Any]) -> dict[str, Any]:
    """The table with tokens and states numbered by name and reach: lark numbers them in the
    order of its sets, another one each time."""
    names = sorted(table["tokens"].values())
    number = {old: names.index(name) for old, name in table["tokens"].items()}
    order = [state for _, state in sorted(table["start_states"].items())]
    actions: dict[int, list[tuple[int, Any]]] = {}
    for state in order:  # grows while it is walked
        actions[state] = sorted((number[token], action) for token, action in table["states"][state].items())
        for _, (reduces, to) in actions[state]:
            if not reduces and to not in order:
                order.append(to)
    assert len(order) == len(table["states"])
    place = {state: index for index, state in enumerate(order)}
    moved = {
        place[state]: {token: (kind, to if kind else place[to]) for token, (kind, to) in actions[state]}
        for state in order
    }
    ends = {start: place[state] for start, state in sorted(table["end_states"].items())}
    starts = {start: place[state] for start, state in sorted(table["start_states"].items())}
    tokens = dict(enumerate(names))
    return {"tokens": tokens, "states": moved, "start_states": starts, "end_states": ends}


if __name__ == "__main__":
    for name, text in tables(_grammar()).items():
        _HERE.joinpath(name).write_text(text, encoding="utf-8")
