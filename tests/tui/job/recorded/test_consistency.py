"""Files that do not belong together are refused in words; --anyway goes on and still says so."""

import json
import shutil
from pathlib import Path

import pytest
from making import RECORDINGS, header_line

from coaxly.main import main

EIGHT = [0, 0.002, 0.004, -0.001, -0.007, -0.010, -0.005, 0.001]
HALF = [v / 10 for v in EIGHT]


@pytest.fixture
def sweep(tmp_path):
    count = 0

    def make(readings=EIGHT, **header):
        nonlocal count
        count += 1
        lines = [header_line(instrument={"unit": "in"}, angle={"mode": "entered"}, **header)]
        for k, value in enumerate(readings):
            t = k + 0.001 * count  # no two sweeps are read at the same times
            lines.append(json.dumps({"t": t, "kind": "raw", "port": "indicator", "data": f"{value:+.6f}\n"}))
            lines.append(json.dumps({"t": k + 0.2, "kind": "station", "deg": 45 * k}))
        path = tmp_path / f"{count}-{header.get('stage', '')}.jsonl"
        path.write_text("\n".join(lines) + "\n")
        return str(path)

    return make


@pytest.fixture
def coaxly(capsys):
    def run(*arguments):
        code = main(list(arguments))
        return code, *capsys.readouterr()

    return run


def refused(coaxly, words, *arguments, force=True):
    code, out, err = coaxly(*arguments)
    assert code == 2 and out == "" and words in err, err
    if force:
        assert "--anyway" in err
        code, out, err = coaxly(*arguments, "--anyway")
        assert code in (0, 1) and out and words in err and "used anyway" in err


def test_found_and_left_the_wrong_way_round(coaxly, sweep):
    found, left = sweep(stage="found"), sweep(HALF, stage="left")
    assert coaxly("verify", found, left)[0] == 0
    refused(coaxly, "give the sweep as found first", "verify", left, found)


def test_a_copy_is_no_other_sweep(coaxly, sweep, tmp_path):
    """Joined with its original it would make the bar smaller, and as found beside as left prove nothing."""
    found, other = sweep(stage="found"), sweep(HALF, stage="found")
    copy, renamed = tmp_path / "copy.jsonl", tmp_path / "renamed.jsonl"
    shutil.copy(found, copy)
    renamed.write_text(Path(found).read_text().replace('"stage"', '"operator": "B", "stage"', 1))
    assert coaxly("audit", "--allow-unsealed", found, str(copy))[0] == 0
    for again in (found, str(copy), str(renamed)):
        for command in (("verify", found), ("replay", other, found), ("study", other, found, "+")):
            code, out, err = coaxly(*command, again, *(["--anyway"] if command[0] != "study" else []))
            assert code == 2 and out == "" and f"{found} and {again} are one sweep" in err, err


@pytest.mark.parametrize("place", ["header", "first reading", "seal"])
def test_a_copy_with_a_byte_changed_is_the_same_sweep(coaxly, tmp_path, place):
    found, copy = RECORDINGS / "launch-found.jsonl", tmp_path / "copy.jsonl"
    lines = found.read_text().splitlines(keepends=True)
    number, old, new = {
        "header": (0, '"created":"2', '"created":"3'),
        "first reading": (2, "0", "1"),
        "seal": (-1, '"sha256":"', '"sha256":"0'),
    }[place]
    before = lines[number]
    lines[number] = before[::-1].replace(old[::-1], new[::-1], 1)[::-1]
    assert lines[number] != before
    copy.write_text("".join(lines))
    code, out, err = coaxly("replay", str(found), str(copy), "--anyway")
    assert code == 2 and out == "" and f"{found} and {copy} are one sweep" in err, err


def test_a_face_is_no_bore(coaxly, sweep):
    bore, face = sweep(stage="found"), sweep(HALF, stage="left", feature="face")
    refused(coaxly, "is a sweep of a face", "verify", bore, face, force=False)
    refused(coaxly, "is a sweep of a face", "verify", face, face, force=False)
    refused(coaxly, "is a sweep of a face", "plan", face, "--bore", face, force=False)
    refused(coaxly, "--kit has no part in it", "plan", face, "--kit", "5thou", force=False)
    refused(
        coaxly, "--bolts has no part in it", "plan", bore, "--kit", "5thou", "--bolts", "6@400mm", force=False
    )


def test_different_jobs(coaxly, sweep):
    found, left = sweep(job="blue van", stage="found"), sweep(HALF, job="red van", stage="left")
    refused(coaxly, "of job 'blue van'", "verify", found, left)
    same = sweep(HALF, job="Blue  Van", stage="left")
    assert coaxly("verify", found, same)[0] == 0
    face = sweep(HALF, job="red van", feature="face", setup={"face_radius_mm": 100})
    refused(coaxly, "of job 'red van'", "plan", face, "--bore", found)


def test_different_limits_need_one_that_holds(coaxly, sweep):
    found, left = sweep(setup={"limit_mm": 0.127}), sweep(HALF, setup={"limit_mm": 0.2})
    refused(coaxly, "--limit says which holds", "verify", found, left)
    code, out, _ = coaxly("verify", found, left, "--limit", "6thou")
    assert code == 0 and "limit of 6.0 thou" in out


def test_different_surfaces(coaxly, sweep):
    left = sweep(HALF, setup={"surface": "outside"})
    refused(coaxly, "differ in surface", "verify", sweep(), left)


def test_found_and_left_are_not_averaged(coaxly, sweep):
    found, again, left = (
        sweep(stage="found"),
        sweep(stage="found"),
        sweep(HALF, stage="left"),
    )
    assert coaxly("replay", found, again)[0] == 1
    refused(coaxly, "the housing moved between these sweeps", "replay", found, left)


def test_a_sweep_as_left_is_planned_with_the_dowels_that_are_in_it(coaxly, sweep):
    left = sweep(stage="left")
    refused(coaxly, "say which dowels are in it", "plan", left, "--kit", "5thou,10thou")
    assert coaxly("plan", left, "--kit", "5thou,10thou", "--fitted", "5thou@165")[0] == 0
    assert coaxly("plan", left, "--kit", "5thou,10thou", "--fitted", "none")[0] == 0


def test_a_changed_file_is_no_ground_for_a_plan(coaxly, tmp_path):
    changed = tmp_path / "changed.jsonl"
    changed.write_bytes((RECORDINGS / "launch-found.jsonl").read_bytes().replace(b"+00", b"+01", 1))
    refused(coaxly, "is not as it was recorded", "plan", str(changed), "--kit", "5thou,10thou")
    left = str(RECORDINGS / "launch-left.jsonl")
    refused(coaxly, "is not as it was recorded", "verify", str(changed), left)


def test_a_changed_file_gives_no_verdict(coaxly, tmp_path):
    whole = (RECORDINGS / "launch-found.jsonl").read_bytes()
    changed, cut = tmp_path / "changed.jsonl", tmp_path / "cut.jsonl"
    changed.write_bytes(whole.replace(b"+00", b"+01", 1))
    refused(coaxly, "is not as it was recorded", "replay", str(changed))
    refused(coaxly, "is not as it was recorded", "replay", str(changed), "--screen", force=False)
    cut.write_bytes(whole[: len(whole) * 2 // 3])
    assert coaxly("replay", str(cut))[2] == ""


def test_of_two_limits_the_one_given_to_replay_holds(coaxly, sweep):
    one, two = sweep(setup={"limit_mm": 0.127}), sweep(setup={"limit_mm": 0.2})
    refused(coaxly, "--limit says which holds", "replay", one, two)
    code, out, _ = coaxly("replay", one, two, "--limit", "60thou")
    assert code == 0 and "limit of 60.0 thou" in out
    assert "limit of 4.0 thou" in coaxly("replay", one, "--limit", "4thou")[1]
    assert coaxly("replay", one, "--screen", "--limit", "4thou")[0] == 2


def test_a_limit_given_to_plan_is_the_one_that_is_judged_by(coaxly, sweep):
    code, out, _ = coaxly("plan", sweep(), "--kit", "5thou", "--limit", "sae2")
    assert code == 0 and out.count("limit of") == 1 and "limit of 8.0 thou" in out and "TM 10-4320" in out
    assert "common practice, no source" in coaxly("plan", sweep(), "--kit", "5thou")[1]
    assert "no source" not in coaxly("plan", sweep(), "--kit", "5thou", "--limit", "5thou")[1]


def test_the_next_plan_is_that_of_the_sweep_as_found(coaxly, sweep):
    """With the dowels out the housing sits as it was found: a noisy sweep then promises little now."""
    noise = [0.0, 0.003, -0.003, 0.002, -0.002, 0.003, -0.003, 0.0]
    found = sweep([v + n for v, n in zip(EIGHT, noise, strict=True)], stage="found")
    left = sweep([v * 0.9 for v in EIGHT], stage="left")
    _, out, _ = coaxly("verify", found, left, "--fitted", "1thou@43", "--kit", "5thou,6thou", "--json")
    _, plan, _ = coaxly("plan", found, "--kit", "5thou,6thou", "--json")
    assert json.loads(out)["next"]["options"] == json.loads(plan)["options"]


def test_beside_inside_nothing_is_turned(coaxly, sweep):
    found, left = sweep([*EIGHT, EIGHT[0]], stage="found"), sweep([*HALF, HALF[0]], stage="left")
    _, out, _ = coaxly("verify", found, left, "--fitted", "6thou@100")
    assert "INSIDE" in out and "high sides to" not in out and "leave the dowels alone" in out


def test_a_name_that_is_empty_and_a_header_of_another_kind_are_refused_in_words(coaxly, tmp_path, capsys):
    with pytest.raises(SystemExit) as stop:
        coaxly("replay", "")
    assert stop.value.code == 2 and "the name is empty" in capsys.readouterr().err
    path = tmp_path / "r.jsonl"
    path.write_text(header_line(version="1") + "\n")
    refused(coaxly, "version must be a whole number, not text", "replay", str(path), force=False)
