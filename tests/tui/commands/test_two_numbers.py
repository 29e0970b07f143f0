"""Whoever swept with a plain dial has a swing and a place: planned from, proved by, and doubted as it deserves."""

import json
import math

import numpy as np
import pytest
from commanding import in_shop

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.geometry import EnteredDeg
from coaxly.fitter.reading.twonumbers import KEYS, circle
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.job.recorded.pipeline import replay

NUMBERS = ("--tir", "9thou", "--high", "3:40")


@pytest.fixture
def coaxly(tmp_path, monkeypatch, capsys):
    return in_shop(tmp_path, monkeypatch, capsys)


def test_dowels_are_planned_towards_where_the_dial_read_highest(coaxly):
    """Half of the total reading, towards the high reading: TM 10-4320-307-24 p. 3-140."""
    code, out, _ = coaxly("plan", *NUMBERS, "--kit", "3thou,5thou", "--limit", "5thou", "--json")
    best = json.loads(out)["options"][0]
    assert code == 0 and [round(each["deg"]) for each in best["dowels"]] == [110, 110]
    assert [each["offset"] for each in best["dowels"]] == pytest.approx([5 * THOU, 5 * THOU])
    said = coaxly("plan", *NUMBERS, "--kit", "5thou")[1]
    assert "two numbers of a plain dial" in said and "stations" not in said
    assert "not known" in said and "+- 1.0 thou and 20 degrees" in said and "SETTING" in said


def test_a_job_is_worked_from_two_numbers_to_its_proof_and_report(coaxly, tmp_path):
    assert coaxly("job", "open", "van", "--limit", "5thou", "--kit", "5thou,7thou")[0] == 0
    code, out, _ = coaxly("sweep", "--job", "van", *NUMBERS)
    assert code == 1 and "OUTSIDE" in out and "two numbers" in out
    assert coaxly("plan", "van", "--take", "1")[0] == 0
    assert coaxly("job", "fitted", "van")[0] == 0
    code, out, _ = coaxly("sweep", "--job", "van", "--tir", "1thou", "--high", "7:00", "--stage", "left")
    assert code == 0 and "INSIDE" in out and "made sure" not in out and "if it shows" not in out
    code, out, _ = coaxly("verify", "van")
    assert code == 0 and "did what was planned" in out
    assert coaxly("report", "van")[0] == 0 and coaxly("audit", str(tmp_path / "shop"))[0] == 0
    (page,) = (tmp_path / "shop").rglob("report.html")
    assert "two numbers of a plain dial" in page.read_text(encoding="utf-8")


def test_dowels_that_were_turned_the_wrong_way_are_found_by_two_numbers(coaxly, tmp_path):
    for stage, tir, high in (("found", "12thou", "3:00"), ("left", "24thou", "3:00")):
        assert coaxly("sweep", "--job", "x", "--tir", tir, "--high", high, "--stage", stage)[0] == 1
    code, out, _ = coaxly("verify", "x-found-1.jsonl", "x-left-1.jsonl", "--fitted", "6thou@90")
    assert code == 1 and "180 degrees" in out


@pytest.mark.parametrize("how", [(), ("--view", "front"), ("--sense", "ccw"), ("--zero", "90")])
def test_the_place_is_seen_from_behind_however_the_scale_counts(coaxly, tmp_path, how):
    coaxly("sweep", "--job", "x", *NUMBERS, *how)
    result = replay(tmp_path / "x-found-1.jsonl").result()
    assert result.eccentricity.high_deg == pytest.approx(110.0, abs=0.01)
    assert result.tir.fitted == pytest.approx(9 * THOU, abs=1e-5)


def test_a_face_has_them_too(coaxly):
    code, out, _ = coaxly("sweep", "--feature", "face", "--face-radius", "6in", *NUMBERS)
    assert code == 1 and "3:40" in out
    code, _, err = coaxly("sweep", "--feature", "pilot", "--limit", "5thou", *NUMBERS)
    assert code == 2 and "of a bore or a face" in err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("plan", "--tir", "9thou"), "--high is missing"),
        (("sweep", "--high", "3:40"), "--tir is missing"),
        (("plan",), "name a recording or a job"),
        (("plan", "x.jsonl", *NUMBERS), "leave one of them out"),
        (("sweep", "--port", "x", *NUMBERS), "leave --port out"),
        (("sweep", "--tir", "0thou", "--high", "3:40"), "a TIR is more than 0"),
        (("sweep", "--tir", "9in", "--high", "3:40"), "less than 100 times the limit"),
        (("plan", "--tir", "9", "--high", "3:40"), "has no unit"),
        (("plan", "--tir", "9thou", "--high", "13:40"), "no place on the clock"),
        (("plan", "--tir", "9thou", "--high", "2:60"), "write 12:00 to 11:59, or degrees"),
        (("sweep", "--tir", "9thou", "--high", "3.40"), "3:40 for a clock, 3.40deg for degrees"),
    ],
)
def test_what_cannot_be_meant_is_said_and_nothing_is_left(coaxly, tmp_path, words, says):
    code, out, err = coaxly(*words)
    assert code == 2 and out == "" and says in err and err.count("\n") == 1
    assert list(tmp_path.glob("*.jsonl")) == []


def test_the_doubt_holds_the_truth_as_often_as_it_promises():
    """A hand read to half a division of half a thou, an oval of up to a thou, and the place by eye: the bore's
    centre lies within the stated interval 95 times in 100, give or take what 400 tries can tell."""
    dice = np.random.default_rng(5)
    deg = np.arange(0.0, 360.0, 2.0)
    size = within = 0
    for _ in range(400):
        amount, way = dice.uniform(2.0, 8.0) * THOU, dice.uniform(0.0, 360.0)
        oval, lies = dice.uniform(0.0, 0.5) * THOU, dice.uniform(0.0, 180.0)
        shown = amount * np.cos(np.deg2rad(deg - way)) + oval * np.cos(2.0 * np.deg2rad(deg - lies))
        step = 0.25 * THOU
        tir = round(shown.max() / step) * step - round(shown.min() / step) * step
        high = deg[shown.argmax()] + dice.normal(0.0, 7.0)
        fitter = Fitter(Setup.from_header(KEYS))
        for k, (place, value) in enumerate(circle(tir, high)):
            fitter.add_station(EnteredDeg(place), np.array([value]), np.array([float(k)]))
        found = fitter.result().eccentricity
        size += abs(found.amount - amount) <= found.u95_amount
        turned = (found.high_deg - way + 180.0) % 360.0 - 180.0
        within += math.fabs(turned) <= found.u95_deg
    assert size >= 370 and within >= 370
