"""What `posy watch` asks of the process that builds, and what that answers: small enough to send."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Protocol

from ...lang.faults import Fault
from ...lang.outcome import Waiver
from ..making.result import Built
from ..making.weights import Weights
from .forms import Arguments

if TYPE_CHECKING:
    from ..casting.quick import Quick


class Shows(Protocol):
    """What a page is sent of a build, made where the metal is."""

    def packet(self, built: Built) -> bytes:
        """All that is seen, as soon as there is metal."""

    def poses(self, built: Built) -> dict[str, Any]:
        """What is known of it once the rules have measured it."""


@dataclass(frozen=True)
class Job:
    """One build asked for; ``options`` are those of the watch command, ``home`` the folder it was
    started in, ``shows`` what makes it ready for a page, if there is one; ``finished`` tells whether it is
    looked at with its stones set, too; a ``trial`` of other figures than the text's is likely to be
    followed by more, so it is first made rough, in few facets."""

    number: int
    options: Arguments
    home: str = ""
    shows: Shows | None = None
    finished: bool = False
    trial: bool = False


@dataclass(frozen=True)
class Report:
    """What came of a job, small enough to send: everything but the metal itself.

    A piece that can be made gives two: one as soon as there is metal, with ``checked`` False and no remarks
    of the rules that measure it, and one when they are done; a trial one more, before both, of the piece made
    ``rough``. ``seconds`` is the time until there was metal; ``result`` is the same for two reports when all
    that is made is the same; ``written`` holds file paths with bytes, ``freezing`` the modulus of each
    casting, once it is checked. For a page the first carries the ``packet``
    (and ``finished``, that of the piece with its stones set) and the second the ``poses``."""

    number: int
    path: str
    title: str
    metal: str
    made: bool
    weights: Weights | None
    faults: tuple[Fault, ...]
    texts: Mapping[str, str]
    files_read: tuple[str, ...]
    seconds: float
    steps_total: int = 0
    steps_rebuilt: int = 0
    written: Mapping[str, int] = field(default_factory=dict)
    waivers: tuple[Waiver, ...] = ()
    checked: bool = True
    result: str = ""
    freezing: tuple[Quick, ...] = ()
    packet: bytes = b""
    finished: bytes = b""
    poses: Mapping[str, Any] = field(default_factory=dict)
    rough: bool = False


@dataclass(frozen=True)
class Crash:
    """A job that failed through a fault of ours, or whose process ended; ``note`` says how."""

    number: int
    note: str
