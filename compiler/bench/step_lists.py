"""Steps of a part picked out by the bodies they make, and named anew where it stands again."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace

import numpy as np

from .plan import Step, casting_of, labels_of, relabelled


def own_steps(steps: list[Step], bodies: tuple[int, ...]) -> list[Step]:
    """The steps that made ``bodies`` what they are now, cuts narrowed to them."""
    wanted, own = set(bodies), []
    for step in steps:
        if step.work == "add" and step.body in wanted:
            own.append(step)
        elif step.work == "cut":
            into = bodies if step.into is None else tuple(b for b in step.into if b in wanted)
            known = {s.body for s in own}
            into = tuple(b for b in into if b in known)
            if into:
                own.append(replace(step, into=into))
    return own


def other_steps(steps: list[Step], bodies: tuple[int, ...]) -> Iterator[Step]:
    """All but the steps that made ``bodies``; cuts narrowed to the rest."""
    gone, known = set(bodies), []
    for step in steps:
        if step.work == "add":
            if step.body not in gone:
                known.append(step.body)
                yield step
            continue
        into = tuple(b for b in (known if step.into is None else step.into) if b not in gone)
        if into:
            yield replace(step, into=tuple(dict.fromkeys(into)))


def without(steps: Iterable[Step], features: Collection[int]) -> Iterator[Step]:
    """All but the steps of ``features``, in parts too."""
    for step in steps:
        if step.feature in features:
            continue
        inside = tuple(without(step.shape.steps, features))
        if inside == step.shape.steps:
            yield step
        elif inside:
            yield replace(step, shape=replace(step.shape, steps=inside))


def of_alloy(steps: Iterable[Step], alloy: str, feature: int) -> Iterator[Step]:
    """The steps made by line ``feature``, all that they add of one alloy, parts included."""
    for step in steps:
        inside = tuple(of_alloy(step.shape.steps, alloy, feature))
        shape = replace(step.shape, steps=inside) if inside else step.shape
        metal = alloy if step.work == "add" and not inside else step.metal
        yield replace(step, shape=shape, metal=metal, feature=feature)


def standing(
    steps: tuple[Step, ...], frames: np.ndarray, names: Mapping[str, str], bought: Collection[str]
) -> Iterator[tuple[tuple[Step, ...], np.ndarray]]:
    """``steps`` at each of the ``frames``. Castings among them are called as ``names`` says, and where
    they stand several times, by number too; what is ``bought`` keeps its name."""
    castings = {casting_of(label) for label in labels_of(steps)}.difference(bought)
    if not any(names.get(casting, casting) for casting in castings):
        yield steps, frames
        return
    for k in range(len(frames)):
        number = f" {k + 1}" if len(frames) > 1 else ""

        def called(casting: str, number: str = number) -> str:
            name = names.get(casting, casting)
            return name + number if name and casting not in bought else name

        yield tuple(relabelled(step, called) for step in steps), frames[k : k + 1]
