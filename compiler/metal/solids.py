"""From the plan to solids: the order of work carried out, each body by itself, joined at the end.

Nothing is given to the kernel before it is needed: a body is a list of copies and of solids still to be made,
each with the key of what it will be. Where the memo knows the key, the work is not done again: so an edit
costs what depends on it, and the longest unchanged beginning of each body's work is reused whatever else
changed."""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterator, Sequence, Set
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ..bench.opening import is_open, opened
from ..bench.plan import Step, alloy_of, casting_of, labelled, labels_of, simple_steps
from ..geometry import frames as fr
from ..geometry.bend import Bend
from .bent import bent_solid
from .copies import Copies, solids_of
from .crumbs import without_crumbs
from .items import Body, Item, Metal, Solid, composed, kinds_of, loose_of, merge, reaching
from .kernel import join, problem, read, remove
from .locality import around, met, placed_boxes
from .memo import Memo, key_of
from .owners import Owners
from .parts import Origin, in_order
from .through import Through

if TYPE_CHECKING:
    from manifold3d import Manifold

TRIANGLES_LIMIT = 8_000_000


class Workshop:
    """Carries out steps at one tolerance. ``metal`` is the piece's own alloy; ``progress`` is told
    each step's number. ``fresh`` collects the features whose work was not at hand."""

    def __init__(
        self, memo: Memo, tolerance: float, metal: str, progress: Callable[[int], None] | None = None
    ) -> None:
        self.memo, self.tolerance, self.metal, self._progress = memo, tolerance, metal, progress
        self.owners = Owners(())
        self.fresh: set[int] = set()
        self.idle: list[int] = []  # features whose tools met no metal
        self._path: list[int] = []  # the step being carried out: its number, the number in it ...
        self._missed: set[tuple[int, ...]] = set()  # cuts that reached nothing
        self._bends: list[Callable[[], object]] = []
        self._bent: dict[int, Origin] = {}

    def metals(self, steps: Sequence[Step]) -> dict[str, Manifold]:
        """The finished solid of each alloy, in order of first use; metals never overlap: what
        was there first keeps its place."""
        return {name: metal.solid() for name, metal in self.finished(steps).items()}

    def finished(self, steps: Sequence[Step]) -> dict[str, Metal]:
        """The finished metal of each alloy, in order of first use."""
        through = Through(self.memo, self.tolerance, self._whole)
        steps, self.idle = through.steps(steps), through.idle
        self.owners = Owners(steps)
        own = self.metal if any(map(alloy_of, labels_of(steps))) else ""
        key = key_of("finished", self.tolerance, own, self.owners.work(steps))
        names, metals, missed = self.memo.take(
            key, lambda: self._finished(steps), lambda made: sum(map(_size, made[1]))
        )
        self.idle = list(dict.fromkeys([*self.idle, *_idle(steps, missed)]))
        if not own:  # the alloy of the piece may have changed since; its shape has not
            names = [labelled(self.metal, casting_of(name)) for name in names]
        return dict(zip(names, metals, strict=True))

    def _whole(self, step: Step) -> tuple[np.ndarray, np.ndarray]:
        """Points and triangles of a part made by itself, in its own frame."""
        shop = Workshop(self.memo, self.tolerance, self.metal)
        out = read(join([*shop.metals([replace(step, work="add", frames=fr.identity())]).values()]))
        return out.points, out.triangles

    def _finished(self, steps: Sequence[Step]) -> tuple[list[str], list[Metal], frozenset[tuple[int, ...]]]:
        """The alloys, the finished metal of each, and where the cuts stand that reached none."""
        self._bends.clear()
        self._missed.clear()
        items = self._items(self._bodies(steps, told=True))
        metals = [self._metal(self.made(self.joined(mine))) for mine in items.values()]
        return list(items), metals, frozenset(self._missed)

    def _metal(self, solid: Manifold) -> Metal:
        """Finished metal of a solid: crumbs left out, its triangles put into the order of work, and
        weighed."""
        trouble = problem(solid)
        if trouble:
            return Metal(None, trouble)
        for bend in self._bends:
            bend()
        out = read(solid)
        whole, crumbs = without_crumbs(out, self.origin, self.tolerance)
        made = in_order(whole, self.owners, self.origin)
        return Metal(made, whole=solid if whole is out else None, crumbs=crumbs)

    def origin(self, mark: int) -> Origin | None:
        """The step that triangles of this mark come from, and how far the true surface lies out
        of each of its faces, mm; None for the kernel's own marks."""
        owner = self.owners.by_id.get(mark)
        if owner is None:
            return self._bent.get(mark)
        return owner.id, self.memo.mesh(owner.shape, self.tolerance).lifts()

    def named(self, label: str) -> str:
        """A step's ``metal`` with the piece's own alloy where it names none."""
        return labelled(alloy_of(label) or self.metal, casting_of(label))

    # -- bodies ------------------------------------------------------------------------------

    def _bodies(self, steps: Sequence[Step], *, told: bool = False) -> dict[int, Body]:
        bodies: dict[int, Body] = {}
        for number, step in enumerate(steps):
            if told and self._progress is not None:
                self._progress(number)
            self._path.append(number)
            if step.work == "add":
                merge(bodies.setdefault(step.body, {}), self._added(step))
            elif step.work == "keep":
                tool = self.joined(self.loose(step) or [])
                for body in bodies.values():
                    for name, items in body.items():
                        body[name] = [self._common(self.joined(items), tool)]
            else:
                self._cut(bodies, step)
            self._path.pop()
        return bodies

    def _items(self, bodies: dict[int, Body]) -> dict[str, list[Item]]:
        """What each alloy is joined of. Where alloys meet, a later body yields to earlier ones."""
        names = list(dict.fromkeys(name for body in bodies.values() for name in body))
        done: dict[str, list[Item]] = {name: [] for name in names}
        for body in bodies.values():
            for name, items in body.items():
                beside = [n for n in names if n != name and casting_of(n) == casting_of(name)]
                others = [item for other in beside for item in done[other]]
                done[name].extend(self._less(items, others))
        return done

    def _added(self, step: Step) -> Body:
        loose = self.loose(step)
        if loose is not None:
            label = next((one.metal for one in simple_steps([step])), "")
            return {self.named(label): [*self._noted(loose)]}
        body: Body = {}
        for name, items in self._items(self._bodies(step.shape.steps)).items():
            if step.shape.kind == "bent":
                items = [self._bend(self.joined(items), Bend(*step.shape.figures))]
            elif len(step.frames) > 1:  # joined once for all its copies
                items = [self.joined(items)]
            body[name] = [self._moved(item, frame) for frame in step.frames for item in items]
        return body

    def loose(self, step: Step) -> list[Copies] | None:
        """The copies of a step; of a part too, when it is nothing but things added of one alloy.
        None for any other part."""
        found = loose_of(step, step.frames)
        if found is None or len({inner.metal for inner, _ in found}) > 1:
            return None
        return [
            Copies(self.owners.of(inner), self.memo.mesh(inner.shape, self.tolerance), frames)
            for inner, frames in found
        ]

    def _noted(self, loose: Sequence[Copies]) -> Sequence[Copies]:
        for copies in loose:
            self._note(f"step {copies.owner.key} {self.tolerance}", copies.owner.feature)
        return loose

    def _note(self, key: str, feature: int) -> None:
        """Keep that the work of ``key`` was done, and whether it was new."""
        if not self.memo.kept(key):
            self.fresh.add(feature)
        self.memo.take(key, lambda: True, lambda _: 0)

    def _moved(self, item: Item, frame: np.ndarray) -> Item:
        if isinstance(item, Copies):
            return Copies(item.owner, item.mesh, composed(frame[None], item.frames))
        key = key_of("moved", item.key, frame.tobytes())
        box = placed_boxes(item.box[:3], item.box[3:], frame[None])[0]
        return Solid(key, box, item.triangles, lambda: self.made(item).transform(frame))

    def _bend(self, flat: Solid, bend: Bend) -> Solid:
        key = key_of("bent", flat.key, bend)
        corners = np.array([flat.box[[x, y, z]] for x in (0, 3) for y in (1, 4) for z in (2, 5)])
        reach = float(np.abs(corners).max()) + bend.radius + bend.thick
        box = 4.0 * reach * np.array([-1.0, -1.0, -1.0, 1.0, 1.0, 1.0])

        def make() -> Manifold:
            solid, origins = self.memo.take(
                f"{key} {self.tolerance} bent",
                lambda: bent_solid(self.made(flat), bend, self.tolerance, key, self.origin),
                lambda made: int(made[0].num_tri()),
            )
            self._bent.update(origins)
            return solid

        self._bends.append(make)
        return Solid(key, box, flat.triangles, make)

    def _cut(self, bodies: dict[int, Body], step: Step) -> None:
        tools = self._noted(self.loose(step) or [])
        targets = list(bodies) if step.into is None else [b for b in step.into if b in bodies]
        missed = bool(tools)
        for number in targets:
            for name, items in bodies[number].items():
                done = self._less(items, tools)
                bodies[number][name] = done
                missed = missed and all(map(operator.is_, done, items))
                for item in done:
                    if isinstance(item, Solid) and item not in items:
                        self._note(f"cut {item.key}", step.feature)
        if missed:
            self._missed.add(tuple(self._path))

    def _less(self, items: Sequence[Item], tools: Sequence[Item]) -> list[Item]:
        """The items less the tools that reach them; what nothing reaches is handed on."""
        done: list[Item] = []
        for item in items:
            near = [*reaching(tools, item.boxes)]
            if not near:
                done.append(item)
            elif isinstance(item, Solid):
                done.append(self._lessened(item, near))
            else:
                done.extend(self._split(item, near))
        return done

    def _split(self, item: Copies, tools: list[Item]) -> Iterator[Item]:
        """Copies that stay as they are, and one solid of those that are cut."""
        reached = met(item.boxes, np.concatenate([tool.boxes for tool in tools]))
        if reached is None:
            reached = np.ones(len(item), dtype=bool)
        if not reached.all():
            yield item.part(~reached)
        if reached.any():
            yield self._lessened(self.joined([item.part(reached)]), tools)

    def _lessened(self, solid: Solid, tools: list[Item]) -> Solid:
        if solid.whole is not None and kinds_of(tools) == kinds_of(solid.tools):
            # Cuts of one kind in a row are one cut: a seat for each stone of a graded row.
            solid, tools = solid.whole, [*solid.tools, *tools]
        key = key_of("less", solid.key, *(tool.key for tool in tools))
        size = solid.triangles + sum(tool.triangles for tool in tools)
        make = partial(self._removed, solid, tools)
        return Solid(key, solid.box, size, make, solid, tuple(tools))

    def _removed(self, solid: Solid, tools: list[Item]) -> Manifold:
        return remove(self.made(solid), self._manifolds(tools))

    def _common(self, one: Solid, other: Solid) -> Solid:
        size = one.triangles + other.triangles
        key = key_of("common", one.key, other.key)
        return Solid(key, one.box, size, lambda: self.made(one) ^ self.made(other))

    # -- solids ------------------------------------------------------------------------------

    def made(self, solid: Solid) -> Manifold:
        """A solid itself, from the memo if it is there."""
        return self.memo.take(f"{solid.key} {self.tolerance}", solid.make, lambda made: int(made.num_tri()))

    def joined(self, items: Sequence[Item]) -> Solid:
        """One solid of all items."""
        if len(items) == 1 and isinstance(items[0], Solid):
            return items[0]
        key = key_of("join", *(item.key for item in items))
        box = around(np.stack([item.box for item in items])) if items else np.zeros(6)
        size = sum(item.triangles for item in items)
        return Solid(key, box, size, lambda: join(self._manifolds(items)))

    def _manifolds(self, items: Sequence[Item]) -> list[Manifold]:
        solids = [self.made(item) for item in items if isinstance(item, Solid)]
        return solids + solids_of([item for item in items if isinstance(item, Copies)])


def _idle(steps: Sequence[Step], missed: Set[tuple[int, ...]]) -> Iterator[int]:
    """The features all of whose cuts are among those that reached no metal."""
    met: dict[int, bool] = {}
    for path, step in _cuts(steps):
        met[step.feature] = met.get(step.feature, False) or path not in missed
    yield from (feature for feature, found in met.items() if not found)


def _cuts(steps: Sequence[Step], path: tuple[int, ...] = ()) -> Iterator[tuple[tuple[int, ...], Step]]:
    """Every cut, and where it stands in the order of work."""
    for number, step in enumerate(steps):
        if step.work == "cut":
            yield (*path, number), step
        yield from _cuts(step.shape.steps, (*path, number))


def _size(metal: Metal) -> int:
    return 0 if metal.mesh is None else len(metal.mesh.triangles)


def triangles_of(steps: Sequence[Step], memo: Memo, tolerance: float) -> Iterator[tuple[Step, int]]:
    """For each step, how many triangles its copies bring to the bench (before any cut)."""
    for step in steps:
        if step.shape.steps:
            inner = sum(count for _, count in triangles_of(step.shape.steps, memo, tolerance))
            yield step, inner * len(step.frames)
        else:
            known = opened(step.shape, 1.0, 1.0) if is_open(step.shape) else step.shape
            yield step, len(memo.mesh(known, tolerance).triangles) * len(step.frames)
