"""House limits: where bench.toml is looked for, and what is said of one that is wrong."""

import json

import pytest

from posy.compiler.command import main
from posy.compiler.house import house
from posy.compiler.house.house import parse_house
from posy.compiler.making.pipeline import check
from posy.compiler.rules import rule_names
from posy.lang.faults import Level

BAR = 'bar frame: size 20 x 10 x 3 mm\nhollow back: in frame, wall 0.95 mm, roof 1 mm\n'


def one_fault(text):
    read = parse_house(text.encode(), "bench.toml", rule_names())
    (fault,) = read.faults
    assert fault.level is Level.FAULT
    assert read.figures == {} and read.levels == {}
    return fault


def shown(text, fault):
    return text[fault.span.start : fault.span.end]


def test_figures_names_and_levels():
    text = (
        'name = "Harbour bench"\n[thin-wall]\nleast = "0.09 cm"\nlevel = "fault"\n'
        '[thin-wall.silver]\nleast = "1 mm"\n[narrow-light-hole]\nleast = "45 %"\n'
        "[sparse-beads]\npitch = 1.2\n[few-prongs]\nleast = 4\n"
    )
    read = parse_house(text.encode(), "bench.toml", rule_names())
    assert read.faults == ()
    assert read.name == "Harbour bench, bench.toml"
    assert read.figure("thin-wall", "least", "gold") == pytest.approx(0.9)
    assert read.figure("thin-wall", "least", "silver") == 1.0
    assert read.figure("narrow-light-hole", "least", "gold") == pytest.approx(0.45)
    assert read.figure("few-prongs", "least", "gold") == 4
    assert read.level("thin-wall", Level.WARNING) is Level.FAULT
    assert read.level("thin-wall", Level.HINT) is Level.HINT


@pytest.mark.parametrize(
    ("text", "code", "word", "hint"),
    [
        ('[thin-wal]\nleast = "1 mm"\n', "house-unknown-table", "thin-wal", "thin-wall"),
        ('nam = "x"\n', "house-unknown-table", "nam", "name"),
        ("thin-wall = 3\n", "house-wrong-figure", "thin-wall", "[thin-wall]"),
        ('[thin-wall]\nleat = "1 mm"\n', "house-unknown-key", "leat", "least"),
        ('[thin-wall.silver]\nleat = "1 mm"\n', "house-unknown-key", "leat", "least"),
        ('[thin-wall]\n\nleast = "1 g"\n', "house-wrong-figure", "least", "0.8 mm"),
        ("[thin-wall]\nleast = 1\n", "house-wrong-figure", "least", "0.8 mm"),
        ("[thin-wall]\nleast = true\n", "house-wrong-figure", "least", "0.8 mm"),
        ('[thin-wall]\nleast = "-1 mm"\n', "house-wrong-figure", "least", "unit"),
        ('[thin-wall]\nleast = "80 mm"\n', "house-wrong-figure", "least", "unit"),
        ('[thin-wall]\nleast = "nan mm"\n', "house-wrong-figure", "least", "0.8 mm"),
        ('[sparse-beads]\npitch = "1.2 mm"\n', "house-wrong-figure", "pitch", "1.15"),
        ("[few-prongs]\nleast = 3.5\n", "house-wrong-figure", "least", "3"),
        ('[thin-wall]\nlevel = "faults"\n', "house-wrong-figure", "level", "fault"),
        ("[thin-wall]\nlevel = 3\n", "house-wrong-figure", "level", "fault"),
        ("name = 3\n", "house-wrong-figure", "name", "name ="),
        ("[thin-wall\n", "house-not-toml", "", "[thin-wall]"),
        ("thin-wall.least = \n", "house-not-toml", "", "[thin-wall]"),
        ('thin-wall.least = "9 g"\n', "house-wrong-figure", "thin-wall.least", "0.8 mm"),
    ],
)
def test_what_is_wrong_is_told_at_its_place(text, code, word, hint):
    fault = one_fault(text)
    assert fault.code == code
    assert shown(text, fault) == word
    assert fault.span.path == "bench.toml"
    assert hint is None or hint in (fault.remedy or "")


def test_lines_and_columns():
    fault = one_fault('# mine\n[thin-wall]\n  least = "1 g"\n')
    assert (fault.span.line, fault.span.column) == (3, 3)
    assert one_fault('[thin-wall]\nleast = "1 mm"\nleast = "2 mm"\n').span.line == 3


@pytest.mark.parametrize(
    "data",
    [b"\xff\xfe[", b"[" * 5000, b'a = "' + b"x" * 200_000, b"\x00", b"[a]\n[a]\n", b"x = [" * 3000],
)
def test_a_hostile_file_costs_a_fault(data):
    assert [f.code for f in parse_house(data, "bench.toml", rule_names()).faults] == ["house-not-toml"]


@pytest.fixture
def workshop(tmp_path, monkeypatch):
    inner = tmp_path / "rings" / "new"
    inner.mkdir(parents=True)
    (inner / "p.posy").write_text(BAR, "utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def bounds(path="rings/new/p.posy"):
    return {f.code: getattr(f, "bound", None) for f in check(path).faults}


def test_the_nearest_file_counts_alone(workshop):
    assert bounds() == {}
    (workshop / "bench.toml").write_text('[thin-wall]\nhollow-pendant = "1.1 mm"\n', "utf-8")
    assert bounds() == {"thin-wall": 1.1}
    near = workshop / "rings" / "bench.toml"
    near.write_text('[thin-wall]\nhollow-pendant = "0.97 mm"\n', "utf-8")
    assert bounds() == {"thin-wall": 0.97}
    near.write_text("", "utf-8")
    assert bounds() == {}


def test_nothing_above_the_folder_one_works_in(workshop, monkeypatch):
    (workshop / "bench.toml").write_text('[thin-wall]\nhollow-pendant = "1.1 mm"\n', "utf-8")
    monkeypatch.chdir(workshop / "rings")
    assert bounds("new/p.posy") == {}
    (workshop / ".git").mkdir()
    monkeypatch.chdir(workshop / "rings" / "new")
    assert bounds("p.posy") == {}


def test_a_piece_elsewhere_looks_up_to_its_own_project(workshop, monkeypatch, tmp_path_factory):
    (workshop / "bench.toml").write_text('[thin-wall]\nhollow-pendant = "1.1 mm"\n', "utf-8")
    monkeypatch.chdir(tmp_path_factory.mktemp("elsewhere"))
    path = str(workshop / "rings" / "new" / "p.posy")
    assert bounds(path) == {}
    (workshop / ".git").mkdir()
    assert bounds(path) == {"thin-wall": 1.1}


def test_its_path_is_watched_and_its_text_shown(workshop, capsys):
    (workshop / "bench.toml").write_text('[thin-wall]\nleast = "1 g"\n', "utf-8")
    built = check("rings/new/p.posy")
    assert built.files_read[-1].endswith("bench.toml")
    assert main(["check", "rings/new/p.posy", "--no-colour"]) == 1
    said = capsys.readouterr().out
    assert 'line 2   [least] = "1 g"' in said


def test_the_source_of_a_limit_is_the_house(workshop, posy):
    (workshop / "bench.toml").write_text('[thin-wall]\nleast = "0.9 mm"\n', "utf-8")
    said = posy("why", "thin-wall").out
    assert "  0.9 mm least: bench.toml" in said
    record = json.loads(posy("why", "thin-wall", "--show", "data").out)
    row = next(r for r in record["figures"] if r["what"] == "least")
    assert (row["figure"], row["source"]) == (0.9, "bench.toml")
    assert record["posy"] == 1


def test_every_code_of_the_house_is_explained(posy):
    for code in ("house-not-toml", "house-unknown-table", "house-wrong-figure", "idle-waiver",
                 "house-unknown-key", "rule-not-measured", "house-not-read", "house-wrong-row"):
        assert code in posy("why", code).out


def test_every_rule_has_a_page(capsys):
    from posy.compiler.judging.rulebook import page
    from posy.compiler.rules import all_rules

    for rule in all_rules().values():
        lines = page(rule, house.NO_HOUSE, 60)
        assert rule.title in " ".join(lines)
        assert max(map(len, lines)) <= 60
        if rule.phase == "plan":
            assert all(said.endswith(".") for said in (rule.why, rule.remedy, rule.title))
        assert rule.source



def test_every_row_of_the_table_reads_its_own_example():
    """What posy why bench.toml shows as an example is taken as written, table by table."""
    import tomllib

    from posy.compiler.house.kinds import like, value_of
    from posy.stdlib.house_rows import NEEDED, house_rows

    for table, rows in house_rows().items():
        for row in rows.values():
            said = tomllib.loads(f"{row.key} = {like(row)}")[row.key]
            assert value_of(said, row) is not None, (table, row.key)
            assert row.says.endswith(".")
            if row.usual not in ("", NEEDED):
                assert house.NO_HOUSE.value(table.replace("NEW", "x").replace("ANY", "x").replace("KIND", "any"), row.key) is not None


def test_why_lists_all_that_may_stand_there(capsys, posy):
    said = posy("why", "bench.toml").out
    assert "[metal.NAME]" in said and 'density = "10.4 g/cm3"' in said
    assert main(["why", "bench.toml", "--show", "data"]) == 0
    assert json.loads(capsys.readouterr().out)["keys"][0]["key"] == "name"
