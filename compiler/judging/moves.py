"""A way in the piece as the placing clauses that go it, seen from where the line of a part has them go."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ...lang import tree
from ...lang.placing import PLACING_BY_NAME
from ..bench.feature import Feature, Places
from ..bench.roles import Role
from ..geometry import frames as fr
from .digits import mm, rounded_up

if TYPE_CHECKING:
    from ...lang.bench import Call
    from ..measures.kinds import Floats
    from .piece import Piece

SLIGHT, MOSTLY = 0.3, 0.8  # of a way, what of it is told, and what is gone alone
WORDS = ("left", "right"), ("down", "up"), ("inward", "out")
OPPOSITE = {one: other for pair in WORDS for one, other in (pair, pair[::-1])}
TURNS = ("turn", 2), ("tilt", 0), ("lean", 1), ("swivel", 2)  # with their axes, in the order they are made
OF_ITS_FACE = re.compile(r"[\d.]+ mm (?:out|inward)")  # said so, whichever way its place looks
SPREAD = "along", "upon"  # by which each copy looks as its path or face does there
PATTERNS = *SPREAD, "circle", "both-sides"  # by which copies look different ways


class Move(NamedTuple):
    """A move as it is said, '0.20 mm right and 0.20 mm up', what it comes to in the piece (3,), mm, and the
    clauses of its line as they then stand, where they are plain figures."""

    said: str
    by: Floats
    clauses: str

    @property
    def in_piece(self) -> str:
        """The move as it is seen in the piece, and how the line says that where its place is turned."""
        plain = _steps(self.by)
        at_once = plain == self.said or OF_ITS_FACE.fullmatch(self.said)
        return self.said if at_once and "over-finger" not in self.clauses else f"{plain}: {self.in_line}"

    @property
    def in_line(self) -> str:
        """The move as the clauses of the line, which goes by its own place."""
        if self.clauses:
            return f"write {self.clauses} in its line{self._there}"
        steps = (step.rpartition(" ") for step in self.said.split(" and "))
        return f"in its line that is '{', '.join(f'{word} {far}' for far, _, word in steps)}'{self._there}"

    @property
    def _there(self) -> str:
        """Which way of the piece a single clause goes at a turned place, " (there 'down' goes right)"."""
        key = (self.clauses or self.said.rpartition(" ")[2]).split()[0]
        word, seen = self.said.rpartition(" ")[2], _steps(self.by).rpartition(" ")[2]
        if " and " in self.said or " and " in _steps(self.by) or key not in (word, OPPOSITE[word]):
            return ""
        goes = seen if key == word else OPPOSITE[seen]
        return f" (there '{key}' goes {goes})" if goes != key else ""


def move(
    piece: Piece, feature: int, way: Floats, off: int = -1, at: Floats | None = None, within: bool = False,
    onto: bool = False,
) -> Move | None:
    """A way (3,), mm, by the clauses that the line of a part goes it with, no shorter than it is; None where
    its copies go different ways, unless the one nearest to ``at`` is meant and each goes its own alike,
    where it stands as cannot be told, where that takes along what it is moved ``off`` or to, and of what
    hangs free, whose place its loop finds, but ``within`` that. A way ``onto`` a spot is told to its end."""
    along = off >= 0 and piece.source_lines.rests_on(piece.call(off), piece.call(feature))
    hung = "" if within else _hung(piece, feature)
    if along or (hung and (off < 0 or _hung(piece, off) != hung)):
        return None
    axes = axes_of(piece, feature, at)
    far = float(np.linalg.norm(way))
    if axes is None or far < 1e-9:
        return None
    local = axes.T @ way / far
    if not onto and np.abs(local).max() > MOSTLY:
        far /= float(np.abs(local).max())
        local = np.where(np.abs(local) > MOSTLY, np.sign(local), 0.0)
    steps = np.array([float(rounded_up(abs(step) * far).split()[0]) * np.sign(step) for step in local])
    steps[np.abs(local) <= (0.0 if onto else SLIGHT)] = 0.0
    if not steps.any():
        return None
    return Move(_steps(steps), axes @ steps, _clauses(piece, feature, _steps(steps)))


def _clauses(piece: Piece, feature: int, steps: str) -> str:
    """The placing clauses of a line with a move in them, 'right 0.40 mm, up 1.00 mm'; "" where they are no
    plain figures."""
    line = piece.source_lines.of(piece.call(feature), None, ()).line
    now = {clause.key.name: clause.value for clause in line.clauses} if line is not None else {}
    written = []
    for far, _, word in (step.rpartition(" mm ") for step in steps.split(" and ")):
        key = "over-finger" if word in WORDS[2] and "over-finger" in now else word
        key = OPPOSITE[word] if key == word and OPPOSITE[word] in now and word not in now else key
        sign = -1.0 if key == OPPOSITE[word] or (key != word and word == "inward") else 1.0
        value = now.get(key)
        if key in now and not (isinstance(value, tree.Number) and value.unit == "mm"):
            return ""
        said = value.value if isinstance(value, tree.Number) else 0.0
        written.append(f"{key} {mm(said + sign * float(far))}")
    return ", ".join(written)


def _steps(way: Floats) -> str:
    """A way (3,) in words, '0.20 mm right and 0.20 mm up'."""
    gone = [(mm(abs(step)), pair[int(step > 0)]) for step, pair in zip(way.tolist(), WORDS, strict=True)]
    return " and ".join(f"{far} {word}" for far, word in gone if far != mm(0.0))


def told(piece: Piece, feature: int, way: Floats, plain: str, off: int = -1, at: Floats | None = None) -> str:
    """The move of a part, of its copy ``at`` a spot, as its clauses say it, else how far and the ``plain``
    word for where to."""
    moved = move(piece, feature, way, off, at)
    return moved.in_piece if moved is not None else f"{rounded_up(float(np.linalg.norm(way)))} {plain}"


def told_alike(piece: Piece, copies: Iterable[tuple[int, Floats | None]], way: Floats) -> str:
    """The move within their casting that the lines of all these parts, each with a spot of the copy that is
    meant, say alike; "" where they do not."""
    moves = [move(piece, one, way, at=at, within=True) for one, at in copies]
    said = {moved.in_piece if moved is not None else "" for moved in moves}
    return said.pop() if len(said) == 1 else ""


def lead(piece: Piece, feature: int) -> int:
    """The line that is moved to move a part: of a setting its stones' own, which it goes along with, of a
    half that of the spot at which the other half stands too."""
    lines = piece.services.lines(feature)
    line = next(iter(lines)) if len(lines) == 1 else _shared(piece, feature)
    return line if piece.source_lines.rests_on(piece.call(feature), piece.call(line)) else feature


def _shared(piece: Piece, feature: int) -> int:
    """The line at whose place a half of a finding stands and another half too; of others, the part itself."""
    halves = {one.index: piece.source_lines.stands_at(call) for one, call in piece.with_role(Role.HALF)}
    home = halves.get(feature)
    mates = {one for one, at in halves.items() if at is home} - set(of_one_line(piece, feature))
    if home is None or not mates:
        return feature
    lines = (piece.source_lines.of(call, None, ()).line for call in piece.bench.lines)
    return next((k for k, line in enumerate(lines) if line is home), feature)


def of_one_line(piece: Piece, feature: int) -> list[int]:
    """The features that the text's own line which made this one made."""
    home = next(iter(piece.call(feature).within), None)
    if home is None:
        return [feature]
    return [k for k, call in enumerate(piece.bench.lines) if home in call.within]


def clauses_said(piece: Piece, feature: int) -> str:
    """The placing clauses that the text's own line of a part says, to be changed where no move is known."""
    use = piece.call(feature).own_line
    said = [key for key in PLACING_BY_NAME if key in use.arguments and use.arguments[key].given]
    return " or ".join(f"'{key}'" for key in said) or "'right', 'up' or 'out'"


def _hung(piece: Piece, feature: int) -> str:
    """The name of what hangs free and a part is of, the innermost; "" of other parts."""
    name = piece.call(feature).name
    hangs = (call.name for call in piece.bench.lines if call.given("hangs-in"))
    return max((one for one in hangs if f"{name}.".startswith(f"{one}.")), key=len, default="")


def axes_of(piece: Piece, feature: int, at: Floats | None = None) -> Floats | None:
    """The ways (3, 3), as columns, that 'right', 'up' and 'out' of a part's line go in the piece; those of
    the piece where its line takes none of them."""
    call, lines = piece.call(feature), piece.source_lines
    line = lines.of(call, None, ()).line
    if line is None or not lines.can_say(line, "up"):
        return np.eye(3)
    said = {clause.key.name: clause.value for clause in line.clauses}
    if piece.is_for(feature, Role.WIRE) and "along" in said and len(piece.features[feature].frames) == 1:
        del said["along"]  # one wire, however its path runs
    if at is not None:  # each copy as it stands there, the mirrored ones mirrored
        said = {key: value for key, value in said.items() if key not in (*SPREAD, "both-sides")}
    turned = _turned(said)
    if turned is not None and not call.within and "swivel" not in said:  # that of stones said width x height
        turned = turned @ fr.turned(2, call.get("swivel") or 0.0)[0, :, :3]
    frames = piece.features[feature].frames
    if at is not None and len(frames) > 1 and turned is not None:
        return np.asarray(frames[np.linalg.norm(frames[:, :, 3] - at, axis=1).argmin(), :, :3] @ turned.T)
    stands = _stands(piece, call)
    return None if turned is None or stands is None else stands @ turned.T


def _turned(said: dict[str, tree.Expression | None]) -> Floats | None:
    """How a line turns what it makes, (3, 3); None where that is no plain figure, or it makes copies that
    look different ways."""
    if any(key in said for key in PATTERNS):
        return None
    whole = np.eye(3)
    for key, axis in TURNS:
        value = said.get(key)
        sign = 1.0
        if isinstance(value, tree.Minus):
            sign, value = (-1.0) ** value.count, value.inner
        if isinstance(value, tree.Number) and value.unit == "deg":
            whole = whole @ fr.turned(axis, sign * value.value)[0, :, :3]
        elif key in said:
            return None
    return whole


def _stands(piece: Piece, call: Call) -> Floats | None:
    """How what a line made stands in the piece (3, 3), its own turns included."""
    use = call.own_line
    made = {one.name: one for one in piece.features}
    if use.name in made:
        return np.asarray(made[use.name].frames[0, :, :3])
    around = made.get(use.name.rpartition(".")[0])
    outer = np.eye(3) if around is None else around.frames[0, :, :3]
    for key in ("at", "for"):
        given = use.arguments.get(key)
        value = None if given is None else given.value
        if isinstance(value, Places | Feature):
            ways = value.frames[:, :, :3]
            if not len(ways) or np.abs(ways - ways[0]).max() > 1e-6:
                return None
            return np.asarray(outer @ ways[0] if isinstance(value, Places) else ways[0])
    return np.asarray(outer)
