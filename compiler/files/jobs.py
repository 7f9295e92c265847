"""A series: one list of jobs, each a geometry in all its metals, done here or on other machines.

A job and what comes of it are plain data: texts in, bytes of files out. So the same list runs
in this process, in a pool of processes, or on a Dask cluster; only the parent writes to the
disk, and the files are the same wherever they were made."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from ...lang.faults import Fault, is_fatal

if TYPE_CHECKING:
    from ...lang.outcome import SeriesPlan
    from ..making.result import Built
    from ..making.session import Session
    from .formats import Wanted

PROCESSES = 2  # at most: the kernel uses several cores by itself where that pays


@dataclass(frozen=True)
class Making:
    """One making: settings and metal of its own, and a label for its file names."""

    label: str = ""
    settings: Mapping[str, Any] = field(default_factory=dict)
    metal: str | None = None


@dataclass(frozen=True)
class Order:
    """What all makings share: the piece, measures and metal set from outside, the chord tolerance
    (mm; None: as usual), the files wanted. ``strict``: nothing is handed over with warnings."""

    path: str
    settings: Mapping[str, Any]
    metal: str | None
    tolerance: float | None
    wanted: Wanted
    strict: bool = False


@dataclass(frozen=True)
class Job:
    """Makings of one geometry, which differ in metal alone. ``texts`` are the files the piece is
    read from, for a machine that does not have them; None where they are on the disk."""

    order: Order
    makings: tuple[Making, ...]
    version: str
    texts: Mapping[str, bytes] | None = None


@dataclass(frozen=True)
class Made:
    """What came of a making: figures (mm3, g, ct), ``files`` by name, verdicts; ``texts`` for
    showing those. ``grams`` is None when no metal was made."""

    making: Making
    title: str
    metal: str
    measures: Mapping[str, tuple[float | str, str]]
    volume: float
    grams: float | None
    grams_error: float
    stones: int
    carats: float
    files: Mapping[str, bytes]
    faults: tuple[Fault, ...]
    texts: Mapping[str, str]


class OtherVersion(Exception):
    """A worker has another posy than the machine that asks it: its bytes would differ."""


def makings_of(series: Sequence[SeriesPlan]) -> list[Making]:
    """Every making of the series lines, each once."""
    found: dict[str, Making] = {}
    for plan in series:
        for values, alloy in plan.settings():
            label = label_of(values, alloy)
            found.setdefault(label, Making(label, values, alloy))
    return list(found.values())


def label_of(values: Mapping[str, Any], metal: str | None) -> str:
    """What tells a making from the others: "across-2.5mm-gold-750-yellow"."""
    parts = [f"{name}-{shown(value)}" for name, value in values.items()]
    text = "-".join([*parts, *([metal] if metal else [])])
    return "".join(one if one.isalnum() or one in ".-_" else "-" for one in text)


def shown(value: Any) -> str:
    """A value of the language in a file name."""
    from ...lang.shown import quantity
    from ...lang.values import Quantity

    if isinstance(value, Quantity):
        return quantity(value, 6).replace(" ", "").replace("%", "pc")
    return str(getattr(value, "text", getattr(value, "name", value)))


def jobs_of(order: Order, makings: Sequence[Making], *, packed: bool) -> list[Job]:
    """The job list: makings of the same measures together. ``packed`` puts the texts in."""
    groups: dict[str, list[Making]] = {}
    for making in makings:
        groups.setdefault(label_of(making.settings, None), []).append(making)
    return [
        Job(order, tuple(group), version(), _texts(order, group[0]) if packed else None)
        for group in groups.values()
    ]


def version() -> str:
    """This posy."""
    from importlib.metadata import version as installed

    return installed("posy-lang")


def _texts(order: Order, making: Making) -> dict[str, bytes]:
    from pathlib import Path

    from ..making.pipeline import check

    built = check(order.path, settings={**order.settings, **making.settings})
    return {path: Path(path).read_bytes() for path in built.files_read if Path(path).is_file()}


def do(job: Job) -> list[Made]:
    """Do one job: make the metal once, and hand it over in every alloy."""
    from ..making.session import Session

    if job.version != version():
        raise OtherVersion(f"a worker has posy {version()}, this is posy {job.version}")
    session = Session()
    return [_made(job, making, session) for making in job.makings]


def _made(job: Job, making: Making, session: Session) -> Made:
    from ...lang.loader import Texts
    from ..making.pipeline import build
    from ..making.weights import weigh

    order = job.order
    built = build(
        order.path, settings={**order.settings, **making.settings}, metal=making.metal or order.metal,
        tolerance=order.tolerance, session=session, files=None if job.texts is None else Texts(job.texts),
    )
    weights, faults = weigh(built) if built.made else (None, [])
    built = replace(built, faults=(*built.faults, *faults))
    files, trouble = _files(order, making, built)
    return Made(
        making, built.title, built.metal, built.measures, sum(part.volume for part in built.parts),
        None if weights is None else weights.grams, 0.0 if weights is None else weights.grams_error,
        len(built.stones), 0.0 if weights is None else weights.carats, files, (*built.faults, *trouble),
        built.texts,
    )  # fmt: skip


def _files(order: Order, making: Making, built: Built) -> tuple[dict[str, bytes], list[Fault]]:
    from pathlib import Path

    from ...lang.faults import Level
    from .outputs import files_of

    warned = any(fault.level is Level.WARNING for fault in built.faults)
    if not built.made or (order.strict and warned):
        return {}, []
    name = Path(order.path).stem + (f"-{making.label}" if making.label else "")
    files, faults = files_of(built, name, order.wanted)
    return ({} if is_fatal(faults) else files), faults


# -- who does them ---------------------------------------------------------------------------


class Here:
    """This process, or two of its kind when there is more than one job. ``work`` does a job."""

    def __init__(self, processes: int = PROCESSES, work: Callable[[Job], list[Made]] = do) -> None:
        self.processes, self.work = processes, work

    def results(self, jobs: Sequence[Job]) -> Iterator[tuple[int, list[Made]]]:
        """(number of a job, what came of it), as done. A process that dies takes its own job with it
        alone."""
        waiting = dict(enumerate(jobs))
        if min(self.processes, len(jobs)) < 2:
            for number, job in waiting.items():
                yield number, self.work(job)
            return
        while waiting:
            for number, made in self._pooled(waiting, self.processes):
                del waiting[number]
                yield number, made
            # A pool does not tell which process died: it did one of the jobs begun, and jobs
            # begin in order. Each of those is done by itself.
            for number in list(waiting)[: self.processes]:
                job = waiting.pop(number)
                alone = [made for _, made in self._pooled({number: job}, 1)]
                yield number, alone[0] if alone else lost(job)

    def _pooled(self, jobs: Mapping[int, Job], processes: int) -> Iterator[tuple[int, list[Made]]]:
        """The results of a pool until one of its processes dies."""
        import multiprocessing
        from concurrent.futures import ProcessPoolExecutor, as_completed
        from concurrent.futures.process import BrokenProcessPool

        # fork is unsafe beside the kernel's threads
        count = min(processes, len(jobs))
        pool = ProcessPoolExecutor(count, multiprocessing.get_context("spawn"))
        try:
            numbers = {pool.submit(self.work, job): number for number, job in jobs.items()}
            for future in as_completed(numbers):
                try:
                    made = future.result()
                except BrokenProcessPool:
                    continue  # what was done before it broke still comes
                yield numbers.pop(future), made
        except BrokenProcessPool:
            return  # died before all was handed in
        finally:
            pool.shutdown(wait=False, cancel_futures=True)


def lost(job: Job) -> list[Made]:
    """What comes of a job whose process died: nothing but a fault for each making."""
    found, order = [], job.order
    for making in job.makings:
        sets = "".join(f" --set {name}={shown(value)}" for name, value in making.settings.items())
        alone = f"posy make {order.path}{sets}" + (f" --metal {making.metal}" if making.metal else "")
        fault = Fault(
            "piece-lost", f"the process that made {making.label or order.path} died; memory may have run out",
            remedy=f"make it by itself, if need be with a coarser --tolerance: {alone}",
        )
        metal = making.metal or order.metal or "-"
        found.append(Made(making, "", metal, {}, 0.0, None, 0.0, 0, 0.0, {}, (fault,), {}))
    return found


class Cluster:
    """The workers of a Dask scheduler at ``address`` ("tcp://10.0.0.4:8786"); each has posy."""

    def __init__(self, address: str, patience: float = 15.0) -> None:
        self.address, self.patience = address, patience

    def results(self, jobs: Sequence[Job]) -> Iterator[tuple[int, list[Made]]]:
        """As of ``Here``. Raises ImportError without Dask, OSError when nobody answers at the address."""
        from distributed import Client, KilledWorker, as_completed

        with Client(self.address, timeout=self.patience, set_as_default=False) as client:
            futures = client.map(do, list(jobs), pure=False)
            numbers = {future.key: number for number, future in enumerate(futures)}
            try:
                for future in as_completed(futures, loop=client.loop):
                    number = numbers[future.key]
                    try:
                        made = future.result()
                    except KilledWorker:  # Dask tried it on several workers
                        made = lost(jobs[number])
                    yield number, made
            finally:
                client.cancel(futures)
