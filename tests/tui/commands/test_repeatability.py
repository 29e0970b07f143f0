"""What a study keeps for the shop, and the sweeps that count on it."""

import io
import json
import math
import re

import numpy as np
import pytest
from making import by_hand
from shopping import readings

from coaxly.job.folder.index import need_job
from coaxly.job.folder.snapshot import look
from coaxly.job.recorded.pipeline import replay
from coaxly.job.steps import jobsteps as steps
from coaxly.main import main


def repeats(folder, *, odd=False):
    """Two mountings a thou apart in y, three repeats each that differ by a tenth in x."""
    files = []
    for k in range(6):
        x, y = 0.0001 * (k % 3 - 1) + 0.02 * (odd and k == 4), 0.001 * (k // 3)
        waves = [
            5e-3 * math.cos(t) - x * math.sin(t) - y * math.cos(t) for t in np.deg2rad(np.arange(0, 360, 45))
        ]
        files.append(str(by_hand(folder / f"{k}.jsonl", waves)))
    return [*files[:3], "+", *files[3:]]


@pytest.fixture
def shop(tmp_path, capsys):
    def command(*words):
        code = main([*words, "--shop", str(tmp_path / "shop")])
        out, err = capsys.readouterr()
        return code, out, err

    assert command("job", "open", "van", "--limit", "5thou")[0] == 0
    return tmp_path / "shop", command


def test_what_a_study_keeps_is_a_line_in_the_budget_of_the_next_sweep_with_its_degrees(
    shop, tmp_path, monkeypatch
):
    folder, command = shop
    code, out, err = command("study", *repeats(tmp_path), "--keep", "--json")
    study = json.loads(out)["study"]
    assert code == 0 and "repeatability.toml" in err and "not in it" not in err
    monkeypatch.setattr("sys.stdin", io.StringIO(readings(3, 0)))
    sweep = ("sweep", "--job", "van", "--headless", "--profile", "typed", "--unit", "in", "--no-closing")
    command(*sweep, "--stage", "check")
    found = replay(need_job(folder, "van").path / "check-1.jsonl")
    assert found.setup.repeatability_mm == pytest.approx(study["reproducibility"], abs=1e-6)
    assert found.setup.repeatability_freedom == pytest.approx(study["reproducibility_freedom"], abs=0.06)
    lines = {line.source: line for line in found.result().budget}
    assert lines["repeatability of this shop"].kind == "A"
    # One mean of two mountings: hardly a degree or two, and that is honoured.
    assert found.result().eccentricity.freedom < 6.0
    monkeypatch.setattr("sys.stdin", io.StringIO(readings(3, 0.1)))
    command(*sweep, "--stage", "again", "--repeatability", "0.1thou")
    other = replay(need_job(folder, "van").path / "again-1.jsonl").setup
    assert other.repeatability_mm == pytest.approx(0.00254) and other.repeatability_freedom is None


def test_a_bore_swept_on_the_screen_counts_on_it_and_a_face_does_not(shop):
    folder, _ = shop
    (folder / "repeatability.toml").write_text(
        'date = 2026-01-02\nsd = "0.2thou"\nfreedom = 9\nof = ["repeats"]\n'
    )
    job = need_job(folder, "van")
    bore, face = (steps.setup_of(look(job), feature) for feature in ("bore", "face"))
    assert (bore.repeatability_mm, bore.repeatability_freedom) == (pytest.approx(0.00508), 9.0)
    assert face.repeatability_mm == 0.0
    job.edit(rig={"repeatability": "0.4thou"})
    nearer = steps.setup_of(look(job), "bore")
    assert nearer.repeatability_mm == pytest.approx(0.01016) and nearer.repeatability_freedom is None


def test_a_sweep_in_doubt_counts_neither_nor_is_kept_and_is_named(shop, tmp_path):
    folder, command = shop
    inches = str(by_hand(tmp_path / "inches.jsonl", (0, -1, -5, -8, -10, -9, -5, -1)))
    code, out, err = command("study", *repeats(tmp_path), inches)
    clean = command("study", *repeats(tmp_path))[1]
    assert code == 0
    assert (
        out.replace(clean, "") == f"  ! Not counted: 1 sweep ({inches}): the unit of the dial is in doubt\n"
    )
    told = json.loads(command("study", *repeats(tmp_path), inches, "--keep", "--json")[1])["study"]
    assert told["sweeps"] == 6 and told["left_out"] == [{"sweep": inches, "why": "unit"}]
    kept = (folder / "repeatability.toml").read_text()
    command("study", *repeats(tmp_path), "--keep")
    assert kept == (folder / "repeatability.toml").read_text()
    code, _, err = command("study", *repeats(tmp_path)[:1], inches)
    assert code == 2 and "sweep one housing at least three times; not counted: 1 sweep" in err
    assert command("study", inches)[0] == 2


def test_what_was_never_varied_is_said_not_to_be_in_it(shop, tmp_path):
    _, command = shop
    files = repeats(tmp_path)[:3]
    assert "dial on anew does is not in it" in command("study", *files, "--keep")[2]


def test_nothing_is_kept_while_a_sweep_does_not_belong(shop, tmp_path):
    folder, command = shop
    code, _, err = command("study", *repeats(tmp_path, odd=True), "--keep")
    assert code == 1 and "Nothing was kept" in err and not (folder / "repeatability.toml").exists()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("sd = 3\n", "sd"),
        ('date = 2026-01-02\nsd = "0.002 furlongs"\nfreedom = 9\nof = []\n', "sd"),
        ('date = 2026-01-02\nsd = "0.002mm"\nfreedom = 0\nof = []\n', "freedom"),
        ("[[[\n", "TOML"),
    ],
)
def test_a_kept_file_that_cannot_be_read_is_named_in_one_sentence(shop, text, words):
    folder, command = shop
    (folder / "repeatability.toml").write_text(text)
    code, _, err = command("sweep", "--job", "van", "--headless", "--profile", "typed", "--unit", "in")
    assert code == 2 and "repeatability.toml" in err and words in err


def family_of(folder, name):
    return need_job(folder, "van").edit(housing={"family": name})


def swept(folder, command, monkeypatch, stage, *words):
    """The sweep of the job that is typed now: no two are alike."""
    job = need_job(folder, "van")
    off = 0.1 * len(list(job.path.glob("*.jsonl")))
    monkeypatch.setattr("sys.stdin", io.StringIO(readings(3 + off, off)))
    command(
        "sweep", "--job", "van", "--headless", "--profile", "typed", "--unit", "in", "--stage", stage, *words
    )
    return replay(job.path / f"{stage}-1.jsonl")


def test_a_sweep_afterwards_has_the_shop_s_scatter_and_form_in_its_header_and_names_the_study(
    shop, tmp_path, monkeypatch
):
    folder, command = shop
    family_of(folder, "R2")
    for stage in ("one", "two", "three"):
        swept(folder, command, monkeypatch, stage)
    code, _, err = command("study", "--job", "van", "--keep")
    assert code == 0 and "--no-study" in err and "family" not in err
    found = swept(folder, command, monkeypatch, "after", "--repeatability", "0.01thou")
    study = found.header.setup["study"]
    assert study["sweeps"] == 3 and len(study["noise"]) > 3 and study["oval"] and study["lobes"]
    assert any("study of 3 sweeps" in line.source for line in found.result().budget)
    (folder / "repeatability.toml").unlink()
    again = replay(need_job(folder, "van").path / "after-1.jsonl")
    assert again.result() == found.result()
    assert "study" not in swept(folder, command, monkeypatch, "later").header.setup


def test_it_can_be_left_out_once_and_form_is_that_of_the_housing_s_family(shop, tmp_path, monkeypatch):
    folder, command = shop
    family_of(folder, "R2")
    for stage in ("one", "two", "three"):
        swept(folder, command, monkeypatch, stage)
    command("study", "--job", "van", "--keep")
    without = swept(folder, command, monkeypatch, "without", "--no-study").header.setup
    assert not {"study", "repeatability_mm"} & set(without)
    family_of(folder, "S3")
    other = swept(folder, command, monkeypatch, "other").header.setup["study"]
    assert other["noise"] and not other["oval"] and not other["lobes"]


def test_settings_show_what_was_kept_and_drop_it(shop, tmp_path):
    folder, command = shop
    assert "study" not in command("settings")[1]
    files = repeats(tmp_path)
    err = command("study", *files, "--keep")[2]
    assert "housings of a family" in err  # of files nobody knows the family
    out = command("settings")[1]
    assert "Kept by a study (6 sweeps" in out and "readings scatter by" in out and "--forget-study" in out
    assert (
        re.search(r"it repeats to \d+\.\d\d thou \([\d.]+ degrees of freedom\)", out)
        and "mm" not in out.split("Kept by")[1]
    )
    assert json.loads(command("settings", "--json")[1])["study"]["sweeps"] == 6
    code, out, err = command("settings", "--forget-study")
    file = folder / "repeatability.toml"
    assert (code, err) == (0, "")
    assert out == f"Dropped {file}: sweeps of jobs count on usual values again\n" and not file.exists()
    assert command("settings", "--forget-study") == (0, f"There is no {file}\n", "")
    assert json.loads(command("settings", "--forget-study", "--json")[1])["dropped"] is None
    assert json.loads(command("settings", "--json")[1])["study"] is None


@pytest.mark.parametrize(
    "sizes", ['[["0thou", 1.0]]', '[["3 furlongs", 1.0]]', '[["1thou", -1.0]]', '["1thou"]']
)
def test_a_size_that_is_none_is_named(shop, sizes):
    folder, command = shop
    text = 'date = 2026-01-02\nsd = "0.002mm"\nfreedom = 9\nof = []\n'
    (folder / "repeatability.toml").write_text(f"{text}noise = {sizes}\n")
    code, _, err = command("sweep", "--job", "van", "--headless", "--profile", "typed", "--unit", "in")
    assert code == 2 and "repeatability.toml" in err and "noise" in err


def test_of_a_sweep_of_a_job_that_was_made_sure_of_one_counts_and_the_other_is_named(
    shop, tmp_path, monkeypatch
):
    folder, command = shop
    for stage in ("one", "two", "three"):
        swept(folder, command, monkeypatch, stage)
    plain = json.loads(command("study", "--job", "van", "--json")[1])["study"]
    job = need_job(folder, "van")
    steps.note_vouched(job, job.path / "two-1.jsonl", job.path / "two-2.jsonl")
    code, out, _ = command("study", "--job", "van")
    assert code == 0 and f"1 sweep ({job.folder}/two-1.jsonl): the recording is a copy" in out
    told = json.loads(command("study", "--job", "van", "--json")[1])["study"]
    assert told.pop("left_out") == [{"sweep": f"{job.folder}/two-1.jsonl", "why": "copy"}]
    assert (told["sweeps"], told["reproducibility"]) == (3, pytest.approx(plain["reproducibility"]))
    code, _, err = command("study", str(job.path / "one-1.jsonl"), "--job", "van")
    assert code == 2 and "are one sweep, given twice" in err
