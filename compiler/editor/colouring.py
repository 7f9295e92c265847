"""Colours for editors that know no language server: two open forms, written from the word records."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from pathlib import Path

from ...lang.functions import FUNCTIONS
from ...lang.parse import BLOCK_WORDS
from ...lang.placing import PLACING
from ...lang.units import KNOWN_UNITS
from ...lang.words import CHOOSING, Word

JOINTS = (
    "x", "of", "to", "over", "and", "or", "not", "is", "in", "by", "on", "because", "take", "as", "with",
)  # fmt: skip
_HEAD = '" Colours for posy, for vim and neovim. Made by posy editor FOLDER.\n'
_PLUGIN = r"""" posy in vim and neovim: :make checks, gg=G tidies. Made by posy editor FOLDER.
setlocal commentstring=#\ %s expandtab shiftwidth=2 makeprg=posy\ check\ --show\ lines\ %:S
setlocal equalprg=posy\ tidy\ - errorformat=%f\ line\ %l\ %t%*[a-z]\ %m
"""


def files(words: Mapping[str, Word]) -> dict[Path, bytes]:
    """The files by name: vim's syntax, file type and plugin; a grammar in TextMate's form."""
    sorts = _sorts(words)
    return {
        Path("syntax/posy.vim"): _vim(sorts).encode(),
        Path("ftdetect/posy.vim"): b"autocmd BufRead,BufNewFile *.posy setfiletype posy\n",
        Path("ftplugin/posy.vim"): _PLUGIN.encode(),
        Path("posy.tmLanguage.json"): f"{json.dumps(_grammar(sorts), indent=2)}\n".encode(),
    }


def _sorts(words: Mapping[str, Word]) -> dict[str, list[str]]:
    """All that is coloured alike, by what it is."""
    takes = [take for word in words.values() for take in word.takes]
    choices = (name for take in takes if take.kind in CHOOSING for name in take.choices)
    found: dict[str, Iterable[str]] = {
        "block": BLOCK_WORDS,
        "word": (name for name in words if name not in BLOCK_WORDS),
        "clause": (take.name for take in (*takes, *PLACING)),
        "choice": choices,
        "joint": JOINTS,
        "function": FUNCTIONS,
    }
    return {sort: sorted({*names}, key=lambda name: (-len(name), name)) for sort, names in found.items()}


def _either(names: Iterable[str]) -> str:
    return "|".join(re.escape(name) for name in names)


def _grammar(sorts: Mapping[str, list[str]]) -> dict[str, object]:
    """The grammar: a text, a comment, then each sort where it can stand."""
    end = r"(?![\w-])"
    units = _either(unit for unit in KNOWN_UNITS if unit != "%")
    rules = [
        ("comment.line.number-sign.posy", "#.*$"),
        ("string.quoted.double.posy", r'"(?:[^"]|"")*"'),
        ("constant.numeric.posy", rf"(?<![\w-])\d*\.?\d+(?: *(?:(?:{units})\b|%))?"),
        ("keyword.control.posy", rf"^\s*(?:{_either(sorts['block'])}){end}"),
        ("entity.name.function.posy", rf"^\s*(?:{_either(sorts['word'])}){end}"),
        ("support.function.posy", rf"(?<![\w-])(?:{_either(sorts['function'])})(?=\()"),
        ("keyword.operator.word.posy", rf"(?<![\w-])(?:{_either(sorts['joint'])}){end}"),
        ("variable.parameter.posy", rf"(?<=[,:])\s*(?:{_either(sorts['clause'])}){end}"),
        ("variable.parameter.posy", rf"^\s+(?:{_either(sorts['clause'])}){end}"),
        ("support.constant.posy", rf"(?<![\w-])(?:{_either(sorts['choice'])}){end}"),
    ]
    return {
        "name": "posy", "scopeName": "source.posy", "fileTypes": ["posy"],
        "patterns": [{"name": name, "match": match} for name, match in rules],
    }  # fmt: skip


def _vim(sorts: Mapping[str, list[str]]) -> str:
    """The syntax file: later rules win, so texts and comments come last."""
    end = r"\%([[:alnum:]_-]\)\@!"

    def either(names: Iterable[str]) -> str:
        return r"\%(" + r"\|".join(name.replace("/", r"\/") for name in names) + r"\)"

    units = either(unit for unit in KNOWN_UNITS if unit != "%")
    rows = [
        ("posyChoice", "Constant", rf"\<{either(sorts['choice'])}{end}"),
        ("posyJoint", "Operator", rf"\<{either(sorts['joint'])}{end}"),
        ("posyClause", "Identifier", rf"\%([,:]\s*\)\@<={either(sorts['clause'])}{end}"),
        ("posyClause", "Identifier", rf"\%(^\s\+\)\@<={either(sorts['clause'])}{end}"),
        ("posyFunction", "Function", rf"\<{either(sorts['function'])}("),
        ("posyWord", "Type", rf"^\s*{either(sorts['word'])}{end}"),
        ("posyBlock", "Keyword", rf"^\s*{either(sorts['block'])}{end}"),
        ("posyNumber", "Number", rf"\%([[:alnum:]_-]\)\@<!\d*\.\?\d\+\%(\s*\%({units}\>\|%\)\)\?"),
        ("posyText", "String", r'"\%([^"]\|""\)*"'),
        ("posyComment", "Comment", "#.*$"),
    ]
    lines = [_HEAD, 'if exists("b:current_syntax") | finish | endif', "syntax case match"]
    lines += [f"syntax match {group} /{match}/" for group, _, match in rows]
    links = {group: link for group, link, _ in rows}
    lines += [f"highlight default link {group} {link}" for group, link in links.items()]
    lines += ['let b:current_syntax = "posy"', ""]
    return "\n".join(lines)
