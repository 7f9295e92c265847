"""What an edit costs: no work for a remark, the unchanged beginning reused, memory bounded."""

from __future__ import annotations

from pathlib import Path

import pytest

from posy.compiler.making.pipeline import build
from posy.compiler.making.result import Built
from posy.compiler.making.session import Session
from posy.compiler.metal import copies, kernel, solids
from posy.compiler.metal.memo import Memo

HEAD = 'piece "Trial"\n  metal silver-925\n'
LINES = [
    "stone row: round 2 mm, gem garnet, row 5, every 2.2 mm, out 2 mm",
    "bar frame: size 15 x 5 x 2.4 mm, corner 0.5 mm",
    "hollow back: in frame, wall 0.9 mm, roof 1.2 mm",
    "seat: for row, in frame",
    "prong claws: for row, shared, wire 0.7 mm",
    "bead-line edge: along rim of frame, bead 0.4 mm, inset 0.3 mm",
    "jump-ring loop: left 8.5 mm, out 1 mm, wire 1 mm, inside 2 mm",
]


class Work:
    """Counts what is asked of the kernel."""

    def __init__(self, patch: pytest.MonkeyPatch) -> None:
        self.done: list[str] = []
        for name in ("join", "remove", "solid_of", "read", "problem"):
            real = getattr(kernel, name)
            for module in (kernel, solids, copies):
                if hasattr(module, name):
                    patch.setattr(module, name, self._counted(name, real))

    def _counted(self, name, real):  # type: ignore[no-untyped-def]
        def counted(*given):  # type: ignore[no-untyped-def]
            self.done.append(name)
            return real(*given)

        return counted

    def taken(self) -> list[str]:
        done, self.done = self.done, []
        return done


def made(folder: Path, lines: list[str], session: Session, **given: object) -> Built:
    path = folder / "piece.posy"
    path.write_text(HEAD + "\n".join(lines) + "\n", encoding="utf-8")
    built = build(str(path), tolerance=0.02, check_metal=False, session=session, **given)  # type: ignore[arg-type]
    assert built.parts, built.faults
    return built


def test_a_remark_asks_nothing_of_the_kernel(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    work, session = Work(monkeypatch), Session()
    first = made(tmp_path, LINES, session)
    assert work.taken() and first.steps_rebuilt == first.steps_total > 5
    again = made(tmp_path, ["# a remark", *LINES[:3], "", *LINES[3:]], session)
    assert work.taken() == [] and again.steps_rebuilt == 0
    # A line without metal shifts the numbers of features; triangles follow their lines.
    spots = made(tmp_path, ["spots dots: circle 3, radius 4 mm", *LINES], session)
    assert work.taken() == []
    assert set(spots.parts[0].owner) == {k + 1 for k in first.parts[0].owner}


def test_another_metal_is_the_same_work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    work, session = Work(monkeypatch), Session()
    made(tmp_path, LINES, session)
    work.taken()
    gold = made(tmp_path, LINES, session, metal="gold-750-yellow")
    assert work.taken() == [] and gold.parts[0].metal == "gold-750-yellow"


@pytest.mark.parametrize(
    "line,old,new,rebuilt,cuts",
    [
        (5, "0.4 mm", "0.42 mm", 1, 0),  # beads: nothing is cut again
        (4, "0.7 mm", "0.72 mm", 6, 0),  # prongs, one feature to a gap
        (6, "wire 1 mm", "wire 1.1 mm", 1, 0),
        (3, "in frame", "in frame, hole 50 %", 1, 1),  # seats: the hollow before them is kept
        (2, "1.2 mm", "1.1 mm", 2, 2),  # the hollow: it and the seats after it
    ],
)  # fmt: skip
def test_an_edit_redoes_what_follows_from_it(line, old, new, rebuilt, cuts, tmp_path, monkeypatch):
    session = Session()
    made(tmp_path, LINES, session)
    work = Work(monkeypatch)
    edited = [*LINES]
    edited[line] = edited[line].replace(old, new)
    built = made(tmp_path, edited, session)
    assert built.steps_rebuilt == rebuilt
    assert work.taken().count("remove") == cuts


def test_a_line_put_in_above_leaves_the_rest(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    session = Session()
    made(tmp_path, LINES, session)
    work = Work(monkeypatch)
    built = made(tmp_path, ["ball knob: right 9 mm, across 3 mm", *LINES], session)
    assert built.steps_rebuilt == 1 and "remove" not in work.taken()


def test_memory_is_bounded_by_rounds_and_by_triangles() -> None:
    memo = Memo(rounds=3, triangles=100)
    memo.begin()
    for name, size in (("old", 40), ("used", 40)):
        memo.take(name, lambda: "thing", lambda _, size=size: size)  # type: ignore[misc]
    for _ in range(3):
        memo.begin()
        memo.take("used", lambda: pytest.fail("it was at hand"), lambda _: 40)
    memo.begin()
    assert memo.kept("used") and not memo.kept("old")
    memo.take("big", lambda: "thing", lambda _: 90)
    memo.trim()
    assert memo.kept("big") and not memo.kept("used") and memo.size() <= 100


def test_a_long_session_stays_small(tmp_path: Path) -> None:
    session = Session(Memo(rounds=3))
    sizes = []
    for trial in range(12):
        lines = [*LINES]
        lines[5] = lines[5].replace("0.4 mm", f"{0.4 + trial / 1000:.3f} mm")
        made(tmp_path, lines, session)
        sizes.append(session.memo.size())
    assert max(sizes[6:]) <= 1.1 * max(sizes[:6])
