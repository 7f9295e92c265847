"""The pieces on show and what is known of each; what the screens ask for.

One thread (that of `posy watch`) lays reports in; those of the server wait for them and hand requests on."""

from __future__ import annotations

import json
import threading
import time
from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass
from multiprocessing import Pipe
from pathlib import Path
from typing import Any

from ..judging.remark import LAYOUT
from ..terminal.reports import Crash, Report
from .told import remarks_data, weights_data
from .writing import text_mark

MOST_WAITING = 64  # requests
_LONGEST = 4096  # characters looked at to tell a piece from a file of words


@dataclass(frozen=True)
class Request:
    """What a screen asks for: ``piece`` to be shown, with ``tried`` in place of its own figures
    (None: as it is), and whether ``finished``, with its stones set, too."""

    piece: str
    tried: Mapping[str, str] | None = None
    finished: bool = False


class Shown:
    """One piece: what is told of it (plain data), and the packets of its last metal: as cast, and with its
    stones set where that was asked for."""

    def __init__(self, name: str, path: str) -> None:
        self.name, self.path = name, path
        self.mark = ""
        self.turn = 0  # rises with everything told
        self.solid, self.packet, self.finished = 0, b"", b""
        self.told: dict[str, Any] = {"piece": name, "stage": "making"}
        self._start: dict[str, Any] | None = None  # weights of the first build
        self._saved: dict[str, Any] | None = None  # of the last save, and of the one before
        self._before: dict[str, Any] | None = None
        self._poses: Mapping[str, Any] = {}
        self._texts: Mapping[str, str] = {}

    def take(self, report: Report, tried: Mapping[str, str]) -> None:
        """Take in what a build told."""
        if report.packet:
            self.packet, self.finished = report.packet, report.finished
            self.solid += 1
        self._poses = report.poses or self._poses
        weights = weights_data(report.weights) if report.weights is not None else None
        if report.path in report.texts:
            self.mark = text_mark(report.texts[report.path])
        if weights is not None and not tried and report.texts != self._texts:
            self._texts = report.texts
            self._start = self._start or weights
            self._before, self._saved = self._saved, weights
        stage = "fault"
        if report.weights is not None:
            stage = "checked" if report.checked else "metal"
        reference = self._saved if tried else self._before
        self.told = {
            "posy": LAYOUT, "piece": self.name, "stage": stage, "made": report.made, "solid": self.solid,
            "title": report.title, "at": time.strftime("%H:%M:%S"), "file": Path(self.path).name,
            "seconds": round(report.seconds, 3), "tried": dict(tried), "mark": self.mark,
            "finished": bool(self.finished),
            "metal_stands": stage != "fault", "poses": dict(self._poses), "checked": report.checked,
            "rough": report.rough,
            "weights": weights or self._saved, "before": _grams(reference), "start": _grams(self._start),
            **remarks_data(report.faults, report.texts, report.path),
        }  # fmt: skip
        self.turn += 1

    def failed(self, crash: Crash) -> None:
        """A build failed through no fault of the text."""
        self.told = {**self.told, "stage": "failed", "note": crash.note, "metal_stands": False}
        self.turn += 1


def _grams(weights: Mapping[str, Any] | None) -> dict[str, float]:
    """Grams by metal."""
    return {} if weights is None else {row["name"]: row["grams"] for row in weights["metals"]}


class Tray:
    """All pieces of a folder by name; those that were asked for are shown."""

    def __init__(self, folder: Path, first: str) -> None:
        self.folder, self.first = folder, first
        self.waitable, self._send = Pipe(duplex=False)
        self._changed = threading.Condition()
        self._shown: dict[str, Shown] = {}
        self._requests: deque[Request] = deque(maxlen=MOST_WAITING)
        self.open = True  # whether it goes on

    # --- the watching side

    def show(self, name: str, path: str) -> Shown:
        """A piece is on show from now on."""
        with self._changed:
            return self._shown.setdefault(name, Shown(name, path))

    def drop(self, name: str) -> None:
        """A piece is no longer made."""
        with self._changed:
            self._shown.pop(name, None)

    def take(self, name: str, report: Report | Crash, tried: Mapping[str, str]) -> None:
        """What a build told of a piece."""
        with self._changed:
            shown = self._shown[name]
            if isinstance(report, Crash):
                shown.failed(report)
            else:
                shown.take(report, tried)
            self._changed.notify_all()

    def requests(self) -> list[Request]:
        """What was asked for since the last time; of several for one piece, the last."""
        while self.waitable.poll():
            self.waitable.recv_bytes()
        found: dict[str, Request] = {}
        while self._requests:
            one = self._requests.popleft()
            found[one.piece] = one
        return list(found.values())

    def close(self) -> None:
        """Let every waiting screen go."""
        with self._changed:
            self.open = False
            self._changed.notify_all()

    # --- the screens' side

    def pieces(self) -> list[str]:
        """The names of the pieces in the folder, the first one first."""
        found = [path.stem for path in sorted(self.folder.glob("*.posy")) if _is_piece(path)]
        return [self.first, *(name for name in found if name != self.first)]

    def ask(self, request: Request) -> bool:
        """Hand a request on; False when there is no such piece."""
        if request.piece not in self.pieces():
            return False
        self._requests.append(request)
        self._send.send_bytes(b"!")
        return True

    def shown(self, name: str) -> Shown | None:
        """What is on show under a name."""
        with self._changed:
            return self._shown.get(name)

    def news(self, name: str, after: int, patience: float) -> tuple[int, str] | None:
        """What is told of a piece since turn ``after``, as JSON; None for nothing within ``patience`` s."""
        with self._changed:
            self._changed.wait_for(
                lambda: not self.open or (name in self._shown and self._shown[name].turn > after), patience
            )
            shown = self._shown.get(name)
            if not self.open or shown is None or shown.turn <= after:
                return None
            return shown.turn, json.dumps(shown.told, ensure_ascii=False)


def _is_piece(path: Path) -> bool:
    """Whether a text is a piece, not words for others to take."""
    try:
        with path.open(encoding="utf-8", errors="replace") as stream:
            head = stream.read(_LONGEST)
    except OSError:
        return False
    return any(line.startswith("piece ") for line in head.removeprefix("\ufeff").splitlines())
