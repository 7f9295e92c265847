"""A small writer of HTML for sheets: whatever is put in is escaped, the same bytes every time.

    sheet("Casting", "Reed bar", stamp, [heading("Metal"), table(("Part", "Weight, g"), rows)])

A ``Markup`` is HTML already; any other text is taken as text."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape

from .stamp import Stamp
from .style import style


class Markup(str):
    """Text that is HTML."""


_HYPHENED = re.compile(r"(?<![\w.-])(?=[\w.-]{3,20}(?![\w.-]))\w+(?:-\w+)+")
_FIGURE = re.compile(r"-?[\d.,]+(?: (?:to|x) -?[\d.,]+)*(?: (?:[a-zA-Z%]{1,3}|mm2|mm3))?")


def text(part: object) -> Markup:
    """Anything as HTML; letters that do not print are left out, but for blanks that hold words together."""
    if isinstance(part, Markup):
        return part
    return Markup(escape("".join(c for c in str(part) if c.isprintable() or c in "\n\u00a0")))


def joined(parts: Iterable[object], between: str = "") -> Markup:
    """Parts one after the other."""
    return Markup(between.join(text(part) for part in parts))


def tag(name: str, *inside: object, **attributes: object) -> Markup:
    """An element; in names of attributes ``_`` is a hyphen, ``class_`` class; one of None is left out."""
    said = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{escape(str(value))}"'
        for key, value in attributes.items() if value is not None
    )  # fmt: skip
    return Markup(f"<{name}{said}>{joined(inside)}</{name}>")


def heading(said: object, *more: object) -> Markup:
    """The heading of a section; it stays with what follows."""
    return tag("h2", said, *((tag("small", " ", *more),) if more else ()))


def paragraph(*said: object, class_: str | None = None) -> Markup:
    """A paragraph."""
    return tag("p", *said, class_=class_)


def bullets(rows: Iterable[object]) -> Markup:
    """A list; nothing for none."""
    items = [tag("li", row) for row in rows]
    return tag("ul", *items) if items else Markup("")


def facts(rows: Iterable[tuple[object, object]]) -> Markup:
    """Pairs of a name and what it is, in two columns."""
    return tag("dl", *(tag("div", tag("dt", name), tag("dd", said)) for name, said in rows))


def table(
    heads: Sequence[object], rows: Iterable[Sequence[object]], *, foot: Sequence[Sequence[object]] = (),
    class_: str | None = None,
) -> Markup:  # fmt: skip
    """A table whose head is written again on every page and whose rows are never split. Cells that
    are figures, and the heads over columns of them, stand to the right."""
    body = [list(row) for row in rows]
    right = [
        k > 0 and bool(body) and all(_is_figure(row[k]) for row in body if k < len(row))
        for k in range(len(heads))
    ]

    def line(cells: Sequence[object], name: str) -> Markup:
        return tag("tr", *(
            tag(name, _unbroken(cell), class_="n" if k < len(right) and right[k] else None)
            for k, cell in enumerate(cells)
        ))  # fmt: skip

    parts = [tag("thead", line(heads, "th")), tag("tbody", *(line(row, "td") for row in body))]
    if foot:
        parts.append(tag("tfoot", *(line(row, "td") for row in foot)))
    return tag("table", *parts, class_=class_)


def _unbroken(cell: object) -> Markup:
    """A cell whose dates and names with hyphens are not split at those, unless they are long."""
    if isinstance(cell, Markup):
        return cell
    return Markup(_HYPHENED.sub(lambda word: tag("span", Markup(word[0]), class_="whole"), text(cell)))


def _is_figure(cell: object) -> bool:
    """Whether a cell is a figure, or a span of two, with a unit or without; or is empty."""
    return str(cell) in ("", "-") or _FIGURE.fullmatch(str(cell)) is not None


def drawing(svg: bytes | str, said: str = "") -> Markup:
    """A drawing of ours at its true size, with a line under it. It is never split over pages."""
    plain = svg.decode() if isinstance(svg, bytes) else svg
    under = [tag("figcaption", said)] if said else []
    return tag("figure", Markup(plain.strip()), *under)


def block(*inside: object, class_: str = "together") -> Markup:
    """Parts that stay on one page."""
    return tag("section", *inside, class_=class_)


def cautions(rows: Iterable[tuple[str, str]]) -> Markup:
    """Cautions, a title and a text each, in a frame."""
    items = [tag("p", tag("b", f"{title}."), " ", said) for title, said in rows]
    return tag("section", tag("h2", "Take care"), *items, class_="care") if items else Markup("")


@dataclass(frozen=True)
class Sheet:
    """One sheet: for whom it is (``kind``, as in "For the caster"), of which piece, its parts."""

    kind: str
    title: str
    stamp: Stamp
    parts: Sequence[object]

    def html(self) -> bytes:
        """The file: no script, nothing fetched, its style inside."""
        label = f"{self.title}: {self.kind[:1].lower()}{self.kind[1:]}"
        foot = ", ".join(part for part in (self.title, self.kind, *self.stamp.short) if part)
        top = tag(
            "header", tag("p", self.kind, class_="kind"), tag("h1", self.title),
            tag("p", joined(self.stamp.lines, " · "), class_="stamp"),
        )
        head = [
            '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            # Nothing but what stands in the file is ever loaded.
            '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; '
            "style-src 'unsafe-inline'; img-src data:\">",
            f"<title>{text(label)}</title>",
            f"<style>\n{style(foot)}</style>\n</head>\n<body>",
        ]
        body = [str(text(part)) for part in (top, *self.parts) if part]
        return "\n".join([*head, *body, "</body>\n</html>\n"]).encode()
