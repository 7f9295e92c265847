"""Files that an earlier making of a piece left beside those of today.

The summary of a making lists its files with their checksums. A later making that no longer makes one of them
takes it away, if it is still as it was written: else a caster may be sent the metal of last week. Files that
the summary does not list are none of ours, and files that were changed since are left, and told."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Iterable, Mapping
from pathlib import Path
from typing import Any

from ...lang.faults import Fault, Level

MOST = 20_000_000  # bytes, more is no summary
# What of a summary tells that two makings made the same.
_SAME = (
    "posy", "title", "metal", "tolerance_mm", "shrink", "text_sha256", "box_mm", "metal_weight", "stones",
    "measures",
)  # fmt: skip


def summary_at(path: Path) -> Mapping[str, Any] | None:
    """The summary a making left at ``path``; None where there is none of ours."""
    try:
        if path.stat().st_size > MOST:
            return None
        record = json.loads(path.read_bytes())
    except (OSError, ValueError):
        return None
    ours = isinstance(record, dict) and isinstance(record.get("posy"), int) and "text_sha256" in record
    return record if ours else None


def alike(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Whether two summaries tell of the same making, whatever files it was asked for."""
    return all(one.get(key) == other.get(key) for key in _SAME)


def differs(one: Mapping[str, Any], other: Mapping[str, Any]) -> str:
    """In what two makings differ that are not alike: their text, or how they were asked for."""
    if one.get("text_sha256") != other.get("text_sha256"):
        return "of an earlier text"
    finer = one.get("tolerance_mm") != other.get("tolerance_mm")
    return "at another tolerance" if finer else "otherwise than now"


def left_behind(
    folder: Path, earlier: Mapping[str, Any], made: Iterable[str]
) -> tuple[list[Mapping[str, Any]], list[Path]]:
    """Files of an earlier summary not ``made`` now: rows of those as written, paths of those changed."""
    whole, changed, names = [], [], set(made)
    rows = earlier.get("files")
    for row in rows if isinstance(rows, list) else []:
        name = row.get("file") if isinstance(row, dict) else None
        if not isinstance(name, str) or name in names or Path(name).name != name:
            continue
        path = folder / name
        if path.is_symlink() or not path.is_file():
            continue
        if _checksum(path) == row.get("sha256"):
            whole.append(row)
        else:
            changed.append(path)
    return whole, changed


def taken_away(folder: Path, rows: Iterable[Mapping[str, Any]], what: str = "earlier") -> list[Fault]:
    """Remove files of an earlier making ``what``; a note for each, or a warning where that fails."""
    faults = []
    for row in rows:
        path = folder / row["file"]
        try:
            path.unlink()
        except OSError as error:
            faults.append(
                Fault(
                    "earlier-file", f"{path} was made earlier and could not be removed: {error.strerror}",
                    level=Level.WARNING, remedy="remove it yourself, lest it be taken for this one",
                )
            )
        else:
            faults.append(Fault("earlier-file", f"{path} was made {what} and is removed", level=Level.HINT))
    return faults


def left_by_series(table: Path, makings: Collection[str], made: Iterable[str]) -> list[Fault]:
    """Files, not ``made`` now, of makings that an earlier table of a series lists and that are none of the
    ``makings`` of today: those whose own summary tells their checksum are taken away, the others told."""
    try:
        rows = json.loads(table.read_bytes())["makings"]
        rows = [row for row in rows if row["making"] not in makings]
        listed = [name for row in rows for name in row["files"].split(" ") if name]
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return []
    now, faults = set(made), []
    gone = [name for name in listed if name not in now and Path(name).name == name]
    for name in gone:
        summary = summary_at(table.parent / name) if name.endswith(".json") else None
        if summary is not None:
            whole, _ = left_behind(table.parent, summary, now)
            faults += taken_away(table.parent, [*whole, {"file": name}])
    left = [path for name in gone if (path := table.parent / name).is_file()]
    return [*faults, *told_changed(left, "its piece left the series")]


def told_changed(paths: Iterable[Path], why: str = "it was changed since it was made") -> list[Fault]:
    """A warning for each file of an earlier making that is left, as somebody (may have) changed it."""
    return [
        Fault(
            "earlier-file", f"{path} is not made any more; {why}, so it is left", level=Level.WARNING,
            remedy="remove it, or give it another name, so that nobody takes it for this one",
        )
        for path in paths
    ]


def _checksum(path: Path) -> str:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""
