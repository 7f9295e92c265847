"""How a piece rests before the camera, and from where it is looked at. Lengths mm.

World: x to the right, z up, the camera on the side of -y. Free of the renderer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..drawing.views import VIEWS
from ..making.result import Built
from .names import LOOKS, RESTS

Floats = np.ndarray

_UPRIGHT = np.eye(3)
_HUNG = np.array(((1.0, 0, 0), (0, 0, -1.0), (0, 1.0, 0)))  # y of the piece up, its face to us
_LAID = {"lying": _UPRIGHT, "hanging": _HUNG, "stand": _UPRIGHT}

# How far above the level the camera stands, degrees: of a corner look, and at least and at most of others.
_CORNER = {"lying": (28.0, 36.0), "hanging": (30.0, 10.0), "stand": (33.0, 22.0)}
_ABOVE = {"lying": (7.0, 89.0), "hanging": (-35.0, 35.0), "stand": (7.0, 60.0)}


@dataclass(frozen=True, eq=False)
class Rest:
    """``turn`` (3, 3) takes the piece to the world; ``toward`` (3,) unit vector to the camera;
    ``up`` (3,) what is upright in the picture."""

    kind: str
    turn: Floats
    toward: Floats
    up: Floats


def usual_rest(built: Built) -> str:
    """How a piece is shown unless told otherwise: rings on a stand, what hangs hanging."""
    worn = built.worn
    if worn is not None and worn.bore is not None:
        return "stand"
    return "hanging" if worn is not None and worn.loops else "lying"


def rest_of(built: Built, kind: str, look: str, turned: float = 0.0) -> Rest:
    """The piece at rest, seen from ``look``, turned by ``turned`` degrees about the upright."""
    assert kind in RESTS and look in LOOKS
    turn = _LAID[kind]
    worn = built.worn
    if kind == "lying" and worn is not None and worn.bore is not None:
        turn = _onto_side(worn.bore.axis)
    toward, up = _camera(kind, look, turn)
    c, s = np.cos(np.radians(turned)), np.sin(np.radians(turned))
    about_up = np.array(((c, -s, 0.0), (s, c, 0.0), (0.0, 0.0, 1.0)))
    return Rest(kind, about_up @ turn, toward, up)


def _camera(kind: str, look: str, turn: Floats) -> tuple[Floats, Floats]:
    """Where the camera stands, and what is upright to it: on the side of the piece that a drawing's view of
    that name shows, raised off the ground. What lies on the ground is seen from above all the same."""
    if look == "corner":
        around, above = _CORNER[kind]
    else:
        x, y, z = turn @ VIEWS[look].toward
        if kind != "hanging":
            z = abs(z)
        around = float(np.degrees(np.arctan2(x, -y))) if np.hypot(x, y) > 0.2 else 0.0
        above = float(np.clip(np.degrees(np.arcsin(np.clip(z, -1.0, 1.0))), *_ABOVE[kind]))
    return _direction(around, above), _direction(around, above + 90.0)


def _direction(around: float, above: float) -> Floats:
    a, b = np.radians((around, above))
    return np.array((np.sin(a) * np.cos(b), -np.cos(a) * np.cos(b), np.sin(b)))


def _onto_side(axis: Floats) -> Floats:
    """The turn that lays a ring on its side: the axis of its hole upright, its head to the camera."""
    up = axis / np.linalg.norm(axis)
    front = -(np.array((0.0, 0.0, 1.0)) - up[2] * up)  # the head lies at +z of the piece
    front /= max(float(np.linalg.norm(front)), 1e-9)
    return np.array((np.cross(front, up), front, up))
