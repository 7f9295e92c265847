"""The same series on a Dask cluster: a local one of two worker processes, loopback only."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from posy.compiler.command import main
from posy.compiler.terminal import options as shared

TAG = """\
piece "Ferry tag"
  metal silver-925
from "parts.posy" take stud

measure across = 12 mm, from 8 mm to 20 mm

disc tag: across across, thick 1.2 mm
stud mark: high 0.8 mm
series sizes: across 10 mm to 14 mm, metal silver-925 to gold-750-yellow
"""
PARTS = """\
word stud
  help "A round stud on the middle."
  example "stud mark: high 1 mm"
  takes high: length, needed, help "its height"
  rod post: wire 2 mm, long 1.2 mm + high, tip round
"""


@pytest.fixture
def scheduler() -> Iterator[str]:
    try:
        from distributed import LocalCluster
    except ImportError:
        if os.environ.get("POSY_ALL_OUTSIDE"):
            raise
        pytest.skip("Dask is not installed: pip install posy-lang[dask]")
    with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, host="127.0.0.1", dashboard_address=None
    ) as cluster:
        yield cluster.scheduler_address


def written(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_the_same_command_but_for_the_address(scheduler, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("tag.posy").write_text(TAG)
    Path("parts.posy").write_text(PARTS)
    asked = ["make", "tag.posy", "--series", "--as", "stl,json"]
    assert main([*asked, "--into", "here"]) == shared.DONE
    assert main([*asked, "--into", "there", "--on", scheduler]) == shared.DONE
    assert len(written(Path("here"))) == 10
    assert written(Path("here")) == written(Path("there"))


def test_nobody_answers(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    if not os.environ.get("POSY_ALL_OUTSIDE"):
        pytest.importorskip("distributed", reason="Dask is not installed: pip install posy-lang[dask]")
    from posy.compiler.files import jobs as series

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(series.Cluster.__init__, "__defaults__", (1.0,))
    Path("tag.posy").write_text(TAG)
    Path("parts.posy").write_text(PARTS)
    asked = ["make", "tag.posy", "--series", "--on", "tcp://127.0.0.1:9"]
    assert main(asked) == shared.WRONG_USE
    assert not Path("out").exists()
