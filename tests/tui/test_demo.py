"""The whole job over a pseudo-terminal, and the same bits on replay."""

import json
import subprocess
import sys

import pytest
from making import THOU

from tui.rehearsal import KIT, engine_of


def coaxly(*arguments, **kwargs):
    return subprocess.run(
        [sys.executable, "-m", "tui.main", *map(str, arguments)],
        capture_output=True, text=True, timeout=120, stdin=subprocess.DEVNULL, **kwargs,
    )  # fmt: skip


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo") / "job"
    done = coaxly("demo", "--headless", "--seed", 1, "--json", "--keep", folder)
    assert done.returncode == 0, done.stderr
    return folder, json.loads(done.stdout)


def test_the_demo_goes_from_found_to_proof(demo):
    folder, answer = demo
    assert answer["schema"] == "coaxly/1"
    assert sorted(p.name for p in folder.iterdir()) == ["found.jsonl", "job.toml", "left.jsonl"]
    assert answer["found"]["result"]["decision"]["state"] == "outside"
    assert answer["left"]["result"]["decision"]["state"] == "inside"
    assert answer["verify"]["finding"]["cause"] == "as planned"


def test_the_demo_finds_the_engine_it_was_given(demo):
    _, answer = demo
    assert answer["found"]["result"]["eccentricity"]["vector"] == pytest.approx(
        engine_of(1).centre, abs=0.2 * THOU
    )


@pytest.mark.parametrize("stage", ["found", "left"])
def test_replay_gives_the_same_bits(demo, stage):
    folder, answer = demo
    done = coaxly("replay", folder / f"{stage}.jsonl", "--json")
    result = json.loads(done.stdout)
    assert result.pop("schema") == "coaxly/1"
    assert result == answer[stage]["result"]


def test_the_plan_and_the_proof_can_be_had_again(demo):
    folder, answer = demo
    kit = ",".join(f"{offset / THOU:g}thou" for offset in KIT)
    done = coaxly("plan", folder / "found.jsonl", "--kit", kit, "--json")
    again = json.loads(done.stdout)["options"][0]
    # The kit went through text in thou, so the last bit may differ.
    dowel, chosen = again["dowels"][0], answer["plan"]["chosen"]["dowels"][0]
    assert (dowel["offset"], dowel["deg"]) == pytest.approx((chosen["offset"], chosen["deg"]))
    done = coaxly(
        "verify", folder / "found.jsonl", folder / "left.jsonl", "--offset", f"{dowel['offset']}mm",
        "--deg", dowel["deg"], "--json",
    )  # fmt: skip
    assert json.loads(done.stdout)["measured"] == answer["verify"]["measured"]


def test_a_folder_in_use_is_left_alone(demo):
    folder, _ = demo
    before = (folder / "found.jsonl").read_bytes()
    done = coaxly("demo", "--headless", "--keep", folder)
    assert done.returncode == 2 and "already there" in done.stderr
    assert (folder / "found.jsonl").read_bytes() == before


def test_in_words_it_ends_with_a_verdict():
    done = coaxly("demo", "--headless", "--seed", 4, "--speed", 30)
    assert done.returncode == 0, done.stderr
    assert "VERDICT: INSIDE the limit" in done.stdout
    assert "Traceback" not in done.stderr and "Exception" not in done.stderr
