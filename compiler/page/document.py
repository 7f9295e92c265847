"""The page's own files as one document: served file by file, or all in one for a customer.

The scripts in ``web`` are modules, so that each says what it takes from which; a browser is given them as one
script, in the order below."""

from __future__ import annotations

import base64
import html
import re
from functools import cache
from importlib import resources
from string import Template

from ..picture.names import FINISHES

SCRIPTS = (
    "packet", "turning", "room", "metal", "stone", "shaders", "graphics", "shown", "drawing", "touch",
    "marks", "size", "stand", "state", "sight", "solid", "ticket", "figures", "hands", "saw", "bench",
)  # fmt: skip
"""In order: what one needs as it is read, and not only later, stands in those before it."""

PAGE_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self' data:; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
_ALONE_POLICY = (
    "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data: blob:"
)
_IMPORT = re.compile(r'^import [^;]*?from "\./\w+\.js";\n', re.MULTILINE)
_EXPORT = re.compile(r"^export ", re.MULTILINE)


def _text(name: str) -> str:
    return (resources.files(__package__) / "web" / name).read_text("utf-8")


@cache
def script() -> str:
    """All scripts as one."""
    bodies = (_EXPORT.sub("", _IMPORT.sub("", _text(f"{name}.js"))) for name in SCRIPTS)
    return '(() => {\n"use strict";\n' + "\n".join(bodies) + "\n})();\n"


def _page(**parts: str) -> bytes:
    """The page with its parts in it; the finishes are those of pictures, each with how rough it is."""
    rows = ((name, rough) for name, (rough, _) in FINISHES.items())
    finishes = "".join(f'<option value="{name}" data-rough="{rough}">{name}</option>' for name, rough in rows)
    return Template(_text("page.html")).substitute(finishes=finishes, **parts).encode("utf-8")


def live_files() -> dict[str, tuple[str, bytes]]:
    """What the server gives of files, by name: kind and content."""
    page = _page(
        title="posy", policy="", style='<link rel="stylesheet" href="page.css">', body_class="live",
        script='<script src="page.js" defer></script>', data="",
    )  # fmt: skip
    return {
        "": ("text/html; charset=utf-8", page),
        "page.css": ("text/css; charset=utf-8", _text("page.css").encode()),
        "page.js": ("text/javascript; charset=utf-8", script().encode()),
    }


def alone(title: str, packet: bytes, told: str) -> bytes:
    """The page with one piece in it, in one file that needs nothing else. ``told`` is JSON."""
    data = (
        f'<script type="application/json" id="told">{told.replace("<", chr(92) + "u003c")}</script>\n'
        f'<script type="text/plain" id="packet">{base64.b64encode(packet).decode()}</script>'
    )
    return _page(
        title=html.escape(title), style=f"<style>\n{_text('page.css')}</style>", body_class="sent",
        policy=f'<meta http-equiv="Content-Security-Policy" content="{_ALONE_POLICY}">',
        script=f"<script>\n{script()}</script>", data=data,
    )  # fmt: skip
