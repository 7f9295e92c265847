"""A series: every size in every metal, the metal made once for all alloys, one table of it."""

from __future__ import annotations

import csv
import json
import os
import signal
from pathlib import Path

import pytest

from posy.compiler.command import main
from posy.compiler.files.formats import Wanted
from posy.compiler.files.jobs import Here, Made, Order, do, jobs_of, makings_of
from posy.compiler.metal import solids
from posy.compiler.terminal import options as shared
from posy.lang.faults import is_fatal

TAG = """\
piece "Ferry tag"
  metal silver-925

measure across = 12 mm, from 8 mm to 20 mm
measure thick = 1.2 mm

disc tag: across across, thick thick
drill eye: up across / 2 - 2 mm, out thick, across 2 mm
series sizes: across 10 mm to 14 mm to 16 mm, metal silver-925 to gold-750-yellow
"""
LABELS = [
    f"across-{across}mm-{metal}"
    for across in (10, 14, 16)
    for metal in ("silver-925", "gold-750-yellow")
]


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    Path("tag.posy").write_text(TAG)
    return tmp_path


def order(**changed: object) -> Order:
    given = {"path": "tag.posy", "settings": {}, "metal": None, "tolerance": 0.02,
             "wanted": Wanted(("stl", "json"))}  # fmt: skip
    return Order(**{**given, **changed})  # type: ignore[arg-type]


def jobs(*, packed: bool = False):  # type: ignore[no-untyped-def]
    from posy.compiler.making.pipeline import check

    return jobs_of(order(), makings_of(check("tag.posy").series), packed=packed)


def bytes_of(made: list[Made]) -> dict[str, bytes]:
    return {name: data for one in made for name, data in one.files.items()}


def test_one_job_for_all_metals_of_a_size(monkeypatch: pytest.MonkeyPatch) -> None:
    listed = jobs()
    assert [[m.label for m in job.makings] for job in listed] == [LABELS[0:2], LABELS[2:4], LABELS[4:6]]
    times = []
    remove = solids.remove
    monkeypatch.setattr(solids, "remove", lambda *a: times.append(1) or remove(*a))
    made = do(listed[0])
    # Once as files are wished, once as it is judged, for both metals.
    assert len(times) == 2 and [one.metal for one in made] == ["silver-925", "gold-750-yellow"]
    assert made[0].volume == made[1].volume
    assert made[0].files["tag-across-10mm-silver-925.stl"] == made[1].files[
        "tag-across-10mm-gold-750-yellow.stl"
    ]  # fmt: skip


def test_a_pool_gives_the_bytes_of_one_process() -> None:
    listed = jobs()
    alone = dict(Here(1).results(listed))
    pooled = dict(Here(2).results(listed))
    assert sorted(pooled) == sorted(alone) == [0, 1, 2]
    for number, made in alone.items():
        assert bytes_of(made) == bytes_of(pooled[number])
        assert len(bytes_of(made)) == 4


def test_packed_texts_need_no_disk(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    listed, here = jobs(packed=True), do(jobs()[1])
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    monkeypatch.chdir(elsewhere)
    assert bytes_of(do(listed[1])) == bytes_of(here)


def test_the_table(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["make", "tag.posy", "--series", "--as", "stl,json"]) == shared.DONE
    shown = capsys.readouterr().out.splitlines()
    assert shown[0] == "tag.posy: 6 of 6 made"
    assert shown[1].split() == ["across", "metal", "volume", "mm3", "grams", "stones", "carats", "remarks"]
    with Path("out/tag-series.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["making"] for row in rows] == LABELS
    report = json.loads(Path("out/tag-series.json").read_text())
    for row, line, record in zip(rows, shown[2:8], report["makings"], strict=True):
        # A disc with a hole: pi (d2 - 2.0 2) t / 4; density from the table of alloys.
        across = float(row["across"].removesuffix("mm"))
        volume = 3.141592653589793 * (across**2 - 4) * 1.2 / 4
        density = {"silver-925": 10.36, "gold-750-yellow": 15.58}[row["metal"]]
        assert float(row["volume_mm3"]) == pytest.approx(volume, rel=1e-3)
        assert float(row["grams"]) == pytest.approx(volume * density / 1000, rel=1e-3)
        assert record["grams"] == float(row["grams"])
        assert row["across"] in line and row["metal"] in line
        assert all(Path("out", name).is_file() for name in row["files"].split())


def test_a_making_with_faults_costs_only_itself(capsys: pytest.CaptureFixture[str]) -> None:
    text = TAG.replace("up across / 2 - 2 mm", "up (across - 10 mm) * 2 / 3 + 3 mm")
    text += 'expect across < 15 mm, else "too wide for the punch"\n'
    Path("tag.posy").write_text(text)
    assert main(["make", "tag.posy", "--series", "--as", "stl"]) == shared.FAULTS
    told = capsys.readouterr()
    assert "4 of 6 made" in told.out and "too wide for the punch" in told.err
    names = sorted(path.name for path in Path("out").glob("*.stl"))
    assert len(names) == 4 and not any("16mm" in name for name in names)


def test_wrong_use(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["make", "tag.posy", "--on", "tcp://127.0.0.1:1"]) == shared.WRONG_USE
    assert "--series" in capsys.readouterr().err
    Path("tag.posy").write_text(TAG.rpartition("series")[0])
    assert main(["make", "tag.posy", "--series"]) == shared.WRONG_USE
    assert not Path("out").exists()


def test_a_piece_with_faults_is_made_once(capsys: pytest.CaptureFixture[str]) -> None:
    Path("tag.posy").write_text(TAG.replace("thick thick", "thik thick"))
    assert main(["make", "tag.posy", "--series"]) == shared.FAULTS
    told = capsys.readouterr()
    assert "thik" in told.err and "0 of 1 made" in told.out
    assert not Path("out").exists()


def test_another_version_is_refused() -> None:
    from dataclasses import replace

    from posy.compiler.files.jobs import OtherVersion

    with pytest.raises(OtherVersion, match=r"0\.0\.0"):
        do(replace(jobs()[0], version="0.0.0"))


def test_strict_hands_nothing_over_with_warnings() -> None:
    from dataclasses import replace

    job = jobs()[0]
    loose, strict = do(job), do(replace(job, order=order(strict=True)))
    warned = [any(f.level.name == "WARNING" for f in one.faults) for one in loose]
    assert [bool(one.files) for one in strict] == [not w for w in warned]
    assert all(bool(one.files) != is_fatal(one.faults) for one in loose)


def _dies_at_14(job):  # type: ignore[no-untyped-def]
    """A worker that the system kills while it makes the middle size."""
    if any("14mm" in making.label for making in job.makings):
        os.kill(os.getpid(), signal.SIGKILL)
    return do(job)


def test_a_process_that_dies_loses_its_own_making_only(monkeypatch, capsys):
    monkeypatch.setattr(Here.__init__, "__defaults__", (2, _dies_at_14))
    assert main(["make", "tag.posy", "--series", "--as", "stl"]) == shared.FAULTS
    told = capsys.readouterr()
    assert "4 of 6 made" in told.out
    for metal in ("silver-925", "gold-750-yellow"):
        assert f"the process that made across-14mm-{metal} died" in told.err
        assert f"posy make tag.posy --set across=14mm --metal {metal}" in " ".join(told.err.split())
    names = sorted(path.name for path in Path("out").glob("*.stl"))
    assert len(names) == 4 and not any("14mm" in name for name in names)
