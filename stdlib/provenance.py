"""Where a figure comes from, as users are told: full names, and plainly where there is no source."""

from __future__ import annotations

import re

RULE_OF_THUMB = "Rule of thumb of this tool, unsourced: check with your caster."

# What the tables say of figures that no source worth its name gives.
_UNSOURCED = re.compile(
    r"(?:the \w+ is )?(?:a )?common practice, no source|(?:the \w+ is )?(?:a )?house choice, no source"
    r"|\[from memory\]|\b[A-Z]{2,3}\d? \S+ \((?:low trust|[^)]*garbled)\)(?:, an older casting text)?"
)
_INITIALS = re.compile(r"\b[A-Z]{2,3}\d? (?=[\w-]+\.\w)")
_TABLE = re.compile(r"(?:stdlib/)?tables/(\w+)\.tsv")


def told(source: str, brief: bool = False) -> str:
    """A source of a table as a sentence: "ISO 8653: …", or that there is none (``brief``: in three words)."""
    thumb = "rule of thumb" if brief else RULE_OF_THUMB
    sourced, count = _UNSOURCED.subn("", source)
    sourced = _TABLE.sub(r"the table of \1", _INITIALS.sub("", sourced))
    sourced = re.sub(r"\(\s*\)|\b(?:and|from)\s*$", "", sourced)
    parts = [part.strip(" ,:") for part in sourced.split(";")]
    said = "; ".join(part for part in parts if part)
    if not count:
        return said if brief else f"{said}."
    return f"{said}{', ' if brief else '. '}{thumb}" if said else thumb
