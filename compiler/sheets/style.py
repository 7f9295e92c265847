"""The one style of all sheets, style.css: for the screen, and for paper of A4 and of US letter.

The paper is the printer's own: what is written fits 190 mm, drawings are no larger than 182 x 235 mm, so
either paper takes a page as it falls. Nothing is told by colour alone."""

from __future__ import annotations

from importlib import resources


def style(foot: str) -> str:
    """The style, with ``foot`` at the foot of every page."""
    plain = frozenset("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 ,.:-+()")
    # Six figures are a whole letter to CSS, whatever comes after it.
    quoted = "".join(c if c in plain else f"\\{ord(c):06x}" for c in foot)
    kept = (resources.files(__package__) / "style.css").read_text("utf-8")
    return kept.replace("FOOT", f'"{quoted}"')
