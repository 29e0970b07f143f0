"""Every changed byte is found; a changed result is shown side by side; rounding is no change."""

import json
import random
import shutil

import pytest
from making import RECORDINGS, by_hand

from logger.seals import check_seals
from tui.audit import audit, compare, recordings_in
from tui.main import main

pytestmark = pytest.mark.arithmetic

SAMPLE = RECORDINGS / "launch-found.jsonl"


def test_the_samples_are_sound():
    for path in RECORDINGS.glob("*.jsonl"):
        found = audit(path)
        assert found.state == "ok" and "the same result" in found.what, found


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
        assert audit(path).state in ("changed", "unreadable"), (at, data[max(0, at - 20) : at + 20])


def test_the_change_is_located_between_two_seals(tmp_path):
    lines = SAMPLE.read_bytes().splitlines(keepends=True)
    seals = [k for k, line in enumerate(lines) if b'"seal"' in line]
    middle = (seals[1] + seals[2]) // 2
    lines[middle] = lines[middle].replace(b"+", b"-")
    path = tmp_path / "r.jsonl"
    path.write_bytes(b"".join(lines))
    found = audit(path)
    assert found.state == "changed" and found.seals == 2
    assert f"between line {seals[1] + 2} and line {seals[2] + 1}" in found.what


def test_a_hand_written_recording_is_unsealed_but_replays(tmp_path):
    path = by_hand(tmp_path / "h.jsonl", [0, 0.001, 0.002, 0.001])
    found = audit(path)
    assert found.state == "unsealed" and "no result is stored" in found.what


def test_a_recording_that_was_broken_off_is_unsealed(tmp_path):
    lines = SAMPLE.read_bytes().splitlines(keepends=True)
    path = tmp_path / "r.jsonl"
    path.write_bytes(b"".join(lines[:-10]))
    assert audit(path).state == "unsealed"


def resealed(path, change):
    """A recording with another result stored and honest seals, as another version might have left it."""
    from logger.reader import RecordingReader
    from logger.records import ResultRecord, Seal
    from logger.writer import RecordingWriter

    reader = RecordingReader(SAMPLE)
    with RecordingWriter(path, reader.header) as writer:
        for block in reader.blocks():
            for record in block:
                if isinstance(record, ResultRecord):
                    change(record.result)
                if not isinstance(record, Seal):
                    writer.write(record)


def test_a_different_result_is_shown_side_by_side(tmp_path):
    path = tmp_path / "r.jsonl"
    resealed(path, lambda result: result["tir"].update(fitted=0.5))
    found = audit(path)
    assert found.state == "different"
    assert found.differences[0].key == "tir.fitted" and found.differences[0].stored == 0.5
    assert "made by" in found.what and found.largest > 0.1


def test_rounding_between_machines_is_no_difference(tmp_path):
    path = tmp_path / "r.jsonl"
    resealed(path, lambda result: result["tir"].update(fitted=result["tir"]["fitted"] * (1 + 3e-11)))
    found = audit(path)
    assert found.state == "ok" and "rounding" in found.what and 1e-12 < found.largest < 1e-9


def test_facts_and_missing_keys_are_differences():
    differences, _ = compare({"a": "x", "b": [1]}, {"a": "y"})
    assert {d.key for d in differences} == {"a", "b"}


def test_words_put_better_and_more_to_say_are_no_difference(tmp_path):
    path = tmp_path / "r.jsonl"

    def reworded(result):
        result["warnings"] = ["the way this was put in another version"]
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
    assert main(["audit", str(tmp_path / "nothing-here")]) == 1


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
