"""The parse tables of grammar.lark, worked out beforehand and kept in tables.json.

Working them out takes longer than reading and checking a whole piece, and they change only with
the grammar or with lark. They are plain data (JSON, no pickle: reading them runs nothing), shipped
with posy so that nothing is ever written to a user's disk. After a change of the grammar:

    python -m posy.lang.tables

A stale or missing file costs time, never truth: the tables are then worked out anew.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .line_reader import LineReader

if TYPE_CHECKING:
    from lark import Lark

STARTS = ["line", "clauses", "value"]
KEPT = "tables.json"
_HERE = Path(__file__).parent


def line_reader(build: object) -> LineReader:
    """The reader of one line, by the kept tables if they are those of this grammar."""
    grammar = _grammar()
    kept = _kept()
    if kept is None or not str(kept.get("made-from")).endswith(f", grammar {grammar}"):
        kept = json.loads(tables(grammar))
    return LineReader(kept, build)


def parser() -> Lark:
    """The same grammar as lark reads it, to say what is wrong with a line, or to give its tokens."""
    from lark import Lark

    grammar = _grammar()
    kept = _kept()
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


def _kept() -> dict[str, Any] | None:
    """The kept tables, or None where there are none that can be read."""
    try:
        text = _HERE.joinpath(KEPT).read_text(encoding="utf-8")
        kept = json.loads(text)
    except (OSError, ValueError):
        return None
    return kept if isinstance(kept, dict) else None


def tables(grammar: str) -> str:
    """The text of tables.json for ``grammar``."""
    from lark.grammar import Rule
    from lark.lexer import TerminalDef

    made = fresh(grammar)
    data, memo = made.memo_serialize([TerminalDef, Rule])
    # The rest of the options are lark's own usual ones.
    said = ("parser", "lexer", "start", "maybe_placeholders")
    data["options"] = {name: data["options"][name] for name in said}
    table = data["parser"]["parser"]
    data["parser"]["parser"] = {**table, **_in_order(table)}
    record = {"made-from": made_from(grammar), "data": data, "memo": memo}
    return json.dumps(record, ensure_ascii=False, separators=(",", ":")) + "\n"


def _in_order(table: dict[str, Any]) -> dict[str, Any]:
    """The table with tokens and states numbered by name and reach: lark numbers them in the
    order of its sets, another one each time."""
    names = sorted(table["tokens"].values())
    number = {old: names.index(name) for old, name in table["tokens"].items()}
    order = [state for _, state in sorted(table["start_states"].items())]
    actions: dict[int, list[tuple[int, Any]]] = {}
    for state in order:  # grows while it is walked
        actions[state] = sorted(
            (number[token], action) for token, action in table["states"][state].items()
        )
        for _, (reduces, to) in actions[state]:
            if not reduces and to not in order:
                order.append(to)
    assert len(order) == len(table["states"])
    place = {state: index for index, state in enumerate(order)}
    moved = {
        place[state]: {
            token: (kind, to if kind else place[to]) for token, (kind, to) in actions[state]
        }
        for state in order
    }
    ends = {start: place[state] for start, state in sorted(table["end_states"].items())}
    starts = {start: place[state] for start, state in sorted(table["start_states"].items())}
    tokens = dict(enumerate(names))
    return {"tokens": tokens, "states": moved, "start_states": starts, "end_states": ends}


if __name__ == "__main__":
    _HERE.joinpath(KEPT).write_text(tables(_grammar()), encoding="utf-8")
