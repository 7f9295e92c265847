"""Bench limits, cautions, hallmark law, and the housekeeping every trade table must keep."""

import re
from importlib import resources

import pytest

from posy.stdlib.alloys import ALLOYS, FAMILIES
from posy.stdlib.cautions import CAUTIONS, STEPS, cautions_for, uk_hallmark
from posy.stdlib.gems import GEMS
from posy.stdlib.limits import ALLOWANCES, LIMITS, allowance, limit, limits_of, prong_wire, rules
from posy.stdlib.rows import TableError, number, parse_rows

KEBAB = re.compile(r"[a-zà-ÿ0-9]+(-[a-zà-ÿ0-9]+)*")  # other tongues have their accents
FOLDER = resources.files("posy.stdlib") / "tables"
TABLES = sorted(path.name for path in FOLDER.iterdir() if path.name.endswith(".tsv"))


def rows_of(table):
    """Rows read here without posy's own reader."""
    lines = (FOLDER / table).read_text("utf-8").splitlines()
    lines = [line.split("\t") for line in lines if not line.startswith("#")]
    return [dict(zip(lines[0], line, strict=True)) for line in lines[1:]]


@pytest.mark.parametrize("table", TABLES)
def test_every_row_names_its_source(table):
    rows = rows_of(table)
    assert rows
    for row in rows:
        source = row["source"].strip()
        assert len(source) > 5, row
        # A bare key such as RG would send the reader nowhere.
        assert not re.fullmatch(r"[A-Z0-9]{2,5}", source), row


def test_names_are_kebab_case():
    names = [*ALLOYS, *GEMS, *CAUTIONS, *rules()]
    names += [other for item in (*ALLOYS.values(), *GEMS.values()) for other in item.also]
    names += [row.what for row in (*LIMITS.values(), *ALLOWANCES.values())]
    assert [name for name in names if not KEBAB.fullmatch(name)] == []


def test_names_are_unique_and_start_with_a_letter():
    for table in (ALLOYS, GEMS):
        names = [name for item in table.values() for name in (item.name, *item.also)]
        assert len(names) == len(set(names))
        assert all(name[0].isalpha() for name in names)


def test_metal_and_stone_names_do_not_meet():
    def of(table):
        return {name for item in table.values() for name in (item.name, *item.also)}

    assert of(ALLOYS) & of(GEMS) == set()


def test_colours_are_srgb():
    for item in (*ALLOYS.values(), *GEMS.values()):
        assert re.fullmatch(r"#[0-9a-f]{6}", item.colour), item.name


@pytest.mark.parametrize(
    ("rule", "what", "figure", "unit"),
    [
        # Facts sheet section 6; the published source stands beside each.
        ("thin-wall", "least", 0.8, "mm"),  # GE gemwares.com
        ("thin-prong", "least", 0.6, "mm"),  # GE
        ("prong-bite", "most", 0.50, "share"),  # GIA quality assurance benchmarks, PJ
        ("prong-bite", "advised", 0.40, "share"),  # GIA
        ("letters-too-fine", "cut-width", 0.3, "mm"),  # GE
        ("letters-too-fine", "cut-depth", 0.2, "mm"),  # common practice, no source
        ("thin-shank", "thickness", 1.5, "mm"),  # PU
        ("thin-floor", "pave-plate", 1.4, "mm"),  # JK
        ("heavy-solid", "most", 4, "mm"),  # SB
        ("printer-detail", "least", 0.30, "mm"),  # SB
        ("thin-loop", "pendant", 1.0, "mm"),  # WF, SA
        ("tips-forward", "most", 5, "deg"),  # common practice, no source
        ("leans", "most", 2, "deg"),  # common practice, no source
    ],
)
def test_published_limits(rule, what, figure, unit):
    found = limit(rule, what)
    assert (found.figure, found.unit) == (figure, unit)


def test_a_familys_own_row_wins():
    """Silver prongs 1.1 times GE's 0.6."""
    assert limit("thin-prong", "least", "silver").figure == pytest.approx(0.6 * 1.1)
    assert limit("thin-prong", "least", "silver").family == "silver"
    assert limit("thin-prong", "least", "brass").family == "*"


def test_pairs_of_limits_leave_room_between():
    below_above = [
        ("short-prong", "spare", "tall-prong", "spare"),
        ("narrow-light-hole", "least", "wide-light-hole", "most"),
        ("low-bezel", "crown", "high-bezel", "crown"),
        ("thin-bezel", "cast", "thick-bezel", "cast"),
        ("bead-too-fine", "advised", "bead-too-coarse", "advised"),
        ("bead-too-fine", "setting", "bead-too-coarse", "setting"),
        ("merged-beads", "pitch", "sparse-beads", "pitch"),
        ("crowded-stones", "cut-by-hand", "spread-stones", "shared-prong"),
        ("thin-post", "least", "thick-post", "most"),
    ]
    for low, low_what, high, high_what in below_above:
        assert limit(low, low_what).figure < limit(high, high_what).figure, low


def test_advice_is_never_laxer_than_the_limit():
    for family in FAMILIES:
        assert (limit("thin-wall", "advised", family).figure >= limit("thin-wall", "least", family).figure)
    assert limit("stone-near-edge", "advised").figure > limit("stone-near-edge", "least").figure


def test_every_limit_can_be_asked_for():
    for rule, what, family in LIMITS:
        assert limit(rule, what, family) in limits_of(rule)
    assert limits_of("no-such-rule") == ()


@pytest.mark.parametrize("key", [
    ("thin-wall", "no-such"), ("no-such", "least"), ("thin-wall", "least", "wood"),
])  # fmt: skip
def test_a_limit_that_is_not_there_is_our_bug(key):
    with pytest.raises(KeyError):
        limit(*key)


def test_shrink_allowances():
    """AG2: 1.0 % for all metals; platinum 1.5 % is the house default (common practice)."""
    assert allowance("shrink", "gold").figure == 0.01
    assert allowance("shrink", "platinum").figure == 0.015
    # OR5: an example ring went from 19.88 to 19.63 mm, -1.26 %: between the two.
    assert allowance("shrink", "silver").figure < 1 - 19.63 / 19.88 < 0.015


@pytest.mark.parametrize(("stone", "wire"), [(1.5, 0.5), (3, 0.75), (6.5, 1.05), (10, 1.4)])
def test_prong_wire_by_stone(stone, wire):
    """Common practice, no published table found."""
    assert prong_wire(stone, "gold") == pytest.approx(wire)
    assert prong_wire(stone, "gold", prongs=6) == pytest.approx(0.85 * wire)
    assert prong_wire(stone, "silver") == pytest.approx(1.1 * wire)


def test_prong_wire_between_and_beyond_the_rows():
    assert prong_wire(2.5) == pytest.approx(0.675)
    assert prong_wire(0.8) == 0.5
    assert prong_wire(25) == 1.4


@pytest.mark.parametrize(
    ("alloy", "mass", "answer"),
    [
        # HC hallmarkingconvention.org, United Kingdom (facts sheet example 24).
        ("gold-750-yellow", 0.95, "exempt"), ("gold-750-yellow", 1.05, "needs a hallmark"),
        ("silver-925", 7.0, "exempt"), ("silver-925", 8.0, "needs a hallmark"),
        ("platinum-950", 0.4, "exempt"), ("platinum-950", 0.6, "needs a hallmark"),
        ("palladium-950", 0.9, "exempt"), ("palladium-950", 1.1, "needs a hallmark"),
        ("silver-925", 7.78, "at or near the limit"), ("brass", 50.0, "base metal"),
    ],
)  # fmt: skip
def test_uk_hallmark_exemptions(alloy, mass, answer):
    assert uk_hallmark(ALLOYS[alloy], mass) == answer


def keys(alloy, *steps):
    """The keys of the cautions for a metal and some steps."""
    return [caution.key for caution in cautions_for(alloy and ALLOYS[alloy], steps)]


def test_cautions_follow_the_metal():
    """NJ, LZ (nickel); PMW (platinum); from memory (zinc)."""
    assert "nickel" in keys("gold-750-white-nickel")
    assert "nickel" in keys("nickel-silver")
    assert "nickel" not in keys("gold-750-white", *STEPS)
    assert "platinum" in keys("palladium-950", "pour")
    assert "platinum" not in keys("silver-925", *STEPS)
    assert "zinc-fume" in keys("yellow-bronze", "pour")
    assert "zinc-fume" in keys("gold-585-yellow", "solder")
    assert "zinc-fume" not in keys("silver-925", *STEPS)


def test_cautions_follow_the_work():
    assert keys("silver-925") == ["hallmark", "advice"]
    assert keys("brass") == ["advice"]
    assert keys("silver-925", "print", "pickle") == ["resin", "pickle", "hallmark", "advice"]
    assert keys(None, "invest") == ["investment-dust", "advice"]
    assert keys("silver-925", "solder")[:2] == ["pickle", "cadmium-solder"]


def test_every_caution_can_be_reached():
    reached = {key for name in ALLOYS for key in keys(name, *STEPS)}
    assert reached == set(CAUTIONS)


def test_every_caution_defers():
    for caution in CAUTIONS.values():
        assert re.search(r"local codes", caution.text, re.IGNORECASE), caution.key
    # The last caution goes with every metal and every kind of work.
    assert "licensed practice" in cautions_for(None, [])[-1].text


def test_legal_figures_are_printed():
    """29 CFR 1910.1053: 50 ug/m3; REACH entry 27: 0.5 and 0.2; entry 23: 0.01 %."""
    assert "50 micrograms" in CAUTIONS["investment-dust"].text
    assert "0.5 micrograms" in CAUTIONS["nickel"].text
    assert "under 0.2" in CAUTIONS["nickel"].text
    assert "0.01 % cadmium" in CAUTIONS["cadmium-solder"].text


def test_an_unknown_step_is_our_bug():
    with pytest.raises(ValueError, match="no such step"):
        cautions_for(None, ["juggle"])


@pytest.mark.parametrize(
    "text",
    [
        "", "name\tsource\nx", "wrong\tsource\nx\ty\n", "name\tsource\nx\t\n",
        "name\tsource\n\ty\n", "name\tsource\n x\ty\n", "name\tsource\nx\ty\tz\n",
    ],
)  # fmt: skip
def test_a_malformed_table_is_refused(text):
    with pytest.raises(TableError):
        parse_rows("made-up", text, ["name", "source"])


def test_a_figure_that_is_none_is_refused():
    with pytest.raises(TableError):
        number({"figure": "about two", "source": "x"}, "figure")
