"""The JSON summary: its keys, its digits, and that it tells nothing about where it was made."""

from __future__ import annotations

import hashlib
import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh
from texts import CORNERS, FACES

from posy.compiler.command import main
from posy.compiler.files.digits import bound, honest, places, plain, shown
from posy.compiler.files.summary import summary_bytes
from posy.compiler.making.result import Built, FeatureInfo, Stone
from posy.compiler.making.weights import weigh
from posy.compiler.metal.part import Part
from posy.lang.faults import Fault, Level, Span
from posy.lang.outcome import Waiver

TEXT = 'piece "Reed"\r\nbar frame\r\n'


def span(path: str, line: int = 2) -> Span:
    return Span(path, line, 1, line, 4)


def reed(home: str = "/home/someone/pieces") -> Built:
    path = f"{home}/reed.posy"
    line = span(path)
    part = Part("silver-925", CORNERS * 10 + 0.1, FACES, np.zeros(12, np.int32), 1000.123456,
                1000.0, error=0.0213)  # fmt: skip
    gold = Part("gold-750-yellow", CORNERS, FACES, np.full(12, 1, np.int32), 1.0, 1.0)
    stones = tuple(
        Stone(k + 1, 0, "round", (2.5,), gem, 0.07214, 0.07182, np.eye(3, 4))
        for k, gem in enumerate(("garnet", "garnet", "ruby"))
    )
    fault = Fault("thin-wall", "thin", line, Level.WARNING, seen="0.6 mm", limit="0.8 mm",
                  also=((span(f"{home}/leaves/leaf.posy"), "here"),))  # fmt: skip
    return Built(
        path, "Reed", "silver-925", "",
        {"across": (2.8000000000000003, "mm"), "side": ("left", "")},
        (FeatureInfo("frame", "bar", line), FeatureInfo("leaf", "plate", line)),
        (part, gold), stones, (fault,), (Waiver("thin-wall", "frame", "a trial", line),),
        texts={path: TEXT},
    )  # fmt: skip


def record(built: Built) -> dict[str, object]:
    weights, faults = weigh(built)
    assert faults == []
    files = {"reed.stl": b"abc"}
    read: dict[str, object] = json.loads(summary_bytes(built, weights, files))
    return read


def test_keys_and_figures() -> None:
    found = record(reed())
    assert list(found) == [
        "posy", "title", "metal", "note", "made", "tolerance_mm", "shrink", "text_sha256",
        "box_mm", "metal_weight", "alloys", "stones", "measures", "parts", "remarks",
        "waivers", "files",
    ]  # fmt: skip
    assert found["posy"] == 1
    assert found["text_sha256"] == hashlib.sha256(TEXT.encode()).hexdigest()
    assert found["box_mm"] == {"from": [0.0] * 3, "to": [10.1] * 3, "size": [10.1] * 3}
    weight = found["metal_weight"]
    assert isinstance(weight, dict)
    # 1000.123456 mm3 x 10.36 g/cm3 + 1 mm3 x 15.58 g/cm3 (table of alloys) = 10.376859 g
    assert weight["grams"] == 10.377
    assert weight["grams_error"] == 0.00023
    silver = weight["castings"][0]
    assert (silver["volume_mm3"], silver["volume_error_mm3"]) == (1000.12, 0.022)
    assert found["files"] == [{"file": "reed.stl", "bytes": 3, "sha256": hashlib.sha256(b"abc").hexdigest()}]
    assert found["measures"] == [
        {"name": "across", "value": 2.8, "unit": "mm"},
        {"name": "side", "value": "left", "unit": ""},
    ]


@pytest.mark.parametrize("tolerance", [0.005, 0.02])
def test_the_weight_is_that_of_the_solid_and_the_mesh_is_told_as_it_is(tmp_path: Path, tolerance: float) -> None:
    """A ball of r is 4/3 pi r3; trimesh reads what the file written holds."""
    path = tmp_path / "ball.posy"
    path.write_text('piece "Ball"\n  metal silver-925\nball one: across 5 mm\n', "utf-8")
    said = ["make", str(path), "--into", str(tmp_path), "--tolerance", f"{tolerance} mm", "--as", "stl,json"]
    assert main(said) == 0
    told = json.loads((tmp_path / "ball.json").read_text("utf-8"))["metal_weight"]["castings"][0]
    exact, written = 4 / 3 * math.pi * 2.5**3, trimesh.load(tmp_path / "ball.stl").volume
    assert abs(told["volume_mm3"] - exact) <= told["volume_error_mm3"] + 0.0005
    assert told["grams"] == pytest.approx(exact * 0.01036, abs=told["grams_error"] + 0.0005)
    assert told["mesh_volume_mm3"] == pytest.approx(written, rel=2e-5)
    assert told["mesh_volume_mm3"] < told["volume_mm3"]


def test_stones_by_kind_both_ways() -> None:
    stones = record(reed())["stones"]
    assert isinstance(stones, dict)
    assert (stones["count"], stones["carats"], stones["carats_by_volume"]) == (3, 0.216, 0.215)
    assert [(row["gem"], row["count"]) for row in stones["kinds"]] == [("garnet", 2), ("ruby", 1)]
    assert stones["kinds"][0]["carats_each"] == 0.0721
    assert stones["kinds"][0]["size_mm"] == [2.5]


def test_other_metals_stay_when_the_main_one_is_swapped() -> None:
    weights, _ = weigh(reed())
    assert weights is not None
    rows = {row.name: row.grams for row in weights.alloys}
    # the 1 mm3 of 18 karat gold (15.58 g/cm3) stays what it is in every row
    assert rows["gold-750-yellow"] == pytest.approx(1000.123456 * 0.01558 + 0.01558)
    assert rows["silver-999"] == pytest.approx(1000.123456 * 0.01049 + 0.01558)
    assert rows["silver-925"] == pytest.approx(weights.grams)


def test_a_metal_the_table_lacks_is_a_fault() -> None:
    built = reed()
    odd = replace(built, parts=(replace(built.parts[0], metal="unobtainium"),))
    weights, faults = weigh(odd)
    assert weights is None
    assert [fault.code for fault in faults] == ["metal-not-in-table"]


def test_where_the_project_lies_leaves_no_trace() -> None:
    one, two = reed("/home/someone/pieces"), reed("elsewhere")
    texts = [summary_bytes(built, weigh(built)[0], {}) for built in (one, two)]
    assert texts[0] == texts[1]
    assert b"someone" not in texts[0]
    features = json.loads(texts[0])["parts"]
    assert features[0] == {
        "name": "frame", "word": "bar", "triangles": 12,
        "file": "reed.posy", "line": 2, "column": 1,
    }  # fmt: skip


def test_without_metal_there_is_still_a_summary() -> None:
    built = replace(reed(), parts=(), stones=())
    found = json.loads(summary_bytes(built, None, {}))
    assert (found["made"], found["box_mm"], found["metal_weight"]) == (False, None, None)


@pytest.mark.parametrize(
    ("value", "error", "text"),
    [
        (4.21349, 0.003, "4.213"),
        (4.21349, 0.01, "4.21"),
        (4.21349, 0.04, "4.21"),
        (4.21349, 0.0, "4.213"),
        (412.6, 3.0, "413"),
        (-0.0001, 0.01, "0.00"),
    ],
)
def test_honest_digits(value: float, error: float, text: str) -> None:
    assert shown(value, error) == text
    assert honest(value, error) == float(text)


def test_bounds_are_rounded_up_and_plain_figures_are_short() -> None:
    assert (bound(0.02131), bound(0.3), bound(12.01), bound(0.0)) == (0.022, 0.3, 13.0, 0.0)
    assert all(bound(error) >= error for error in np.geomspace(1e-7, 1e3, 400))
    assert (places(0.1), places(0.11), places(99.0)) == (1, 1, 0)
    assert (plain(2.50), plain(21.0), plain(100.0), plain(-0.00001)) == ("2.5", "21", "100", "0")
