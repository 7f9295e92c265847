"""Why a file cannot be read, each reason in a sentence of its own, and which file was meant."""

from __future__ import annotations

from collections.abc import Sequence
from errno import ELOOP

from .faults import Fault, Span
from .suggest import nearest

ENDING = ".posy"


def unreadable(path: str, error: Exception, beside: Sequence[str], span: Span | None = None) -> Fault:
    """The fault for a file that could not be read; ``beside`` are the names of the .posy files in
    its folder."""
    folder, _, name = path.rpartition("/")
    shown = f"{folder}/" if folder else ""
    message, remedy = _reason(path, error)
    if isinstance(error, FileNotFoundError):
        whole = name if name.endswith(ENDING) else f"{name}{ENDING}"
        stem = f"{name.rpartition('.')[0] or name}{ENDING}"
        exact = next((one for one in (whole, stem) if one in beside), None)
        meant = exact or nearest(whole, beside) or nearest(stem, beside)
        if meant is not None:
            remedy = f"did you mean {shown}{meant}?"
        elif beside:
            are = "is" if len(beside) == 1 else "are"
            remedy = f"there {are} {', '.join(shown + one for one in beside[:8])}"
    elif isinstance(error, IsADirectoryError) and beside:
        remedy = f"name a piece in it, as in {path.rstrip('/')}/{beside[0]}"
    return Fault("file-not-read", message, span or Span(path, 1, 1, 1, 1), remedy=remedy)


def _reason(path: str, error: Exception) -> tuple[str, str]:
    """What is wrong, and what to do."""
    match error:
        case FileNotFoundError():
            return f"there is no file {path} here", "check its name and folder"
        case IsADirectoryError():
            return f"{path} is a folder", "name a piece in it"
        case PermissionError() if error.errno is None:
            return (
                f"{path} leads out of the folder of the piece",
                "copy the file into that folder and take it from there",
            )
        case PermissionError():
            return f"you may not read {path}", "ask whoever owns it to let you read it"
        case NotText():
            return f"{path} holds no text", f"name the text of the piece: its name ends in {ENDING}"
        case OSError() if error.errno == ELOOP:
            return f"{path} is a link that leads back to itself", "name the file itself"
        case RuntimeError():
            return f"{path} is a link that leads back to itself", "name the file itself"
        case OSError() if error.strerror:
            return f"{path} cannot be read: {error.strerror}", "check its name and folder"
    return f"{path} cannot be read", "check its name and folder"


class NotText(OSError):
    """A file is no text."""
