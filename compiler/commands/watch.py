"""`posy watch`: make the piece again at every save and show what it weighs; with --page, turning."""

from __future__ import annotations

import os
import signal
from contextlib import closing
from multiprocessing.connection import wait
from pathlib import Path
from typing import Any, NoReturn

from ..house.house import places_for
from ..terminal import options as shared
from ..terminal.child import Builder
from ..terminal.forms import Arguments, Misuse
from ..terminal.readout import Readout
from ..terminal.reports import Crash, Job, Report, Shows
from ..terminal.saves import Burst, Ear, ReadSet
from ..terminal.worker import come_home

# A build is given up when it has taken this long, s, and a newer save waits for its turn.
STUCK = 5.0
AWAKE = 1.0  # s, the longest wait: on some systems Ctrl-C is only heard between two
MOST = 4  # pieces of a folder that are kept ready at once, each by a process of its own


def run(arguments: Arguments) -> int:
    """Watch until interrupted."""
    shared.settings_of(arguments.set)
    signal.signal(signal.SIGTERM, _leave)
    try:
        with closing(Watcher(arguments)) as watcher:
            watcher.run()
    except KeyboardInterrupt:
        return shared.INTERRUPTED


def _leave(number: int, frame: object) -> NoReturn:
    """A polite end by the system is an interruption too; asked for again, it changes nothing."""
    signal.signal(number, signal.SIG_IGN)
    raise KeyboardInterrupt


class Watched:
    """One piece: its files, its process, and at most one build running and one waiting.

    ``tried`` are figures in place of those in the text, ``finished`` whether it is wanted with its stones
    set, too, as a page asks for them."""

    def __init__(self, arguments: Arguments, shows: Shows | None = None) -> None:
        self.arguments = arguments
        self.files = ReadSet(self._always_read())
        self.tried: dict[str, str] = {}
        self.finished = False
        self.waiting = True  # a newer save than the running build has read
        self._builder = Builder()
        self._shows = shows
        self._number = 0
        self._tries: dict[str, str] = {}  # those of the running build

    @property
    def waitables(self) -> list[Any]:
        """What to wait on for an answer."""
        return self._builder.waitables

    def saved(self) -> None:
        """A save: what is in the text counts, not what was tried."""
        self.tried = {}
        self.waiting = True

    def answer(self, home: str) -> tuple[Report | Crash, dict[str, str]] | None:
        """What the child has made, with the figures it tried, unless a newer save has overtaken it."""
        answer = self._builder.take()
        if answer is None or isinstance(answer, Crash):
            return None if answer is None else (answer, self._tries)
        read = answer.files_read
        if come_home(home) and self.files.now_reads([*self._always_read(), *read]):
            self.waiting = True
        return None if self.waiting and not self.tried else (answer, self._tries)

    def _always_read(self) -> list[str]:
        """The piece, and where a bench.toml counts for it or would if it came."""
        return [self.arguments.piece, *map(str, places_for(self.arguments.piece))]

    def go_on(self, home: str) -> None:
        """Start the waiting build as soon as the metal is told; end a stuck one first."""
        if not self.waiting:
            return
        if not self._builder.free:
            if (self._builder.busy_for or 0.0) < STUCK:
                return
            self._builder.give_up()
        self.waiting = False
        self._number += 1
        self.files.start()
        self._tries = dict(self.tried)
        options = Arguments(**vars(self.arguments))
        options.set = [*(p for p in options.set if p[0] not in self.tried), *self.tried.items()]
        self._builder.ask(Job(self._number, options, home, self._shows, self.finished, bool(self.tried)))

    def close(self) -> None:
        """End the child."""
        self._builder.close()


class Watcher:
    """The loop: wait for saves, reports and what a page asks for."""

    def __init__(self, arguments: Arguments) -> None:
        self._arguments = arguments
        self._home = os.getcwd()  # noqa: PTH109
        self._page = Page(arguments) if arguments.page else None
        first = self._page.first if self._page else ""
        self._readout = Readout(arguments, self._page.address if self._page else "")
        self._pieces = {first: self._watched(arguments)}
        self._first = first
        self._ear = Ear()
        self._burst = Burst()

    def run(self) -> NoReturn:
        """Until KeyboardInterrupt."""
        self._readout.begin()
        self._listen()
        self._go_on()
        while True:
            asked = [self._page.tray.waitable] if self._page else []
            reports = [one for piece in self._pieces.values() for one in piece.waitables]
            left = self._burst.left()
            wait([self._ear.waitable, *asked, *reports], AWAKE if left is None else min(AWAKE, left))
            self._hear()
            self._ask()
            self._answer()
            self._go_on()

    def close(self) -> None:
        """End the children, the server and the watching thread."""
        self._ear.close()
        if self._page:
            self._page.close()
        for piece in self._pieces.values():
            piece.close()

    def _watched(self, arguments: Arguments) -> Watched:
        return Watched(arguments, self._page.viewer if self._page else None)

    def _listen(self) -> None:
        self._ear.listen({path for piece in self._pieces.values() for path in piece.files.paths})

    def _hear(self) -> None:
        """Take note of events; what counts is what is in the files when they are over."""
        if self._ear.waitable.poll():
            whole = self._ear.hush()
            self._listen()  # a folder may have gone and come back
            self._burst.note(whole)
        if self._burst.over():
            for piece in self._pieces.values():
                if piece.files.changed():
                    piece.saved()

    def _ask(self) -> None:
        """What the page's screens want: another piece of the folder, or figures tried."""
        for request in self._page.tray.requests() if self._page else []:
            piece = self._pieces.get(request.piece) or self._opened(request.piece)
            tried = piece.tried if request.tried is None else dict(request.tried)
            finished = piece.finished or request.finished  # once asked for it is made at every save
            if (tried, finished) != (piece.tried, piece.finished):
                piece.tried, piece.finished, piece.waiting = tried, finished, True

    def _opened(self, name: str) -> Watched:
        """Another piece of the folder; the one asked for longest ago makes room."""
        assert self._page is not None
        others = [one for one in self._pieces if one != self._first]
        if len(others) >= MOST - 1:
            self._pieces.pop(others[0]).close()
            self._page.tray.drop(others[0])
        options = Arguments(**{**vars(self._arguments), "piece": self._page.opened(name), "set": []})
        piece = self._pieces[name] = self._watched(options)
        self._listen()
        return piece

    def _answer(self) -> None:
        """Show what the children have made. The terminal tells of the first piece as its text has it."""
        for name, piece in self._pieces.items():
            found = piece.answer(self._home)
            if found is None:
                continue
            self._listen()
            answer, tried = found
            if self._page:
                self._page.tray.take(name, answer, tried)
            if name != self._first or tried:
                continue
            if isinstance(answer, Crash):
                self._readout.crash(answer)
            else:
                self._readout.report(answer)

    def _go_on(self) -> None:
        for piece in self._pieces.values():
            piece.go_on(self._home)


class Page:
    """The live page: its server, the pieces it may show, and what makes them ready for it."""

    def __init__(self, arguments: Arguments) -> None:
        from ..page.serving import PageServer
        from ..page.tray import Tray
        from ..page.viewer import Viewer

        path = Path(arguments.piece)
        if path.is_dir():
            found = Tray(path, "").pieces()[1:]
            if not found:
                raise Misuse(f"there is no piece in {path}")
            path = path / f"{found[0]}.posy"
            arguments.piece = str(path)
        self.first = path.stem
        self.viewer = Viewer()
        self.tray = Tray(path.parent, self.first)
        self.opened(self.first)
        self._server = PageServer(self.tray)
        self.address = self._server.address

    def opened(self, name: str) -> str:
        """The path of a piece that is on show from now on."""
        path = str(self.tray.folder / f"{name}.posy")
        self.tray.show(name, path)
        return path

    def close(self) -> None:
        """End the server."""
        self._server.close()
