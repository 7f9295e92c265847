"""Work on arrays and lines that is done once for the same content: a piece has many settings of one kind."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import lru_cache, wraps
from typing import Any, TypeVar, cast

import numpy as np

Work = TypeVar("Work", bound=Callable[..., Any])
MOST = 128  # outcomes kept of each kind of work


class _Content:
    """Something given to the work, known by what it holds."""

    def __init__(self, value: Any) -> None:
        self.value, self._key = value, _key(value)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Content) and self._key == other._key

    def __hash__(self) -> int:
        return hash(self._key)


def _key(value: Any) -> Hashable:
    if isinstance(value, np.ndarray):
        return value.dtype.char, value.shape, value.tobytes()
    if isinstance(value, tuple):
        return tuple(map(_key, value))
    return value.content() if hasattr(value, "content") else value


def once(work: Work, most: int = MOST) -> Work:
    """``work`` on arrays, figures and what has a ``content()``, its last ``most`` outcomes kept. None of what
    it is given or gives may be changed."""
    kept = lru_cache(most)(lambda *given: work(*(one.value for one in given)))
    return cast(Work, wraps(work)(lambda *given: kept(*map(_Content, given))))
