"""The reference as one HTML page that opens without a network: the pages that are installed, in the order one
learns, with their drawings inside.

Only the Markdown these pages use is known here: headings, paragraphs, lists, tables, texts in fences,
pictures, links, bold, code."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import escape
from importlib.resources import files

from ..words.standard import FILED, GROUPS

_STYLE = """\
body{font:17px/1.5 Georgia,serif;color:#23211f;max-width:44rem;margin:0 auto;padding:1rem}
h1{border-top:2px solid #b9b2a4;padding-top:1.2rem;margin-top:3rem}
pre{background:#f5f2ec;padding:.8rem;overflow-x:auto;font-size:.82em}
code{background:#f5f2ec}svg{max-width:100%;height:auto}
table{border-collapse:collapse;display:block;overflow-x:auto;font-size:.9em}
td,th{border-bottom:1px solid #ddd8cd;padding:.3rem .6rem;text-align:left;vertical-align:top}
nav{column-width:9rem}nav a{display:block}a{color:#1f5fa8}
"""
_FIRST = ("first-pendant", "placing", "piece")
_INLINE = (
    (re.compile(r"`([^`]+)`"), r"<code>\1</code>"),
    (re.compile(r"\*\*([^*]+)\*\*"), r"<b>\1</b>"),
    (re.compile(r"(?<![\w*])\*([^*]+)\*(?![\w*])"), r"<i>\1</i>"),
)
_LINK = re.compile(r"(!?)\[([^\]]*)\]\(([^)\s]+)\)")


def book() -> str:
    """The whole page."""
    names = list(dict.fromkeys((*_FIRST, *FILED)))
    there = [name for name in names if _file(f"{name}.md") is not None]
    listed = "".join(f'<a href="#{name}">{name}</a>' for name in there)
    groups = "".join(
        f"<li>{escape(title)}: {_of_group(group, there)}</li>" for group, title in GROUPS.items()
    )
    parts = [
        '<!doctype html><html lang="en"><head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width,initial-scale=1">',
        f"<title>The words of posy</title><style>{_STYLE}</style></head><body>",
        '<h1>The words of posy</h1><p>New here: <a href="#first-pendant">your first pendant</a>, line by '
        f"line, each with its picture.</p><ul>{groups}</ul><nav>{listed}</nav>",
    ]
    for name in there:
        parts.append(f'<section id="{name}">{html_of(_file(f"{name}.md") or "")}</section>')
    return "\n".join([*parts, "</body></html>"])


def _of_group(group: str, there: list[str]) -> str:
    words = [name for name, filed in FILED.items() if filed == group and name in there]
    return ", ".join(f'<a href="#{name}">{name}</a>' for name in words)


def _file(name: str) -> str | None:
    """An installed file of the reference; None where there is none."""
    found = files("posy.stdlib").joinpath(f"reference/{name}")
    return found.read_text("utf-8") if found.is_file() else None


def html_of(text: str) -> str:
    """One page."""
    return "\n".join(_blocks(re.sub(r"<!--.*?-->", "", text, flags=re.DOTALL)))


def _blocks(text: str) -> Iterator[str]:
    """Its blocks; a fence may hold blank lines."""
    for fenced, plain in re.findall(r"```\w*\n(.*?)```|((?:(?!```).)+)", text, re.DOTALL):
        if fenced:
            yield f"<pre>{escape(fenced.rstrip())}</pre>"
        for block in filter(None, (one.strip("\n") for one in plain.split("\n\n"))):
            yield _block(block)


def _block(block: str) -> str:
    lines = block.split("\n")
    head = re.match(r"(#+) (.*)", block)
    if head:
        level = min(len(head[1]), 4)
        return f"<h{level}>{_inline(head[2])}</h{level}>"
    if block.startswith("|"):
        return _table(lines)
    marker = re.match(r"(?:\d+\.|[-*]) ", block)
    if marker:
        kind = "ol" if block[0].isdigit() else "ul"
        items = re.split(r"\n(?=(?:\d+\.|[-*]) )", block)
        said = "".join(f"<li>{_inline(one.split(' ', 1)[1])}</li>" for one in items)
        return f"<{kind}>{said}</{kind}>"
    return f"<p>{_inline(block)}</p>"


def _table(lines: list[str]) -> str:
    rows = [[cell.strip() for cell in re.split(r"(?<!\\)\|", line.strip().strip("|"))] for line in lines]
    said = ""
    for number, row in enumerate(rows):
        if number == 1:
            continue  # the rule under the head
        tag = "td" if number else "th"
        cells = "".join(f"<{tag}>{_inline(cell)}</{tag}>" for cell in row)
        said += f"<tr>{cells}</tr>"
    return f"<table>{said}</table>"


def _inline(text: str) -> str:
    """A line of writing with its links and pictures."""
    said, at = "", 0
    for found in _LINK.finditer(text):
        said += _plain(text[at : found.start()]) + _linked(*found.groups())
        at = found.end()
    return said + _plain(text[at:])


def _plain(text: str) -> str:
    text = escape(text, quote=False).replace("\\|", "|")
    for pattern, shown in _INLINE:
        text = pattern.sub(shown, text)
    return text


def _linked(picture: str, text: str, target: str) -> str:
    """A drawing put in; a link to another page of the book; other links only their words."""
    if picture:
        return _file(target) or escape(text)
    if target == "README.md":
        return f'<a href="#">{_plain(text)}</a>'
    if re.fullmatch(r"[\w-]+\.md", target):
        return f'<a href="#{target[:-3]}">{_plain(text)}</a>'
    return _plain(text)
