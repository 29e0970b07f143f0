"""Which dowels to keep, as the command line says it."""

import json

import pytest
from making import RECORDINGS

from coaxly.commands import stock
from coaxly.commands.stock import enough
from coaxly.fitter.shop.parallelstock import Stock
from coaxly.fitter.units import MM_PER_THOU
from coaxly.main import main
from coaxly.options.values import rate, share

SHOP = str(RECORDINGS / "made-shop.csv")
HOLES = "-5.5in,-1in 5.5in,-1in"


def said(capsys, *words):
    assert main(["stock", *words]) == 0
    return capsys.readouterr().out


def test_more_sizes_leave_more_engines_inside_and_are_counted(capsys):
    found = json.loads(said(capsys, "--sizes", "3", "--population", "5thou", "--json"))
    inside = [choice["inside"] for choice in found["curve"]]
    assert inside == sorted(inside) and len(found["keep"]) == 3 and found["unlike"] is None


def test_the_curve_is_a_picture_and_says_how_many_sizes_are_worth_it(capsys):
    lines = said(capsys, "--csv", SHOP, "--risk", "5 %", "--engines", "240/year").splitlines()
    bars = [line for line in lines if "[" in line]
    assert len(bars) == 4 and all(len(bar.split("[")[1].split("]")[0]) == 30 for bar in bars)
    full = [bar.count("#") for bar in bars]
    assert full == sorted(full) and full[0] < full[1]
    assert "DO: keep 3 sizes; one more would help" in "\n".join(lines)
    assert "for 20 engines a month and so that in 95 of 100 months" in "\n".join(lines)
    assert max(map(len, lines)) <= 100


def test_unlike_dowels_are_tried_where_the_holes_are_known(capsys):
    words = ("--population", "5thou", "--kit", "7thou,12thou", "--pair", "any", "--setting", "free")
    assert main(["stock", *words]) == 2
    assert "--dowels" in capsys.readouterr().err
    found = json.loads(said(capsys, *words, "--dowels", HOLES, "--json"))
    assert found["unlike"][0]["inside"] > found["curve"][0]["inside"] + 0.05
    assert {round(one["size"], 6) for one in found["keep"]} <= {0.1778, 0.3048}
    assert "Dowels may be unlike" in said(capsys, *words, "--dowels", HOLES)


def test_what_measuring_is_unsure_of_counts_where_a_ledger_says_it(capsys):
    stated = said(capsys, "--sizes", "1", "--population", "5thou")
    assert "what measuring is unsure of is not counted" in stated
    assert "measuring" not in said(capsys, "--sizes", "1", "--csv", SHOP)


def test_engines_to_come_are_as_unsure_as_the_ledger_is(monkeypatch):
    asked = []

    def spied(population, work, sizes):
        asked.append((population, work))
        return Stock(population, work, sizes)

    monkeypatch.setattr(stock, "Stock", spied)
    assert main(["stock", "--sizes", "1", "--csv", SHOP]) == 0
    population, work = asked[0]
    assert work.measuring_sd == pytest.approx(0.6 / 1.96 * MM_PER_THOU, rel=0.02)
    assert 3.0 < population.freedom < 500.0


def test_sizes_are_worth_keeping_until_one_more_gains_less_than_one_in_a_hundred():
    assert enough([0.6, 0.9, 0.97, 0.975, 0.99]) == 3
    assert enough([0.6, 0.9]) == 2 and enough([0.99, 0.995]) == 1


@pytest.mark.parametrize(
    ("text", "value"),
    [("5 %", 0.05), ("5%", 0.05), ("5", 0.05), ("0.05", 0.05), (".5%", 0.005), ("2.5 percent", 0.025)],
)
def test_a_risk_is_read_however_it_is_written(text, value):
    assert share(text) == pytest.approx(value)


@pytest.mark.parametrize(
    ("text", "value"),
    [("20", 20.0), ("20/month", 20.0), ("240 a year", 20.0), ("3 per day", 91.3125), ("1/week", 4.348)],
)
def test_a_rate_is_read_however_it_is_written(text, value):
    assert rate(text) == pytest.approx(value, rel=1e-3)


@pytest.mark.parametrize(
    "words",
    [("--risk", "0"), ("--risk", "100%"), ("--risk", "some"), ("--risk", "5%%"), ("--engines", "0"),
     ("--engines", "20/fortnight"), ("--engines", "-3"), ("--risk", "nan")],
)  # fmt: skip
def test_what_is_no_risk_and_no_rate_is_refused_in_one_sentence(words, capsys):
    with pytest.raises(SystemExit) as stop:
        main(["stock", "--population", "5thou", *words])
    assert stop.value.code == 2 and "write" in capsys.readouterr().err
