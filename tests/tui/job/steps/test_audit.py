"""Every changed byte is found; a changed result is shown side by side; rounding is no change."""

import hashlib
import io
import json
import random
import shutil
from pathlib import Path

import msgspec
import pytest
from clockwork import run as simulated
from making import RECORDINGS, by_hand
from remarking import facts

from coaxly.fitter import MODEL
from coaxly.job.many import parallel
from coaxly.job.recorded.pipeline import replay
from coaxly.job.steps.audit import audit, recordings_in
from coaxly.job.steps.differences import compare
from coaxly.job.sweep.replayrun import ReplayRun
from coaxly.job.sweep.resume import resume
from coaxly.logger.recording.seals import check_seals
from coaxly.main import main
from coaxly.say.job.audits import audit_words
from coaxly.say.sweep.sweepwords import told

pytestmark = pytest.mark.arithmetic

SAMPLE = RECORDINGS / "launch-found.jsonl"


def test_the_samples_are_sound():
    for path in RECORDINGS.glob("*.jsonl"):
        found = audit(path)
        assert found.state == "ok" and "the same result" in audit_words(found), found


@pytest.mark.parametrize("kind", ["flipped", "inserted", "deleted"])
def test_any_single_changed_byte_is_found(tmp_path, kind):
    good = SAMPLE.read_bytes()
    dice = random.Random(kind)
    path = tmp_path / "r.jsonl"
    # Anywhere, and everywhere in the last lines, where no later seal protects them.
    places = [dice.randrange(len(good)) for _ in range(700)] + list(range(len(good) - 300, len(good)))
    for at in places:
        data = bytearray(good)
        if kind == "flipped":
            data[at] ^= 1 << dice.randrange(8)
        elif kind == "inserted":
            data.insert(at + dice.randrange(2), dice.randrange(256))
        else:
            del data[at]
        path.write_bytes(data)
        if bytes(data) == good:
            continue
        assert audit(path).state in ("changed", "unreadable", "unfinished"), (
            at,
            data[max(0, at - 20) : at + 20],
        )


def test_line_ends_that_a_mail_program_turned_are_named_as_what_they_are(tmp_path):
    path = tmp_path / "r.jsonl"
    path.write_bytes(SAMPLE.read_bytes().replace(b"\n", b"\r\n"))
    found = audit(path)
    assert found.state == "changed" and "CR LF" in audit_words(found)
    path.write_bytes(SAMPLE.read_bytes().replace(b"+00", b"+01", 1))
    assert "CR LF" not in audit_words(audit(path))


def test_the_change_is_located_between_two_seals(tmp_path):
    lines = SAMPLE.read_bytes().splitlines(keepends=True)
    seals = [k for k, line in enumerate(lines) if b'"seal"' in line]
    middle = (seals[1] + seals[2]) // 2
    lines[middle] = lines[middle].replace(b"+", b"-")
    path = tmp_path / "r.jsonl"
    path.write_bytes(b"".join(lines))
    found = audit(path)
    assert found.state == "changed" and found.seals == 2
    assert f"between line {seals[1] + 2} and line {seals[2] + 1}" in audit_words(found)


def test_a_hand_written_recording_is_unsealed_but_replays(tmp_path):
    path = by_hand(tmp_path / "h.jsonl", [0, 0.001, 0.002, 0.001])
    found = audit(path)
    assert found.state == "unsealed" and "no result is stored" in audit_words(found)


def test_a_recording_that_was_broken_off_is_unfinished(tmp_path):
    lines = SAMPLE.read_bytes().splitlines(keepends=True)
    path = tmp_path / "r.jsonl"
    path.write_bytes(b"".join(lines[:-10]))
    found = audit(path)
    assert found.state == "unfinished" and "its end was removed" in audit_words(found) and not found.finished


def test_a_cut_right_after_a_seal_shows(tmp_path, capsys):
    lines = SAMPLE.read_bytes().splitlines(keepends=True)
    seals = [k for k, line in enumerate(lines, 1) if b'"seal"' in line]
    path = tmp_path / "r.jsonl"
    for count in seals[:-1]:
        path.write_bytes(b"".join(lines[:count]))
        assert main(["audit", str(path)]) == 1
        assert "cut short" in capsys.readouterr().out
    assert main(["audit", "--allow-unsealed", str(path)]) == 0


def test_what_has_no_seals_is_a_finding_unless_that_is_allowed(tmp_path, capsys):
    path = by_hand(tmp_path / "h.jsonl", [0, 0.001, 0.002, 0.001])
    assert main(["audit", str(path)]) == 1
    assert "never sealed" in capsys.readouterr().out
    assert main(["audit", "--allow-unsealed", str(path)]) == 0


def test_a_zeroed_page_is_named_by_audit_and_replay_and_the_rest_is_read(tmp_path, capsys):
    data = bytearray(SAMPLE.read_bytes())
    at = data.index(b"\n", 5000) + 1  # in raw lines of the second station
    line = data[:at].count(b"\n") + 1
    data[at : at + 512] = bytes(512)
    path = tmp_path / "r.jsonl"
    path.write_bytes(data)
    assert main(["audit", str(path)]) == 1
    said = capsys.readouterr().out
    assert said.startswith("changed") and f"line {line} (bytes {at} to " in said and "512 bytes" in said
    assert main(["replay", str(path)]) == 2 and "--anyway" in capsys.readouterr().err
    assert main(["replay", "--json", "--anyway", str(path)]) in (0, 1)
    result = json.loads(capsys.readouterr().out)
    whole = replay(SAMPLE).result()
    assert result["stations"] == whole.stations
    assert any(f"line {line} (bytes {at} to " in warning for warning in result["warnings"])
    assert result["tir"]["fitted"] == pytest.approx(whole.tir.fitted, rel=0.05)


def test_a_replay_on_the_screen_and_a_resumed_sweep_know_of_a_hole_too(tmp_path):
    lines = SAMPLE.read_bytes().splitlines(keepends=True)
    end = next(k for k, line in enumerate(lines) if b'"result"' in line)
    lines[300] = bytes(len(lines[300]) - 1) + b"\n"
    path = tmp_path / "r.jsonl"
    path.write_bytes(b"".join(lines[:end]))
    run = ReplayRun(path, 1.0)
    run.finish()
    simulated(run.play())
    resumed, _, _ = resume(path)
    resumed.finish()
    for result in (run.result, resumed.result, replay(path).result()):
        assert "damaged: line 301 " in facts(result, "damaged")["what"]
    assert not run.view().sealed


def test_rubbish_ends_a_replay_on_the_screen_in_words(tmp_path):
    path = by_hand(tmp_path / "r.jsonl", [0, 0.001])
    path.write_text(path.read_text() + "rubbish\n" * 50)
    run = ReplayRun(path, 1.0)
    run.finish()
    simulated(run.play())
    assert "line 6: not a record" in told(run.view().news)


def test_a_hole_in_a_recording_without_seals_is_a_finding_even_where_those_are_allowed(tmp_path, capsys):
    path = by_hand(tmp_path / "h.jsonl", [0, 0.001, 0.002, 0.001])
    path.write_text(path.read_text().replace('"kind": "raw"', '"kind": raw', 1))
    assert main(["audit", "--allow-unsealed", str(path)]) == 1
    assert "damaged" in capsys.readouterr().out


def test_a_fault_of_ours_on_one_file_does_not_end_the_audit_of_the_others(tmp_path, capsys, monkeypatch):
    for name in ("a", "b"):
        shutil.copy(SAMPLE, tmp_path / f"{name}.jsonl")

    def failing(path):
        if path.stem == "a":
            raise ZeroDivisionError("oops")
        return check_seals(path)

    monkeypatch.setattr("coaxly.job.steps.audit.check_seals", failing)
    assert main(["audit", "--json", str(tmp_path)]) == 1
    found = json.loads(capsys.readouterr().out)["recordings"]
    assert [each["state"] for each in found] == ["failed", "ok"] and "ZeroDivisionError" in found[0]["what"]


def test_a_process_that_is_killed_over_a_file_costs_that_file_only():
    words = ["1 + 1"] * 9 + ["__import__('os')._exit(9)"] + ["2 + 2"] * 2
    assert list(parallel.each(eval, words, lambda word: -1)) == [2] * 9 + [-1] + [4] * 2
    assert list(parallel.each(eval, words[:3], lambda word: -1)) == [2] * 3


def test_a_lack_of_memory_is_said_in_words(capsys, monkeypatch):
    def failing(path, given):
        raise MemoryError

    monkeypatch.setattr("coaxly.commands.replay.replay", failing)
    assert main(["replay", str(SAMPLE)]) == 3
    assert "more memory than there is" in capsys.readouterr().err


def test_job_and_stage_come_from_what_is_sealed_whatever_the_file_is_called(tmp_path, capsys):
    path = tmp_path / "somebody-elses-found.jsonl"
    shutil.copy(RECORDINGS / "launch-left.jsonl", path)
    assert main(["audit", str(path)]) == 0
    assert "(launch-marigold, as left)" in capsys.readouterr().out


def resealed(path, change, **made):
    """A recording with another result stored and honest seals, as another version might have left it."""
    from coaxly.logger.recording.reader import RecordingReader
    from coaxly.logger.recording.records import End, ResultRecord, Seal
    from coaxly.logger.recording.writer import RecordingWriter

    reader = RecordingReader(SAMPLE)
    with RecordingWriter(path, reader.header) as writer:
        for block in reader.blocks():
            for record in block:
                if isinstance(record, ResultRecord):
                    change(record.result)
                    record = msgspec.structs.replace(record, **made)
                if not isinstance(record, Seal | End):
                    writer.write(record)
        writer.finish()


def test_a_different_result_is_shown_side_by_side(tmp_path):
    path = tmp_path / "r.jsonl"
    resealed(path, lambda result: result["tir"].update(fitted=0.5))
    found = audit(path)
    assert found.state == "different"
    assert found.differences[0].key == "tir.fitted" and found.differences[0].stored == 0.5
    resealed(
        tmp_path / "turned.jsonl",
        lambda result: (result["tir"].update(swept=0.5), result["decision"].update(state="inside")),
    )
    assert "decision.state was inside, is now outside" in audit_words(audit(tmp_path / "turned.jsonl"))
    assert "made by" in audit_words(found) and found.largest > 0.1


def test_another_version_that_reckoned_otherwise_is_named_and_not_accused(tmp_path, monkeypatch):
    path = tmp_path / "r.jsonl"
    resealed(path, lambda result: result["tir"].update(fitted=0.5))
    monkeypatch.setattr("coaxly.job.steps.audit.__version__", "9.9.9")
    found = audit(path)
    assert found.state == "ok" and "made by another version" in audit_words(found)
    assert found.differences[0].key == "tir.fitted"


@pytest.mark.parametrize(("fit", "named"), [(0, "made by an earlier model"), (1, "made by model 1")])
def test_another_model_that_reckoned_otherwise_is_named_and_not_accused(tmp_path, fit, named):
    path = tmp_path / "r.jsonl"
    resealed(path, lambda result: result["tir"].update(fitted=0.5), fit=fit)
    found = audit(path)
    words = audit_words(found)
    assert found.state == "ok" and named in words and f"this is model {MODEL}" in words
    resealed(tmp_path / "now.jsonl", lambda result: result["tir"].update(fitted=0.5), fit=MODEL)
    assert audit(tmp_path / "now.jsonl").state == "different"


def test_a_result_says_which_model_made_it():
    assert replay(SAMPLE).stored.fit == MODEL


@pytest.mark.parametrize(("apart", "same"), [(5e-10, True), (2e-9, False), (1e-4, False)])
def test_more_than_a_billionth_is_more_than_rounding(apart, same):
    differences, largest = compare({"a": [1.0]}, {"a": [1.0 + apart]})
    assert (differences == []) == same and largest == pytest.approx(apart, rel=1e-3)


def test_rounding_between_machines_is_no_difference(tmp_path):
    path = tmp_path / "r.jsonl"
    resealed(path, lambda result: result["tir"].update(fitted=result["tir"]["fitted"] * (1 + 3e-11)))
    found = audit(path)
    assert found.state == "ok" and "rounding" in audit_words(found) and 1e-12 < found.largest < 1e-9


def test_facts_and_missing_keys_are_differences():
    differences, _ = compare({"a": "x", "b": [1]}, {"a": "y"})
    assert {d.key for d in differences} == {"a", "b"}


def test_words_put_better_and_more_to_say_are_no_difference(tmp_path):
    path = tmp_path / "r.jsonl"

    def reworded(result):
        result["warnings"] = ["the way this was put in another version"]
        del result["remarks"]
        result["eccentricity"]["high_clock"] = "half past one"
        for line in result["budget"]:
            line["source"] = line["source"].upper()
        del result["coverage_deg"]

    resealed(path, reworded)
    assert audit(path).state == "ok"
    resealed(
        tmp_path / "s.jsonl", lambda result: result["checks"].update(outliers=[{"deg": 45.0, "looks": "?"}])
    )
    assert audit(tmp_path / "s.jsonl").state == "different"


def test_what_was_remarked_is_compared_by_its_numbers(tmp_path):
    def noted(result, change):
        (note,) = (remark for remark in result["remarks"] if remark["kind"] == "unseen")
        change(note)

    def larger(result):
        noted(result, lambda note: note["facts"].update(allowed_mm=note["facts"]["allowed_mm"] * 1.1))

    resealed(tmp_path / "larger.jsonl", larger)
    found = audit(tmp_path / "larger.jsonl")
    assert found.state == "different" and found.differences[0].key == "remarks.unseen.facts.allowed_mm"
    resealed(tmp_path / "other.jsonl", lambda result: noted(result, lambda note: note.update(kind="gap")))
    assert audit(tmp_path / "other.jsonl").differences[0].key == "remarks.gap"
    resealed(tmp_path / "less.jsonl", lambda result: result["remarks"].clear())
    assert audit(tmp_path / "less.jsonl").state == "ok"


def test_a_result_is_stored_without_a_sentence():
    stored = replay(SAMPLE).stored.result
    assert "warnings" not in stored and stored["remarks"]


def test_the_command_goes_through_folders_and_says_what_is_wrong(tmp_path, capsys):
    folder = tmp_path / "jobs" / "deep"
    folder.mkdir(parents=True)
    for k in range(10):
        shutil.copy(SAMPLE, folder / f"{k}.jsonl")
    assert main(["audit", str(tmp_path)]) == 0
    assert "10 recordings: 10 ok" in capsys.readouterr().out
    bad = folder / "3.jsonl"
    bad.write_bytes(bad.read_bytes().replace(b"+00", b"+01", 1))
    (folder / "x.jsonl").write_text("nonsense\n")
    assert main(["audit", str(tmp_path), "--json"]) == 1
    answer = json.loads(capsys.readouterr().out)
    states = {r["path"].rsplit("/", 1)[-1]: r["state"] for r in answer["recordings"]}
    assert states["3.jsonl"] == "changed" and states["x.jsonl"] == "unreadable" and answer["bad"] == 2


def test_a_path_that_is_not_there_is_a_mistake_and_no_finding(tmp_path, capsys):
    assert main(["audit", str(SAMPLE), str(tmp_path / "nothing-here")]) == 2
    said = capsys.readouterr()
    assert "nothing-here is not there: name a recording" in said.err and not said.out


def test_an_empty_folder_is_said(tmp_path, capsys):
    assert main(["audit", str(tmp_path)]) == 2
    assert "no recordings" in capsys.readouterr().err
    assert recordings_in([SAMPLE, SAMPLE]) == [SAMPLE]


def test_seals_written_by_another_program_hold(tmp_path):
    """Any order of keys and either usual spacing, as the format allows."""
    import hashlib

    path = by_hand(tmp_path / "h.jsonl", [0, 0.001, 0.002, 0.001])
    text = path.read_text()
    seal = {
        "t": 9.9,
        "kind": "seal",
        "lines": text.count("\n"),
        "sha256": hashlib.sha256(text.encode()).hexdigest(),
    }
    for spaced in ((",", ":"), (", ", ": ")):
        path.write_text(text + json.dumps(seal, separators=spaced) + "\n")
        assert check_seals(path).state == "ok"


# Signatures -------------------------------------------------------------------------------------


@pytest.fixture
def workshop(tmp_path, monkeypatch):
    """A workshop with its own configuration folder, to make keys in."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def typed_sweep(monkeypatch, name):
    lines = "".join(f"{value}\n" for value in (0.10, 0.12, 0.14, 0.12, 0.10)) + "done\n"
    monkeypatch.setattr("sys.stdin", io.StringIO(lines))
    words = ["sweep", "--profile", "typed", "--unit", "mm", "--stations", "4", "--headless", "--out", name]
    assert main(words) in (0, 1)
    return Path(name)


def test_a_sweep_is_signed_once_the_workshop_has_a_key(workshop, monkeypatch, capsys):
    typed_sweep(monkeypatch, "before.jsonl")
    assert main(["key", "--make"]) == 0
    assert "public key" in capsys.readouterr().out
    typed_sweep(monkeypatch, "after.jsonl")
    capsys.readouterr()
    assert main(["audit", "before.jsonl", "after.jsonl"]) == 0
    before, after, _ = capsys.readouterr().out.splitlines()
    assert "signed" not in before and "signed by this workshop" in after
    assert main(["audit", "--signed", "before.jsonl", "after.jsonl"]) == 1
    said = capsys.readouterr().out
    assert "1 ok, 1 unsigned" in said and "no key that is known here" in said


def test_a_key_of_somebody_else_is_not_known_until_it_is_made_so(workshop, monkeypatch, capsys):
    main(["key", "--make"])
    capsys.readouterr()
    main(["key", "--json"])
    key = json.loads(capsys.readouterr().out)["own"]
    typed_sweep(monkeypatch, "r.jsonl")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(workshop / "another"))
    capsys.readouterr()
    assert main(["audit", "r.jsonl"]) == 0
    assert "signed by a key that is not known here" in capsys.readouterr().out
    assert main(["audit", "--signed", "r.jsonl"]) == 1
    assert main(["key", "--know", key, "--name", "front bench"]) == 0
    capsys.readouterr()
    assert main(["audit", "--signed", "--json", "r.jsonl"]) == 0
    found = json.loads(capsys.readouterr().out)["recordings"][0]
    assert (found["signer"], found["key"], found["finished"]) == ("front bench", key, True)
    assert main(["key", "--know", key, "--name", "second"]) == 2


def test_what_is_edited_and_sealed_anew_passes_the_seals_but_not_the_signature(workshop, monkeypatch, capsys):
    main(["key", "--make"])
    path = typed_sweep(monkeypatch, "r.jsonl")
    lines = [json.loads(line) for line in path.read_bytes().splitlines()]
    lines[0]["operator"] = "somebody else"

    def resealed(entries):
        data = b""
        for entry in entries:
            if "sha256" in entry:
                entry["sha256"] = hashlib.sha256(data).hexdigest()
            data += json.dumps(entry).encode() + b"\n"
        path.write_bytes(data)

    resealed(lines)
    capsys.readouterr()
    assert main(["audit", "r.jsonl"]) == 1
    assert "the signature of its end is not of the key it names" in capsys.readouterr().out
    # Stripped of its signature it passes for one that was never signed, and only then.
    resealed([{k: v for k, v in entry.items() if k not in ("key", "signature")} for entry in lines])
    assert main(["audit", "r.jsonl"]) == 0
    assert main(["audit", "--signed", "r.jsonl"]) == 1


@pytest.mark.parametrize(
    "words",
    [
        ["--know", "00"],
        ["--know", "zz", "--name", "x"],
        ["--know", "0" * 64, "--name", '"; x'],
        ["--know", "0" * 64, "--name", "this workshop"],
    ],
)
def test_a_key_that_is_none_or_a_name_that_cannot_be_is_refused_in_words(workshop, words, capsys):
    assert main(["key", *words]) == 2
    assert capsys.readouterr().err.startswith("coaxly: ")


def test_a_broken_file_of_known_keys_is_named_and_a_broken_key_stops_a_sweep_before_it_begins(
    workshop, monkeypatch, capsys
):
    main(["key", "--make"])
    folder = workshop / "config" / "coaxly"
    (folder / "workshop.key").write_text("broken")
    words = ["sweep", "--profile", "typed", "--unit", "mm", "--headless", "--out", "r.jsonl"]
    assert main(words) == 2
    assert "is no key" in capsys.readouterr().err and not Path("r.jsonl").exists()
    (folder / "workshop.key").unlink()
    (folder / "known-keys.toml").write_text("x = 1\n")
    assert main(["audit", str(SAMPLE)]) == 2
    assert "known-keys.toml" in capsys.readouterr().err
