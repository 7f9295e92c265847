"""Faults of our own: told in one line, the traceback put away for the report."""

from __future__ import annotations

_NOTES: dict[str, str] = {}  # traceback -> the file it was put away in


def bug_note(error: Exception) -> str:
    """One line about a fault of ours, its traceback put away in a file."""
    import tempfile  # seldom wanted, and slow to load
    import traceback

    text = "".join(traceback.format_exception(error))
    kind = type(error).__name__
    if text not in _NOTES:
        try:
            with tempfile.NamedTemporaryFile(
                "w", prefix="posy-fault-", suffix=".txt", delete=False, encoding="utf-8"
            ) as note:
                note.write(text)
        except OSError:
            return f"a fault in posy itself ({kind}); please report it with the piece"
        _NOTES[text] = note.name
    return (
        f"a fault in posy itself ({kind}), not in your text; "
        f"please report it with the piece and {_NOTES[text]}"
    )
