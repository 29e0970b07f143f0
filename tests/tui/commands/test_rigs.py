"""A rig is measured, kept, used and warned of: by the commands that people type."""

import json
import shutil

import pytest
from commanding import in_shop
from making import RECORDINGS

from coaxly.fitter.units import MM_PER_THOU as THOU

FOUND = str(RECORDINGS / "launch-found.jsonl")
TYPED = ("--profile", "typed", "--unit", "in", "--headless")
SAG = "0\n-.0003\n-.001\n-.0018\n-.0021\n-.0017\n-.001\n-.0003\n"
ROUND = "0\n.001\n.003\n.005\n.006\n.005\n.003\n.001\n0\n"
STEPS = ("0thou", "5thou", "10thou", "20thou", "30thou")
UP = "0\n.0051\n.0102\n.0201\n.0302\n"
DOWN = ".0303\n.0203\n.0103\n.0052\n.0001\n"


@pytest.fixture
def shop(tmp_path, monkeypatch, capsys):
    command = in_shop(tmp_path, monkeypatch, capsys)
    command.folder = tmp_path / "shop"
    command.file = tmp_path / "shop" / "rigs" / "long-arm.toml"
    return command


def on_steps(shop, rig, *more, typed=UP + DOWN):
    steps = ("--feature", "steps", "--steps", ",".join(STEPS), "--rounds", "1", "--rig", rig)
    return shop("sweep", *steps, *more, *TYPED, typed=typed)


@pytest.fixture
def rig(shop):
    # No closing reading: what it shares out by time would differ with the pace of this machine.
    assert shop("sweep", "--feature", "sag", "--rig", "Long arm", "--no-closing", *TYPED, typed=SAG)[0] == 0
    code, out, _ = on_steps(shop, "long-arm")
    assert code == 0 and "BEYOND" not in out
    return shop


def test_sag_and_dial_are_told_and_kept_with_date_and_uncertainty(rig):
    text = rig.file.read_text()
    assert "[sag]" in text and "[dial]" in text and text.count("date = 20") == 2 and text.count("u95 = ") == 2
    names = sorted(path.name for path in rig.file.parent.iterdir())
    assert names == ["long-arm-sag-1.jsonl", "long-arm-steps-1.jsonl", "long-arm.toml"]
    code, out, _ = rig("replay", str(rig.file.parent / names[0]))
    assert code == 0 and "Sag of the dial's arm      1.04 +- " in out and "reads -2.08 thou" in out
    assert "inside" not in out.lower() and "housing" not in out.lower()
    code, out, _ = rig("replay", str(rig.file.parent / names[1]), "--json")
    last = json.loads(out)["dial"]["steps"][4]
    assert code == 0 and last["error"] == pytest.approx(0.2 * THOU, abs=0.1 * THOU)
    code, out, _ = rig("audit", str(rig.folder))
    assert code == 0 and out.count("the same result") == 2


def test_the_steps_are_called_out_one_by_one_from_the_side_they_are_met_on(shop):
    _, _, said = on_steps(shop, "x")
    places = [line for line in said.splitlines() if "thou" in line and line.endswith("type the reading")]
    assert len(places) == 10
    assert places[4] == "step 30.0 thou under the tip, the plunger going in, type the reading"
    assert places[5] == "lift the plunger above step 30.0 thou and let it down onto it, type the reading"


def test_a_dial_beyond_what_is_permitted_is_a_finding(shop):
    code, out, _ = on_steps(shop, "x", "--mpe", "0.05thou")
    assert code == 1 and "BEYOND what is permitted" in out


def test_steps_that_cannot_be_right_are_refused_in_a_sentence_and_not_kept(shop):
    few = UP + DOWN.removesuffix(".0001\n") + "done\n"
    out_of_place = UP + ".0203\n.0303\n.0052\n.0103\n.0001\n"
    for typed, why in ((few, "only 9 of 10 readings"), (out_of_place, "error is larger than the step of")):
        code, out, said = on_steps(shop, "x", typed=typed)
        assert (code, out) == (1, "") and why in said.splitlines()[-1] and "not kept in" in said
        assert not (shop.folder / "rigs" / "x.toml").exists()


def test_a_step_is_said_in_the_unit_that_shows_all_of_it(shop):
    steps = ("--feature", "steps", "--steps", "0mm,0.25mm,0.5mm,1mm", "--rounds", "1", "--rig", "x")
    _, _, said = shop("sweep", *steps, *TYPED, typed="0\n")
    assert "step 0.250 mm under the tip" in said


def test_a_rig_that_moves_sideways_is_told_and_not_kept(shop):
    sideways = "0\n.003\n.004\n.003\n0\n-.003\n-.004\n-.003\n0\n"
    code, out, said = shop("sweep", "--feature", "sag", "--rig", "x", *TYPED, typed=sideways)
    assert code == 1 and "weight does not pull to the side" in out and "not kept" in said
    assert not (shop.folder / "rigs" / "x.toml").exists()


def lines(result):
    return {line["source"]: line["value"] for line in result["budget"]}


def test_a_replay_with_a_rig_takes_its_sag_out_and_names_it_in_the_budget(rig):
    _, plain, _ = rig("replay", FOUND, "--json")
    _, out, _ = rig("replay", FOUND, "--rig", "long arm", "--json")
    with_rig = json.loads(out)
    up = with_rig["eccentricity"]["vector"][1] - json.loads(plain)["eccentricity"]["vector"][1]
    # An arm that hangs reads a bore's lower wall too near, as if the bore stood higher than it does.
    assert up == pytest.approx(-1.07 * THOU, abs=0.3 * THOU)
    kept = float(rig.file.read_text().split('u95 = "')[1].split("mm")[0])
    assert {"rig sag (long-arm)", "calibration of the dial (long-arm)"} <= set(lines(with_rig))
    _, words, _ = rig("replay", FOUND, "--rig", "long arm")
    assert "Taken out              dial calibrated, up to 0.2 thou, sag of the arm 1.0 thou\n" in words
    assert lines(with_rig)["rig sag (long-arm)"] == pytest.approx(kept / 1.96 / 2**0.5)


def test_what_a_sweep_took_from_a_rig_is_in_the_recording_and_needs_no_file_any_more(rig, tmp_path):
    _, first, _ = rig("sweep", *TYPED, "--rig", "long-arm", "--out", "s.jsonl", "--json", typed=ROUND)
    shutil.rmtree(rig.folder)
    _, again, _ = rig("replay", "s.jsonl", "--json")
    assert json.loads(first)["eccentricity"] == json.loads(again)["eccentricity"]
    assert "rig sag (long-arm)" in lines(json.loads(again))
    header = json.loads((tmp_path / "s.jsonl").read_text().splitlines()[0])["setup"]
    assert header["rig"] == "long-arm" and len(header["calibration"]) == 5


def test_an_option_beats_the_rig_and_a_job_may_name_its_rig(rig):
    assert rig("job", "open", "tram", "--limit", "5thou")[0] == 0
    job = next(path for path in rig.folder.glob("*-tram"))
    text = (job / "job.toml").read_text()
    assert 'rig = ""' in text
    (job / "job.toml").write_text(text.replace('rig = ""', 'rig = "long-arm"'))
    rig("sweep", "--job", "tram", "--sag", "4thou", *TYPED, typed=ROUND)
    setup = json.loads((job / "found-1.jsonl").read_text().splitlines()[0])["setup"]
    assert setup["rig"] == "long-arm" and setup["sag_mm"] == pytest.approx(4.0 * THOU)
    assert "sag_sd_mm" not in setup


def test_a_rig_that_was_measured_long_ago_is_warned_of_before_and_after(rig):
    rig.file.write_text(rig.file.read_text().replace("date = 20", "date = 1920-01-01 #", 1))
    _, out, said = rig("replay", FOUND, "--rig", "long-arm")
    assert "days ago: sweep its sag and check its dial again" in said
    assert "! rig long-arm was measured on 1920-01-01" in out


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("sag = 3", "sag"),
        ('[sag]\ndate = 2026-01-01\namount = "2"\nu95 = "1thou"', "no unit"),
        ('[sag]\namount = "2thou"\nu95 = "1thou"', "date"),
        ('name = "x"', "neither sag nor dial"),
        ("[[[", ""),
    ],
)
def test_a_rig_file_that_cannot_be_meant_is_refused_in_one_sentence(rig, text, words):
    rig.file.write_text(text)
    code, out, said = rig("replay", FOUND, "--rig", "long-arm")
    assert code == 2 and not out and len(said.strip().splitlines()) == 1
    assert "long-arm.toml" in said and words in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("replay", FOUND, "--rig", "nobody"), "no rig 'nobody'"),
        (("replay", FOUND, "--rig", "!"), "no name of a rig"),
        (("sweep", "--feature", "sag", *TYPED), "name it, such as --rig long-arm"),
        (("sweep", "--feature", "steps", "--rig", "x", *TYPED), "--steps is missing"),
        (
            ("sweep", "--feature", "steps", "--rig", "x", "--steps", "0mm,1mm,1mm", *TYPED),
            "--steps is missing",
        ),
        (("sweep", "--feature", "sag", "--rig", "x", "--job", "van", *TYPED), "--job has no part"),
        (("sweep", "--feature", "sag", "--rig", "x", "--sag", "1thou", *TYPED), "--sag has no part"),
    ],
)
def test_what_cannot_be_is_refused(shop, words, said):
    code, _, err = shop(*words)
    assert code == 2 and said in err


def test_a_check_that_was_broken_off_goes_on(shop):
    code, _, said = on_steps(shop, "x", typed="0\n.0051\n")
    assert code == 2 and "the readings end after 2, and 8 more" in said
    old = str(shop.folder / "rigs" / "x-steps-1.jsonl")
    rest = ".0102\n.0201\n.0302\n" + DOWN
    code, out, said = shop("sweep", "--resume", old, "--headless", typed=rest)
    assert code == 0 and "10 readings" in out and "step 10.0 thou under the tip" in said
    assert (shop.folder / "rigs" / "x.toml").is_file()


def test_a_rig_is_kept_in_a_shop_that_has_none_yet(shop):
    sweep = ("sweep", "--feature", "sag", "--rig", "long-arm", "--out", "elsewhere.jsonl", *TYPED)
    code, _, err = shop(*sweep, typed=SAG)
    assert code == 0 and f"Kept in {shop.file}" in err and "[sag]" in shop.file.read_text()
