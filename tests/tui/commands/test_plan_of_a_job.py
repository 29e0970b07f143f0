"""What `plan JOB` takes from its job and tells of it: the option taken, and how the housing stands on the block."""

import json

import pytest
from commanding import in_shop
from making import RECORDINGS
from shopping import SWEEP, Shop, lay_in, readings

from coaxly.job.folder.index import need_job

TYPED = ("--profile", "typed", "--unit", "in", "--no-closing", "--headless")
LEANS = "".join(f"{value}thou\n" for value in (0, 1, 4, 7, 8, 7, 4, 1))


@pytest.fixture
def shop(tmp_path, monkeypatch, capsys):
    """Commands on a shop of its own."""
    return in_shop(tmp_path, monkeypatch, capsys)


@pytest.fixture
def van(shop, tmp_path):
    """A job whose bore was swept as found."""
    assert shop("job", "open", "van", "--limit", "5thou", "--kit", "5thou,7thou,10thou")[0] == 0
    job = need_job(tmp_path / "shop", "van")
    lay_in(job, RECORDINGS / "launch-found.jsonl", "found-1.jsonl")
    return job


@pytest.fixture
def faced(shop, tmp_path):
    """A job whose face was swept, the dial at 6 in."""
    assert shop("job", "open", "tram", "--face", "--limit", "5thou")[0] == 0
    sweep = ("sweep", "--job", "tram", "--feature", "face", *TYPED)
    assert shop(*sweep, "--face-radius", "6in", typed=LEANS)[0] in (0, 1)
    return need_job(tmp_path / "shop", "tram")


def test_the_pair_that_is_in_is_no_next_step(tmp_path):
    shop = Shop(tmp_path)
    shop("job", "open", "blue van", "--limit", "5thou", "--kit", "5thou")
    shop(*SWEEP, typed=readings(-12, 0))
    shop("plan", "van", "--take", "1")
    shop("job", "fitted", "van")
    shop(*SWEEP, "--stage", "left", typed=readings(-7, 0.1))
    assert "1. is what is in now: nothing of this kit brings it nearer" in shop("verify", "van").out
    assert "is what is in now" not in shop("verify", "van", "--kit", "5thou,10thou").out


def test_the_option_taken_is_named_and_its_setting_told(shop, van):
    options = json.loads(shop("plan", "van", "--json")[1])["options"]
    second = options[1]["dowels"][0]["offset"] / 0.0254
    first = options[0]["dowels"][0]["offset"] / 0.0254
    assert first != pytest.approx(second)
    code, out, _ = shop("plan", "van", "--take", "2")
    assert code == 0 and out.count("taken: ") == 1
    assert f"taken: option 2, 2 x {second:.1f} thou, high sides to " in out
    setting = out[out.index("SETTING (2.)") :]
    assert f"Both dowels: {second:.1f} thou" in setting and f"{first:.1f} thou" not in setting
    assert "SETTING (1.)" not in out
    assert json.loads(shop("plan", "van", "--take", "2", "--json")[1])["taken"] == 2


def test_without_a_choice_the_best_is_told_and_nothing_is_taken(shop, van):
    _, out, _ = shop("plan", "van")
    assert "SETTING (1.)" in out and "taken: " not in out


def test_straight_dowels_taken_have_no_setting(shop, van):
    options = json.loads(shop("plan", "van", "--json")[1])["options"]
    which = 1 + next(k for k, option in enumerate(options) if not option["dowels"])
    _, out, _ = shop("plan", "van", "--take", str(which))
    assert f"taken: option {which}, no offset dowels in" in out and "SETTING" not in out


def test_the_bolts_of_the_job_are_where_its_shims_go(shop, faced):
    faced.edit(bolts="6@420mm")
    face = json.loads(shop("plan", "tram", "--json")[1])["face"]
    assert len(face["shims"]) == 6 and all(shim["position"] for shim in face["shims"])
    by_hand = json.loads(shop("plan", "tram", "--bolts", "6@420mm", "--json")[1])["face"]
    assert face["shims"] == by_hand["shims"]
    assert len(json.loads(shop("plan", "tram", "--bolts", "4@420mm", "--json")[1])["face"]["shims"]) == 4


def test_bolts_of_a_job_whose_radius_nobody_knows_are_not_left_aside_in_silence(shop, tmp_path):
    assert shop("job", "open", "tram", "--face", "--limit", "5thou")[0] == 0
    shop("sweep", "--job", "tram", "--feature", "face", *TYPED, typed=LEANS)
    need_job(tmp_path / "shop", "tram").edit(bolts="6@420mm")
    code, out, err = shop("plan", "tram", "--json")
    assert code == 0 and len(json.loads(out)["face"]["shims"]) == 8
    assert "bolts of job.toml need the radius" in err and "--face-radius" in err
    code, out, err = shop("plan", "tram", "--face-radius", "6in", "--json")
    assert len(json.loads(out)["face"]["shims"]) == 6 and "radius" not in err


def test_of_a_face_nothing_can_be_taken_and_what_to_say_instead_is_said(shop, faced):
    code, out, err = shop("plan", "tram", "--take", "1")
    assert code == 2 and out == "" and "coaxly job shimmed" in err and len(err.strip().splitlines()) == 1


def test_shims_of_the_job_that_are_all_too_thick_are_known_to_be_there(shop, faced):
    faced.edit(bolts="6@420mm", shims="2in")
    _, out, _ = shop("plan", "tram")
    assert "less than your thinnest shim" in out and "say what is in stock" not in out


def test_a_housing_that_nothing_at_hand_brings_inside_is_not_said_to_be_left(shop, van):
    van.edit(kit="30thou")
    code, out, _ = shop("plan", "van")
    assert code == 0 and "leave it" not in out
    assert "nothing fitted: it stays outside the limit; get other sizes" in out
    van.edit(kit="5thou")
    _, out, _ = shop("plan", "van")
    assert "it stays outside the limit" in out and "get other sizes" not in out


def test_the_kit_of_a_job_is_shown_in_the_unit_of_the_shop(shop, van):
    van.edit(kit="0.127mm,0.254mm,half.toml")
    assert (
        "kit                5.0 thou, 10.0 thou, half.toml" in shop("job", "show", "van", "--in", "thou")[1]
    )
    assert "kit                0.127 mm, 0.254 mm, half.toml" in shop("job", "show", "van", "--in", "mm")[1]
