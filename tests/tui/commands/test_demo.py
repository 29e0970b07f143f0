"""The whole job over a pseudo-terminal, and the same bits on replay."""

import asyncio
import contextlib
import io
import json
import os
import signal
import tempfile
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

import clockwork
import pytest
from making import THOU

from coaxly.errors import Failure
from coaxly.job.demo.rehearsal import KIT, Rehearsal, engine_of
from coaxly.main import main


def coaxly(*arguments):
    """The command in this process, in simulated time: (exit code, standard output, standard error)."""
    out, err = io.StringIO(), io.StringIO()
    with pytest.MonkeyPatch.context() as here, redirect_stdout(out), redirect_stderr(err):
        here.setattr(asyncio, "run", clockwork.run)
        code = main([str(argument) for argument in arguments])
    return code, out.getvalue(), err.getvalue()


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo") / "shop"
    code, out, err = coaxly("demo", "--headless", "--engine", 1, "--json", "--keep", folder)
    assert code == 0, err
    answer = json.loads(out)
    return Path(answer["folder"]), answer


def test_the_demo_goes_from_found_to_proof(demo):
    folder, answer = demo
    assert answer["schema"] == "coaxly/1"
    assert sorted(p.name for p in folder.iterdir()) == [
        "found-1.jsonl", "job.toml", "journal.jsonl", "left-1.jsonl", "report.html",
    ]  # fmt: skip
    assert answer["found"]["result"]["decision"]["state"] == "outside"
    assert answer["left"]["result"]["decision"]["state"] == "inside"
    assert answer["verify"]["finding"]["cause"] == "as planned"


def test_it_leaves_a_shop_to_look_around_in(demo):
    folder, answer = demo
    assert folder.parent == Path(answer["shop"])
    code, out, err = coaxly("job", "show", "built-in", "--shop", answer["shop"], "--json")
    job = json.loads(out)["job"]
    assert code == 0 and job["next"] == "done" and err == ""
    kinds = [record["kind"] for record in job["journal"]]
    assert kinds == ["opened", "sweep", "chosen", "fitted", "sweep", "proof", "reported"]
    assert job["journal"] == answer["job"]["journal"] and job["state"] == answer["job"]["state"]
    page = Path(answer["report"]).read_text()
    assert "INSIDE the limit" in page and "this job is invented" in page
    # Whoever takes the same steps by command finds the same.
    _, out, _ = coaxly("verify", "built-in", "--shop", answer["shop"], "--json")
    assert json.loads(out)["finding"] == answer["verify"]["finding"]


def test_the_demo_finds_the_engine_it_was_given(demo):
    _, answer = demo
    assert answer["found"]["result"]["eccentricity"]["vector"] == pytest.approx(
        engine_of(1).centre, abs=0.2 * THOU
    )


@pytest.mark.parametrize("stage", ["found", "left"])
def test_replay_gives_the_same_bits(demo, stage):
    folder, answer = demo
    _, out, _ = coaxly("replay", folder / f"{stage}-1.jsonl", "--json")
    result = json.loads(out)
    assert result.pop("schema") == "coaxly/1"
    assert len(result.pop("table")) >= result["stations"]  # replay says that besides
    assert result == answer[stage]["result"]


def test_the_plan_and_the_proof_can_be_had_again(demo):
    folder, answer = demo
    kit = ",".join(f"{offset / THOU:g}thou" for offset in KIT)
    _, out, _ = coaxly("plan", folder / "found-1.jsonl", "--kit", kit, "--json")
    again = json.loads(out)["options"][0]
    # The kit went through text in thou, so the last bit may differ.
    dowel, chosen = again["dowels"][0], answer["plan"]["chosen"]["dowels"][0]
    assert (dowel["offset"], dowel["deg"]) == pytest.approx((chosen["offset"], chosen["deg"]))
    _, out, _ = coaxly(
        "verify", folder / "found-1.jsonl", folder / "left-1.jsonl", "--fitted",
        f"{dowel['offset']}mm@{dowel['deg']}", "--json",
    )  # fmt: skip
    assert json.loads(out)["measured"] == answer["verify"]["measured"]


def test_a_folder_in_use_is_left_alone(demo):
    folder, _ = demo
    before = sorted(folder.parent.rglob("*"))
    for place in (folder, folder.parent):
        code, _, err = coaxly("demo", "--headless", "--keep", place)
        assert code == 2 and "holds something already" in err
    assert sorted(folder.parent.rglob("*")) == before


def test_in_words_it_ends_with_a_verdict():
    code, out, err = coaxly("demo", "--headless", "--engine", 4, "--speed", 30)
    assert code == 0, err
    assert "VERDICT: INSIDE the limit" in out and "Look around in its shop: coaxly --shop" in out
    assert "Traceback" not in err and "Exception" not in err


@pytest.fixture
def temporary(tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    return tmp_path


async def no_engine(_):
    raise Failure("no engine")


@contextlib.contextmanager
def as_usual(number):
    """A signal as a terminal leaves it: who runs the tests in the background may ignore it."""
    usual = signal.default_int_handler if number == signal.SIGINT else signal.SIG_DFL
    before = signal.signal(number, usual)
    try:
        yield
    finally:
        signal.signal(number, before)


@pytest.mark.skipif(not hasattr(signal, "SIGHUP"), reason="no such signals here")
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP], ids=str)
@pytest.mark.parametrize("command", ["demo", "nudge"])
def test_told_to_end_it_says_where_the_recordings_are(command, number, temporary, monkeypatch):
    def act(rehearsal, stage):
        if stage == "left":
            os.kill(os.getpid(), number)
        return played(rehearsal, stage)

    played = Rehearsal.act
    monkeypatch.setattr(Rehearsal, "act", act)
    with as_usual(number):
        code, _, err = coaxly(command, "--headless", "--engine", 1, "--speed", 30)
    [folder] = temporary.glob(f"coaxly-{command}-*")
    assert code == 130 and f"Stopped early. Recordings: {folder}" in err
    assert len(list(folder.rglob("found-1.jsonl"))) == 1


@pytest.mark.parametrize("command", ["demo", "nudge"])
def test_left_before_anything_was_read_it_leaves_no_folder(command, temporary, monkeypatch):
    monkeypatch.setattr("coaxly.job.demo.rehearsal.RigRun.play", no_engine)
    code, _, err = coaxly(command, "--headless", "--engine", 1)
    assert code == 3 and "Recordings" not in err
    assert list(temporary.glob(f"coaxly-{command}-*")) == []


def test_a_folder_that_is_to_be_kept_stays_whatever_is_in_it(tmp_path, monkeypatch):
    monkeypatch.setattr("coaxly.job.demo.rehearsal.RigRun.play", no_engine)
    code, _, err = coaxly("demo", "--headless", "--engine", 1, "--keep", tmp_path / "kept")
    assert code == 3 and f"Stopped early. Recordings: {tmp_path / 'kept'}" in err
    assert (tmp_path / "kept").is_dir()
