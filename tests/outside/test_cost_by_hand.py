"""Costs worked out by hand, step by step, with the published figures each rests on.

Troy ounce: 31.1034768 g (NIST Handbook 44, appendix C: 480 grains of 64.79891 mg). Fineness: parts of
1000 (ISO 9202). Smallest units of currencies: ISO 4217, as the package iso4217 has the list. Margin as a
share of the price and markup as a share of the cost: as bookkeeping has them (from memory)."""

import datetime
from decimal import Decimal
from fractions import Fraction

import iso4217
import pytest

from posy.compiler.cost.reckoning import reckoned
from posy.compiler.cost.work import Metal, SettingKind, StoneKind, Work
from posy.compiler.house.house import parse_house
from posy.compiler.rules import rule_names
from posy.lang.faults import Level
from posy.stdlib.alloys import ALLOYS
from posy.stdlib.money import Money, currencies, rounded

TODAY = datetime.date(2025, 3, 31)
DATED = 'date = 2025-03-20\nsource = "a list"\n'
EURO = '[cost]\ncurrency = "EUR"\n'


def house(text):
    read = parse_house(text.encode(), "bench.toml", rule_names())
    assert read.faults == (), [f.message for f in read.faults]
    return read


def work(alloy="gold-750-yellow", grams="10.00", stones=(), settings=(), bought=None, words=None):
    metal = Metal(ALLOYS[alloy], Decimal(grams), 1)
    return Work((metal,), tuple(stones), tuple(settings), bought or {}, words or {})


def cost(text, what=None, today=TODAY):
    found, faults = reckoned(what or work(), house(text), today)
    return found, faults


def amounts(found, part):
    return [line.amount for line in found.lines if line.part == part]


def test_currencies_and_their_digits_are_those_of_iso_4217():
    listed = {one.code: one.exponent for one in iso4217.Currency}
    for code, digits in currencies().items():
        assert listed[code] == digits, code
    # Left out: funds codes, accounting units, metals, codes for tests.
    left = set(listed) - set(currencies())
    assert {c for c in left if listed[c] is not None} <= {
        "BOV", "CHE", "CHW", "CLF", "COU", "MXV", "USN", "UYI", "UYW", "XAD", "BGN", "ANG", "CUC", "HRK", "SLL", "ZWL",
    }


def test_gold_by_the_ounce():
    """2,440.00 an ounce is 2440 / 31.1034768 = 78.44782… a gram; three quarters of it, 58.8359 to four
    digits, in ten grams: 588.36."""
    found, faults = cost(EURO + f'[fine.gold]\nper-ounce = "2440.00 EUR"\n{DATED}[casting.any]\nfee = "0 EUR"\n')
    assert not faults
    assert float(Fraction(2440) / Fraction("31.1034768") * Fraction(3, 4)) == pytest.approx(58.8358662, abs=1e-6)
    assert amounts(found, "metal") == [Decimal("588.36")]


def test_alloying_loss_refining_and_casting():
    """5.20 g at 75 a gram fine and 3 alloying: 75 x 0.75 + 3 = 59.25 a gram; 308.10. Lost 4 %: 12.324, so
    12.32. Filings 12 %, of whose worth refining takes 15 %: 308.10 x 0.018 = 5.5458, so 5.55. Casting
    15.00 and 0.90 a gram, 4.68."""
    found, _ = cost(
        EURO + f'[fine.gold]\nper-gram = "75 EUR"\n{DATED}[alloy.gold-750-yellow]\nalloying = "3 EUR"\n{DATED}'
        '[casting.any]\nfee = "15 EUR"\nper-gram = "0.90 EUR"\nloss = "4 %"\nscrap = "12 %"\nrefining = "15 %"\n',
        work(grams="5.20"),
    )
    assert amounts(found, "metal") == [Decimal("308.10"), Decimal("12.32"), Decimal("5.55")]
    assert amounts(found, "casting") == [Decimal("15.00"), Decimal("4.68")]
    assert found.cost == Decimal("345.65")


SILVER = f'[alloy.silver-925]\nper-gram = "10 EUR"\n{DATED}[casting.any]\nfee = "0 EUR"\n'
TEN = work("silver-925", "10.00")  # costs 100.00


@pytest.mark.parametrize(
    ("more", "net", "tax", "total"),
    [
        ('markup = "60 %"', "160.00", "0", "160.00"),
        ('margin = "40 %"', "166.67", "0", "166.67"),
        ('markup = "60 %"\ntax = "21 %"', "160.00", "33.60", "193.60"),
        # up to 195: 195 x 21 / 121 = 33.8429…; 195 - 33.84 = 161.16
        ('markup = "60 %"\ntax = "21 %"\nround-to = "5 EUR"\nrounding = "up"', "161.16", "33.84", "195.00"),
        ('markup = "60 %"\ntax = "21 %"\nround-to = "5 EUR"\nrounding = "down"', "157.02", "32.98", "190.00"),
        ('markup = "60 %"\ntax = "21 %"\nround-to = "5 EUR"', "161.16", "33.84", "195.00"),
    ],
)
def test_margin_tax_and_rounding(more, net, tax, total):
    found, _ = cost(f'{EURO}{more}\n{SILVER}', TEN)
    assert found.cost == Decimal("100.00")
    assert (found.net, found.tax[1], found.total) == (Decimal(net), Decimal(tax), Decimal(total))
    assert found.cost + found.profit[1] + found.rounding == found.net
    assert found.net + found.tax[1] == found.total


def test_stones_settings_work_findings_and_marks():
    """18 melee of 0.228 ct at 420 USD, a dollar at 0.92: 386.40 x 0.228 = 88.0992, so 88.10. 18 set at 4.50:
    81.00. 25 min at 48 an hour: 20.00. Two bought at 6.80: 13.60. Marked: 7.20."""
    found, faults = cost(
        f'{EURO}{SILVER}[stone.melee]\ngem = "diamond"\ncut = "round"\nfrom = "1 mm"\nto = "2.5 mm"\n'
        f'per-carat = "420 USD"\n{DATED}[exchange.USD]\nrate = "0.92 EUR"\n{DATED}'
        '[setting.grain]\nkind = "beads"\nto = "2 mm"\neach = "4.50 EUR"\n[rate.bench]\nper-hour = "48 EUR"\n'
        '[step.solder]\ntime = "25 min"\nword = "ear-post"\n[step.box]\neach = "2 EUR"\n'
        f'[bought.clutch]\neach = "6.80 EUR"\n{DATED}[hallmark.any]\nfee = "7.20 EUR"\nlaw = "uk"\n',
        work("silver-925", "10.00", [StoneKind("diamond", "round", (1.5,), 18, Decimal("0.228"))],
             [SettingKind("halo, beads", frozenset({"halo", "beads"}), 1.5, 18)], {"clutch": 2}, {"ear-post": 2}),
    )
    assert not faults
    assert amounts(found, "stones") == [Decimal("88.10")]
    assert amounts(found, "setting") == [Decimal("81.00")]
    assert amounts(found, "work") == [Decimal("40.00"), Decimal("2.00")]
    assert amounts(found, "bought parts") == [Decimal("13.60")]
    assert amounts(found, "hallmarking") == [Decimal("7.20")]  # silver from 7.78 g on: Hallmarking Act, UK
    lighter, _ = cost(f'{EURO}{SILVER}[hallmark.any]\nfee = "7.20 EUR"\nlaw = "uk"\n', work("silver-925", "7.00"))
    assert amounts(lighter, "hallmarking") == []


@pytest.mark.parametrize(("currency", "total"), [("JPY", "1235"), ("KWD", "1234.568"), ("EUR", "1234.57")])
def test_amounts_have_the_digits_of_their_currency(currency, total):
    assert rounded(Decimal("1234.5678"), currency) == Decimal(total)
    assert rounded(Decimal("0.5"), "JPY") == 1 and Money(Decimal("1250"), "EUR").shown == "1,250.00 EUR"


def test_a_missing_price_is_told_and_left_out():
    found, faults = cost(EURO + SILVER, work("silver-925", "10.00", [StoneKind("ruby", "oval", (5.0, 4.0), 1, Decimal("0.5"))]))
    assert found.total is None and found.net is None
    assert found.cost == Decimal("100.00") and len(found.missing) == 1
    (fault,) = faults
    assert (fault.code, fault.level) == ("price-missing", Level.WARNING)
    assert "ruby, oval, 5 mm" in fault.message and 'gem = "ruby"' in fault.remedy


@pytest.mark.parametrize(
    ("text", "code", "shown"),
    [
        (EURO + '[alloy.silver-925]\nper-gram = "10 EUR"\ndate = 2024-12-01\nsource = "a list"\n', "price-old", "120 days"),
        (EURO + '[alloy.silver-925]\nper-gram = "10 EUR"\ndate = 2026-04-01\nsource = "a list"\n', "price-in-the-future", "2026-04-01"),
        (EURO + f'[alloy.silver-925]\nper-gram = "10 USD"\n{DATED}', "price-in-other-currency", "USD"),
        (EURO + f'[alloy.silver-925]\nper-gram = "10 USD"\n{DATED}[exchange.USD]\nrate = "0.92 GBP"\n{DATED}', "price-in-other-currency", "GBP"),
        ('[sheet]\nvalid = "30 days"\n', "no-prices", "bench.toml"),
        (EURO + 'margin = "40 %"\nmarkup = "60 %"\n' + SILVER, "house-wrong-figure", "markup and margin"),
        (EURO + f'[fine.gold]\n{DATED}', "house-wrong-row", None),
    ],
)
def test_what_is_wrong_with_prices_is_told_at_its_line(text, code, shown):
    _, faults = cost(text + ('[casting.any]\nfee = "0 EUR"\n' if "casting" not in text else ""), TEN)
    fault = next(one for one in faults if one.code == code)
    assert fault.seen == shown and fault.remedy
    assert code == "no-prices" or fault.span.path == "bench.toml"


@pytest.mark.parametrize(
    ("line", "said", "do"),
    [
        ('per-gram = "-1 EUR"', "never negative", "check the price"),
        ('per-gram = "about 40 EUR"', "no price", "per-gram ="),
        ('per-gram = "40 EURO"', "no currency", "EUR"),
        ('per-gram = "40 eur"', "no currency", "EUR"),
        ("per-gram = 40", "needs its currency", "per-gram ="),
        ("per-gram = true", "no price", "per-gram ="),
        ('per-gramm = "40 EUR"', "no 'per-gramm'", "per-gram"),
        ('per-gram = "40 EUR"\ndate = "31.3.2025"', "year-month-day", "date ="),
        ('per-gram = "40 EUR"\ndate = 1025-03-31', "slip", "date ="),
        ('per-gram = "40 EUR"\ndate = 2025-03-31\nsource = 3', "short text", "source ="),
    ],
)
def test_a_bad_figure_gets_a_ticket_like_any_other(line, said, do):
    text = f"[alloy.silver-925]\n{line}\n" + (DATED if "date" not in line else "")
    faults = parse_house(text.encode(), "bench.toml", rule_names()).faults
    fault = next(f for f in faults if said in f.message)
    assert fault.level is Level.FAULT and do in fault.remedy
    assert fault.span.line == text[: text.index(line.rpartition("\n")[2])].count("\n") + 1
    key = line.rpartition("\n")[2].split(" =")[0]
    assert text[fault.span.start : fault.span.end] == key


@pytest.mark.parametrize(
    ("text", "word", "do"),
    [
        ("[cots]\n", "cots", "cost"),
        ('[alloy.silver-952]\nper-gram = "1 EUR"\n', "alloy.silver-952", "silver-925"),
        ('[exchange.usd]\nrate = "1 EUR"\n', "exchange.usd", "USD"),
        ('[fine.golf]\nper-gram = "1 EUR"\n', "fine.golf", "gold"),
        (f'[stone.melee]\ngem = "diamnd"\neach = "1 EUR"\n{DATED}', "gem", "diamond"),
        (f'[stone.melee]\ngem = "diamond"\ncut = "ronud"\neach = "1 EUR"\n{DATED}', "cut", "round"),
        ('[step.polish]\ntime = "25"\n', "time", "25 min"),
        ('[cost]\ncurrency = "EUR"\nmargin = "120 %"\n', "margin", "check"),
    ],
)
def test_names_and_units_are_met_with_what_was_meant(text, word, do):
    fault = parse_house(text.encode(), "bench.toml", rule_names()).faults[0]
    assert text[fault.span.start : fault.span.end] == word
    assert do in (fault.remedy or "")
