"""The parse tables of grammar.lark, worked out beforehand by lark: tables.json.

Working them out takes longer than reading and checking a whole piece, and they change only with
the grammar or with lark. They are plain data (JSON, no pickle: reading them runs nothing), shipped
with posy so that nothing is ever written to a user's disk. After a change of the grammar:

    python -m posy.lang.tables

A stale or missing file costs time, never truth: the tables are then worked out anew."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import lark
from lark import Lark
from lark.grammar import Rule
from lark.lexer import TerminalDef

STARTS = ["line", "clauses", "value"]
KEPT = "tables.json"
_HERE = Path(__file__).parent


def parser(build: object = None) -> Lark:
    """The parser of one line, by the kept tables if they are those of this grammar; the methods of
    ``build`` make the nodes (None: lark's own)."""
    grammar = _grammar()
    kept = _kept()
    if kept is None or kept.get("made-from") != made_from(grammar):
        return fresh(grammar, transformer=build)
    # JSON has no numbers for keys.
    memo = {int(key): value for key, value in kept["memo"].items()}
    table = kept["data"]["parser"]["parser"]
    table["tokens"] = {int(key): value for key, value in table["tokens"].items()}
    table["states"] = {
        int(state): {int(token): action for token, action in actions.items()}
        for state, actions in table["states"].items()
    }
    return Lark._load_from_dict(kept["data"], memo, transformer=build)


def _grammar() -> str:
    return _HERE.joinpath("grammar.lark").read_text(encoding="utf-8")


def fresh(grammar: str, **options: Any) -> Lark:
    """The parser, its tables worked out here and now. Raises lark's GrammarError for a grammar
    that is not LALR(1)."""
    return Lark(
        grammar, parser="lalr", lexer="contextual", start=STARTS, maybe_placeholders=False, **options
    )


def made_from(grammar: str) -> str:
    """What the tables rest on: the grammar, and the lark whose layout of data they have."""
    release = ".".join(lark.__version__.split(".")[:2])
    return f"lark {release}, grammar {grammar}"


def _kept() -> dict[str, Any] | None:
    """The kept tables, or None where there are none that can be read."""
    try:
        kept = json.loads(_HERE.joinpath(KEPT).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return kept if isinstance(kept, dict) else None


def tables(grammar: str) -> str:
    """The text of tables.json for ``grammar``."""
    data, memo = fresh(grammar).memo_serialize([TerminalDef, Rule])
    # The rest of the options are lark's own usual ones.
    said = "parser", "lexer", "start", "maybe_placeholders"
    data["options"] = {name: data["options"][name] for name in said}
    record = {"made-from": made_from(grammar), "data": data, "memo": memo}
    return json.dumps(record, ensure_ascii=False, separators=(",", ":")) + "\n"


if __name__ == "__main__":
    _HERE.joinpath(KEPT).write_text(tables(_grammar()), encoding="utf-8")
