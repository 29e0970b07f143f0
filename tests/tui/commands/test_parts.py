"""Pilot bore and flywheel face: the dial stands on the block, the part turns under it, and nothing is fitted."""

import json
import re

import numpy as np
import pytest
from commanding import in_shop

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.units import MM_PER_THOU as THOU

TYPED = ("--profile", "typed", "--unit", "in", "--headless")
OURS = re.compile(r"dowel|housing|shim|bell", re.IGNORECASE)


@pytest.mark.parametrize("tip", [0.0, 90.0, 200.0])
@pytest.mark.parametrize(
    ("view", "sense"), [("rear", "cw"), ("rear", "ccw"), ("front", "cw"), ("front", "ccw")]
)
@pytest.mark.parametrize("feature", ["pilot", "flywheel"])
def test_the_high_point_is_found_on_the_part_whichever_way_the_crank_is_counted(feature, view, sense, tip):
    """A crank that is turned in space, a dial that stands at `tip` clockwise from 12, seen from behind."""
    off, high = 0.05, 130.0
    fitter = Fitter(Setup.from_header({"view": view, "sense": sense, "zero_deg": tip}, feature))
    for k in range(8):
        scale = 45.0 * k
        turned = scale if (view == "rear") == (sense == "cw") else -scale  # clockwise, seen from behind
        under = tip - turned  # the place on the part that has come under the tip
        shown = off * np.cos(np.deg2rad(under - high))
        fitter.add_station(scale, np.array([shown]), np.array([5.0 * k]))
    found = fitter.result().eccentricity
    assert (found.amount, found.high_deg) == pytest.approx((off, high), abs=1e-6)
    # A bore that reads high at 130 degrees has its middle on the other side.
    x, y = off * np.sin(np.deg2rad(high)), off * np.cos(np.deg2rad(high))
    assert found.vector == pytest.approx((-x, -y) if feature == "pilot" else (x, y), abs=1e-6)


def test_weight_moves_nothing_under_a_dial_that_stands():
    setup = Setup.from_header({"sag_mm": 0.1, "bearing_clearance_mm": 0.1}, "pilot")
    fitter = Fitter(setup)
    for k in range(8):
        fitter.add_station(45.0 * k, np.array([0.0]), np.array([5.0 * k]))
    found = fitter.result()
    assert found.eccentricity.amount == 0.0 and not {"sag_mm", "bearing_shift_mm"} & set(found.corrections)


@pytest.fixture
def shop(tmp_path, monkeypatch, capsys):
    return in_shop(tmp_path, monkeypatch, capsys)


def readings(*thou):
    return "".join(f"{value}thou\n" for value in (*thou, thou[0]))


WAVE = readings(0, 0.6, 2, 3.4, 4, 3.4, 2, 0.6)


@pytest.mark.parametrize(("feature", "name"), [("pilot", "pilot bore"), ("flywheel", "flywheel face")])
def test_such_a_sweep_has_words_of_its_own_and_a_limit_that_is_given(shop, feature, name):
    swept = ("sweep", "--feature", feature, *TYPED)
    code, _, said = shop(*swept, typed=WAVE)
    assert code == 2 and f"what a {name} may run out by is in the maker's data" in said
    code, out, said = shop(*swept, "--limit", "2thou", "--job", "van", typed=WAVE)
    assert code == 1 and "OUTSIDE the limit of 2.0 thou" in out
    assert out.startswith(name.capitalize()) and "on the part, with its mark at 12" in out
    assert "turn the crank until its mark is at 1:30, stop, type the reading" in said
    code, again, _ = shop("replay", f"van-{feature}-found-1.jsonl")
    assert again == out
    assert not OURS.search(out + said)


@pytest.mark.parametrize("feature", ["pilot", "flywheel"])
def test_warnings_about_such_a_part_name_no_dowels_and_no_housing(shop, feature):
    rough = readings(0, 3, 0, 3, 0, 3, 0, 3)
    _, out, said = shop("sweep", "--feature", feature, *TYPED, "--limit", "2thou", typed=rough)
    assert "the rest is form" in out and "beside its run-out" in out
    _, flat, _ = shop(
        "sweep", "--feature", feature, *TYPED, "--limit", "2thou", typed=readings(*[0, 0.1] * 4)
    )
    assert "none found" in flat
    assert not OURS.search(out + said + flat)


def test_the_screen_which_draws_housings_shows_none(shop):
    shop("sweep", "--feature", "pilot", *TYPED, "--limit", "2thou", "--out", "p.jsonl", typed=WAVE)
    code, out, said = shop("replay", "p.jsonl", "--screen")
    assert code == 2 and not out and "which the screen does not draw" in said


def test_nothing_is_planned_for_it(shop):
    shop("sweep", "--feature", "pilot", *TYPED, "--limit", "2thou", "--out", "p.jsonl", typed=WAVE)
    code, _, said = shop("plan", "p.jsonl", "--kit", "5thou")
    assert code == 2 and "nothing is fitted for that" in said
    code, _, said = shop("verify", "p.jsonl", "p.jsonl", "--fitted", "5thou@10deg")
    assert code == 2 and "needs one of a bore" in said


@pytest.fixture
def tractor(shop):
    """A job whose face, bore, pilot bore and flywheel were swept."""
    known = (
        "--face-radius",
        "6in",
        "--pilot",
        "7in",
        "--register-clearance",
        "2thou",
        "--pilot-limit",
        "2thou",
        "--flywheel-limit",
        "9thou",
    )
    assert shop("job", "open", "tractor", "--face", "--limit", "5thou", *known)[0] == 0
    sweep = ("sweep", "--job", "tractor", *TYPED)
    shop(
        *sweep,
        "--feature",
        "face",
        typed=readings(0, 0.1, 0.4, 0.7, 0.8, 0.7, 0.4, 0.1),
    )
    assert shop("job", "shimmed", "tractor", "none")[0] == 0
    shop(*sweep, typed=WAVE)
    shop(*sweep, "--feature", "pilot", typed=WAVE)
    shop(*sweep, "--feature", "flywheel", typed=WAVE)
    return shop


def test_parts_are_in_the_job_and_change_nothing_of_what_comes_next(tractor):
    _, out, _ = tractor("job", "show", "tractor")
    assert "NEXT: bore inside, leave it: write the report" in out
    assert "pilot bore: 4.0 thou run-out, OUTSIDE the limit of 2.0 thou" in out
    assert "flywheel face: 4.0 thou run-out, INSIDE the limit of 9.0 thou" in out


def test_a_part_that_is_swept_again_counts_as_it_is_now(tractor, simulated_time):
    tractor(
        "sweep",
        "--job",
        "tractor",
        *TYPED,
        "--feature",
        "pilot",
        typed=readings(0, 0.1, 0.3, 0.5, 0.6, 0.5, 0.3, 0.1),
    )
    _, out, _ = tractor("job", "show", "tractor")
    assert out.count("pilot bore: ") == 1 and "pilot bore: 0.6 thou run-out, INSIDE" in out
    assert "flywheel face: 4.0 thou" in out


def test_bore_face_and_register_are_told_together_at_the_pilot(tractor):
    _, out, _ = tractor("job", "show", "tractor", "--json")
    at = json.loads(out)["job"]["at_pilot"]
    # The bore stands 2 thou high; the face leans rearward below: 0.4 thou at 6 in, so 0.47 thou at 7 in.
    assert at["vector"][1] == pytest.approx((2.0 - 0.4 * 7.0 / 6.0) * THOU, abs=0.05 * THOU)
    assert at["play"] == pytest.approx(1.0 * THOU) and at["carried"] == pytest.approx(2.0 * THOU, rel=0.05)
    assert [line["source"] for line in at["budget"]] == ["bore", "face", "play of the register"]
    _, words, _ = tractor("job", "show", "tractor")
    assert "the register's play is in that: up to 1.0 thou to any side" in words


def test_the_report_tells_them_too(tractor, tmp_path):
    code, out, _ = tractor("report", "tractor", "-o", "t.html")
    assert code == 0 and "The pilot bore runs out by 4.0" in out and "OUTSIDE by its limit of 2.0 thou" in out
    page = (tmp_path / "t.html").read_text()
    assert "At the pilot bearing" in page and "Pilot bore" in page and "Flywheel face" in page


def test_the_registers_play_counts_only_where_it_can(tractor, tmp_path):
    job = next((tmp_path / "shop").glob("*-tractor"))
    face, bore = str(job / "face-found-1.jsonl"), str(job / "found-1.jsonl")
    code, _, said = tractor("plan", face, "--register-clearance", "2thou")
    assert code == 2 and "give --bore and --pilot too" in said
    code, out, _ = tractor(
        "plan", face, "--bore", bore, "--pilot", "7in", "--register-clearance", "2thou", "--json"
    )
    assert code == 0 and json.loads(out)["pilot"]["play"] == pytest.approx(THOU)
