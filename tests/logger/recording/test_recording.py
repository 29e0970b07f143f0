"""Writer and reader together: what is written reads back, sealed, torn or strange."""

import hashlib
import json
import os
import re
from pathlib import Path

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from making import header_line

from coaxly.logger.errors import RecordingError, WriteError
from coaxly.logger.recording.reader import RecordingReader
from coaxly.logger.recording.records import (
    FORMAT,
    VERSION,
    End,
    Header,
    Link,
    Note,
    Raw,
    Seal,
    Station,
    Undo,
    Unknown,
)
from coaxly.logger.recording.seals import check_seals
from coaxly.logger.recording.writer import SEAL_S, RecordingWriter

replace = msgspec.structs.replace

HEADER = Header(format=FORMAT, version=VERSION, created="2026-03-02T09:14:05Z", job="x")


def read(path):
    reader = RecordingReader(path)
    return [record for block in reader.blocks() for record in block]


RECORDS = st.one_of(
    st.builds(Raw, t=st.floats(0, 1e4), port=st.sampled_from(["indicator", "encoder"]),
              data=st.binary(max_size=40).map(lambda b: b.decode("latin-1"))),
    st.builds(Station, t=st.floats(0, 1e4), deg=st.floats(-720, 720)),
    st.builds(Undo, t=st.floats(0, 1e4)),
    st.builds(Link, t=st.floats(0, 1e4), port=st.just("indicator"), state=st.sampled_from(["up", "lost"])),
    st.builds(Note, t=st.floats(0, 1e4), text=st.text(max_size=20)),
)  # fmt: skip


@given(st.lists(RECORDS, max_size=30))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_what_is_written_reads_back(tmp_path, records):
    path = tmp_path / "r.jsonl"
    path.unlink(missing_ok=True)
    with RecordingWriter(path, HEADER) as writer:
        for record in records:
            writer.write(record)
    with RecordingReader(path) as reader:
        assert reader.header == replace(HEADER, ends=True)
    assert [r for r in read(path) if not isinstance(r, Seal)] == records


def test_every_seal_holds_the_hash_of_all_before_it(tmp_path):
    path = tmp_path / "r.jsonl"
    with RecordingWriter(path, HEADER) as writer:
        for k in range(100):
            writer.write(Raw(k * 0.1, "indicator", "+1.0\r\n"))
    before, seals, lines = b"", 0, path.read_bytes().splitlines(keepends=True)
    for count, line in enumerate(lines):
        entry = json.loads(line)
        if entry["kind"] == "seal":
            seals += 1
            assert entry["sha256"] == hashlib.sha256(before).hexdigest()
            assert entry["lines"] == count
        before += line
    assert json.loads(lines[-1])["kind"] == "seal"
    assert seals >= 9.9 // SEAL_S


def test_operator_events_are_on_the_disk_at_once(tmp_path):
    path = tmp_path / "r.jsonl"
    writer = RecordingWriter(path, HEADER)
    writer.write(Raw(0.1, "indicator", "+1.0\r\n"))
    writer.write(Station(0.2, 45.0))
    assert read(path)[-1] == Station(0.2, 45.0)
    writer.abandon()


def test_a_quiet_line_is_sealed_all_the_same(tmp_path):
    path = tmp_path / "r.jsonl"
    writer = RecordingWriter(path, HEADER)
    writer.write(Raw(0.1, "indicator", "+1.0\r\n"))
    writer.tick(SEAL_S + 0.2)
    size = path.stat().st_size
    assert isinstance(read(path)[-1], Seal)
    writer.tick(3 * SEAL_S)
    assert path.stat().st_size == size
    writer.abandon()


def test_an_existing_file_is_never_written_over(tmp_path):
    path = tmp_path / "r.jsonl"
    path.write_text("precious")
    with pytest.raises(WriteError, match="File exists"):
        RecordingWriter(path, HEADER)
    assert path.read_text() == "precious"


def test_a_torn_last_line_is_named_and_left_out(tmp_path):
    path = tmp_path / "r.jsonl"
    path.write_text(header_line() + '\n{"t":1,"kind":"undo"}\n{"t":2,"ki')
    reader = RecordingReader(path)
    assert [record for block in reader.blocks() for record in block] == [Undo(1.0)]
    assert "line 3" in reader.torn


def test_unknown_kinds_are_skipped_and_blank_lines_forgiven(tmp_path):
    path = tmp_path / "r.jsonl"
    path.write_text(header_line() + '\n\n{"kind":"weather","rain":true}\n{"t":1,"kind":"undo","new":1}')
    assert read(path) == [Unknown("weather"), Undo(1.0)]


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("", "empty"),
        ("hello\n", "line 1: it is no recording"),
        ('{"t":1,"kind":"undo"}\n', "first line must be the header"),
        (header_line().replace(FORMAT, "other") + "\n", "format"),
        (header_line().replace('"version": 1', '"version": 9') + "\n", "version 9"),
        (header_line() + "\n{]\n{}\n", "line 2: not a record"),
        (header_line() + '\n{"t":"x","kind":"undo"}\n', "line 2: not a proper 'undo'"),
        (header_line() + '\n{"t":-1e308,"kind":"undo"}\n', "line 2: not a proper 'undo'"),
        (header_line() + '\n{"t":1e308,"kind":"undo"}\n', "line 2: not a proper 'undo'"),
        (header_line() + '\n{"t":1,"kind":"station","deg":1e300}\n', "line 2: not a proper 'station'"),
        (header_line() + '\n{"t":1,"kind":"undo"}\n' + "rubbish\n" * 3, "line 3: not a record.*3 of 5 lines"),
        ("\0" * 4096 + header_line() + "\n", "line 1: 4096 bytes of it are zero"),
        (header_line() + "\n" + "[" * 100_000 + "\n\n", "line 2"),
        (header_line() + '\n{"t":NaN,"kind":"undo"}\n\n', "line 2"),
    ],
)
def test_a_file_that_is_no_recording_says_where_and_why(tmp_path, text, what):
    path = tmp_path / "r.jsonl"
    path.write_text(text)
    with pytest.raises(RecordingError, match=what.replace("(", r"\(")):
        read(path)


def test_a_line_without_end_is_not_read_into_memory(tmp_path):
    path = tmp_path / "r.jsonl"
    with path.open("w") as file:
        file.write(header_line() + "\n")
        for _ in range(64):
            file.write("x" * (1 << 16))
    with pytest.raises(RecordingError, match="too long"):
        read(path)


def test_a_missing_file_is_an_error_in_words(tmp_path):
    with pytest.raises(RecordingError, match="No such file"):
        RecordingReader(tmp_path / "nope.jsonl")


@given(st.binary(max_size=200))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_bytes_are_read_or_refused_in_words(tmp_path, data):
    path = tmp_path / "r.jsonl"
    path.write_bytes(header_line().encode() + b"\n" + data)
    try:
        read(path)
    except RecordingError as error:
        assert error.path == path


# Holes ------------------------------------------------------------------------------------------


def long_recording(path, count=400):
    with RecordingWriter(path, HEADER) as writer:
        for k in range(count):
            writer.write(Note(k * 0.05, f"note {k} of some length, so that a page holds many of them"))
        writer.finish()
    return path


@pytest.mark.parametrize("page", [1, 3, 5])
def test_one_zeroed_page_costs_its_own_lines_only_and_is_named(tmp_path, page):
    path = long_recording(tmp_path / "r.jsonl")
    data = bytearray(path.read_bytes())
    line = data[: page * 4096].count(b"\n") + 1
    start = data.rfind(b"\n", 0, page * 4096) + 1
    data[page * 4096 : (page + 1) * 4096] = bytes(4096)
    path.write_bytes(data)
    reader = RecordingReader(path)
    texts = [r.text for block in reader.blocks() for r in block if isinstance(r, Note)]
    assert len(texts) > 300 and texts[-1].startswith("note 399")
    assert reader.bad == 1 and (reader.holes[0].line, reader.holes[0].start) == (line, start)
    assert f"line {line} (bytes {start} to " in reader.damage and "4096 bytes of it are zero" in reader.damage


def test_the_line_numbers_and_places_of_many_holes_are_right(tmp_path):
    path = tmp_path / "r.jsonl"
    good = b'{"t":1,"kind":"undo"}\n'
    lines = [header_line().encode() + b"\n", *[good] * 30_000]
    bad = {7: b"rubbish\n", 20_000: b"x" * (3 << 20) + b"\n", 20_001: b'{"t":"x","kind":"undo"}\n'}
    for at, line in bad.items():
        lines[at - 1] = line
    path.write_bytes(b"".join(lines))
    reader = RecordingReader(path)
    assert sum(map(len, reader.blocks())) == 30_000 - len(bad)
    offsets = [sum(map(len, lines[: at - 1])) for at in bad]
    assert [(hole.line, hole.start, hole.size) for hole in reader.holes] == [
        (at, offset, len(line) - 1 + (len(line) > 1 << 20))
        for (at, line), offset in zip(bad.items(), offsets, strict=True)
    ]
    assert "3 lines cannot be read, first line 7" in reader.damage


def test_rubbish_without_end_is_given_up_early(tmp_path):
    path = tmp_path / "r.jsonl"
    path.write_bytes(header_line().encode() + b"\n" + b"rubbish\n" * 3_000_000)
    with pytest.raises(RecordingError, match=r"line 2: not a record.*\((\d+) of") as caught:
        read(path)
    assert int(re.search(r"\((\d+) of", str(caught.value))[1]) < 100_000


# What seals and end prove -----------------------------------------------------------------------

SEALED_RECORDS = st.lists(
    st.one_of(
        st.builds(Raw, t=st.just(0.0), port=st.just("indicator"),
                  data=st.sampled_from(["+1\r\n", "\0\xff", '"kind":"seal"', "\\u0041", "\n"])),
        st.builds(Note, t=st.just(0.0), text=st.sampled_from(["", "end", '{"kind":"seal"}', "\u2028"])),
        st.builds(Station, t=st.just(0.0), deg=st.sampled_from([0.0, 45.0])),
    ),
    max_size=8,
)  # fmt: skip


def written(path, records, ending, step=0.9):
    """The bytes of a recording: finished, closed, or as a crash leaves it after its last flush."""
    path.unlink(missing_ok=True)
    writer = RecordingWriter(path, replace(HEADER, software="1"))
    for k, record in enumerate(records):
        writer.write(replace(record, t=round(k * step, 6)))
    getattr(writer, ending)()
    return path.read_bytes()


def as_an_earlier_version_wrote_it(path, records, *, result=True):
    """No announcement and no end: a seal now and then, the result, a last seal."""
    header = json.loads(header_line(software="1"))
    kinds = [json.loads(msgspec.json.encode(record)) for record in records]
    data, last = json.dumps(header).encode() + b"\n", 0.0

    def seal(t):
        digest = hashlib.sha256(data).hexdigest()
        entry = {"t": t, "kind": "seal", "lines": data.count(b"\n"), "sha256": digest}
        return json.dumps(entry).encode() + b"\n"

    for k, entry in enumerate(kinds):
        last = round(k * 0.9, 6)
        data += json.dumps({**entry, "t": last}).encode() + b"\n"
        if k % 3 == 2:
            data += seal(last)
    if result:
        data += json.dumps({"t": last, "kind": "result", "result": {"a": 1}}).encode() + b"\n"
    data += seal(last)
    path.write_bytes(data)
    return data


def state(path, data):
    """What the seals of these bytes say; "unreadable" is not theirs to say."""
    path.write_bytes(data)
    return check_seals(path).state


def places(data, dice):
    """Some bytes of a file, with each of its line ends and what stands around them."""
    ends = [k for k, byte in enumerate(data) if byte == 10]
    near = {k + step for k in dice.sample(ends, min(6, len(ends))) + ends[-1:] for step in (-1, 0, 1)}
    return sorted((near | {dice.randrange(len(data)) for _ in range(25)}) & set(range(len(data))))


SLOW = settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
    deadline=None,
    max_examples=25,
)


@given(
    SEALED_RECORDS,
    st.sampled_from(["finish", "close", "abandon", "earlier", "earlier, no result"]),
    st.randoms(use_true_random=False),
)
@SLOW
def test_no_cut_is_taken_for_a_change_and_none_of_a_finished_recording_for_nothing(
    tmp_path, records, how, dice
):
    path = tmp_path / "r.jsonl"
    if how.startswith("earlier"):
        data = as_an_earlier_version_wrote_it(path, records, result=how == "earlier")
    else:
        data = written(path, records, how)
    whole = check_seals(path).state
    assert whole == ("ok" if how == "finish" or how.startswith("earlier") else "unfinished")
    for cut in places(data, dice):
        found = state(path, data[:cut])
        assert found != "changed", data[:cut]
        assert found != "ok" or how.startswith("earlier"), data[:cut]


@given(SEALED_RECORDS, st.sampled_from(["finish", "earlier"]), st.randoms(use_true_random=False))
@SLOW
def test_any_byte_of_a_finished_recording_that_is_changed_removed_or_added_shows(
    tmp_path, records, how, dice
):
    path = tmp_path / "r.jsonl"
    data = written(path, records, how) if how == "finish" else as_an_earlier_version_wrote_it(path, records)
    for at in places(data, dice):
        other = dice.choice([byte for byte in range(256) if byte != data[at]])
        for tampered in (
            data[:at] + bytes([other]) + data[at + 1 :],
            data[:at] + data[at + 1 :],
            data[:at] + bytes([other]) + data[at:],
        ):
            assert state(path, tampered) != "ok", (at, tampered[max(0, at - 30) : at + 30])
    assert state(path, data + bytes([dice.randrange(256)])) != "ok"


@given(SEALED_RECORDS, st.sampled_from(["finish", "earlier"]))
@SLOW
def test_any_two_lines_that_are_swapped_or_one_that_is_left_out_shows(tmp_path, records, how):
    path = tmp_path / "r.jsonl"
    data = written(path, records, how) if how == "finish" else as_an_earlier_version_wrote_it(path, records)
    lines = data.replace(b"\n", b"\n\0").split(b"\0")[:-1]
    for a in range(len(lines)):
        if a < len(lines) - 1 or how == "finish":
            assert state(path, b"".join(lines[:a] + lines[a + 1 :])) != "ok"
        for b in range(a):
            swapped = list(lines)
            swapped[a], swapped[b] = swapped[b], swapped[a]
            if swapped != lines:
                assert state(path, b"".join(swapped)) != "ok", (a, b)


def test_a_recording_without_its_seals_is_not_taken_for_sound(tmp_path):
    path = tmp_path / "r.jsonl"
    notes = [Note(0.0, "x")] * 6
    written(path, notes, "finish")
    bare = b"".join(line for line in path.open("rb") if b'"seal"' not in line)
    assert state(path, bare) == "changed"
    as_an_earlier_version_wrote_it(path, notes)
    bare = b"".join(line for line in path.open("rb") if b'"seal"' not in line)
    assert state(path, bare) == "unsealed"


def test_a_crash_is_called_unfinished_and_says_from_which_line_on_nothing_is_proved(tmp_path):
    path = tmp_path / "r.jsonl"
    data = written(path, [Note(0.0, "x")] * 8, "finish")
    seals = [k for k, line in enumerate(data.split(b"\n"), 1) if b'"seal"' in line]
    lines = data.split(b"\n")
    torn = b"\n".join(lines[: seals[1] + 1]) + b"\n" + lines[seals[1] + 1][:9]
    path.write_bytes(torn)
    found = check_seals(path)
    assert (found.state, found.seals, found.sealed_lines) == ("unfinished", 2, seals[1])
    assert f"lines {seals[1] + 1} to {seals[1] + 2} have none" in found.what


def test_the_last_seal_of_a_recording_can_be_asked_for(tmp_path):
    path = tmp_path / "r.jsonl"
    written(path, [Note(0.0, "x")] * 8, "finish")
    seal = json.loads(path.read_bytes().splitlines()[-1])
    assert check_seals(path).head == seal["sha256"]
    path.write_text(header_line() + "\n")
    assert check_seals(path).head == ""


def test_a_seal_spelt_with_escapes_is_a_seal_all_the_same(tmp_path):
    path = tmp_path / "r.jsonl"
    data = written(path, [Note(0.0, "x")] * 3, "close").replace(b'"note"', b'"n\\u006fte"')
    lines = data.split(b"\n")[:4]
    body = b"\n".join(lines) + b"\n"
    seal = {"kind": "seal", "t": 1.8, "lines": 4, "sha256": hashlib.sha256(body).hexdigest()}
    text = json.dumps(seal).replace('"seal"', '"\\u0073eal"').encode()
    path.write_bytes(body + text + b"\n")
    # It is found, and refused: no writer spells it so, and nothing else protects a last seal.
    assert check_seals(path).state == "changed"
    path.write_bytes(body + json.dumps(seal).encode() + b"\n")
    assert check_seals(path).seals == 1


def test_a_seal_may_be_followed_by_lines_too_long_to_hold(tmp_path):
    path = tmp_path / "r.jsonl"
    data = written(path, [Note(0.0, "x")] * 3, "close")
    path.write_bytes(data + b"y" * (3 << 20) + b"\n")
    found = check_seals(path)
    assert found.state == "unfinished" and found.seals == 1


def test_a_recording_that_goes_on_after_a_crash_is_sealed_to_its_end(tmp_path):
    path = tmp_path / "r.jsonl"
    data = written(path, [Note(0.0, "x")] * 8, "finish")
    for cut in range(data.index(b"\n") + 1, len(data) - 1, 7):
        path.write_bytes(data[:cut])
        if b'"kind":"end"' in data[: data.rfind(b"\n", 0, cut)]:
            break
        writer = RecordingWriter.resume(path)
        assert writer.lines == data[:cut].count(b"\n")
        writer.close()
        assert check_seals(path).what.startswith("cut short: it was never finished")
        writer = RecordingWriter.resume(path)
        writer.write(Note(99.0, "goes on"))
        writer.finish()
        assert check_seals(path).state == "ok"


def test_a_finished_recording_says_so_in_its_last_record(tmp_path):
    path = tmp_path / "r.jsonl"
    data = written(path, [Note(0.0, "x")], "finish")
    *before, end, seal, rest = data.split(b"\n")
    body = b"\n".join(before) + b"\n"
    assert json.loads(end) == {
        "kind": "end",
        "t": 0.0,
        "records": 2,
        "sha256": hashlib.sha256(body).hexdigest(),
    }
    assert json.loads(seal)["kind"] == "seal" and rest == b""
    assert isinstance(read(path)[-2], End)


def test_a_disk_that_is_full_at_the_start_leaves_no_empty_file(tmp_path, monkeypatch):
    def full(self, t):
        raise WriteError(self.path, OSError(28, "No space left on device"))

    monkeypatch.setattr(RecordingWriter, "_flush", full)
    with pytest.raises(WriteError, match="No space"):
        RecordingWriter(tmp_path / "r.jsonl", HEADER)
    assert not (tmp_path / "r.jsonl").exists()


@pytest.mark.parametrize("what", ["pipe", "folder", "device"])
def test_what_is_no_file_is_refused_at_once(tmp_path, what):
    path = tmp_path / "x.jsonl"
    if what == "pipe":
        os.mkfifo(path)
    elif what == "folder":
        path.mkdir()
    else:
        path = Path("/dev/zero")
    for look in (RecordingReader, check_seals):
        with pytest.raises(RecordingError, match="folder" if what == "folder" else "pipe or a device"):
            look(path)


def test_text_that_is_no_unicode_is_written_with_a_mark_in_its_place(tmp_path):
    path = tmp_path / "r.jsonl"
    with RecordingWriter(path, replace(HEADER, job="a\udcff")) as writer:
        writer.write(Note(1.0, "b\udcff"))
    reader = RecordingReader(path)
    assert reader.header.job == "a?" and next(reader.blocks())[0] == Note(1.0, "b?")


@pytest.mark.parametrize("t", [0.0, 1e-6, 8.9e-05, 0.0001, 12.25, 1e6])
def test_a_recording_that_ended_at_any_time_is_as_it_was_written(tmp_path, t):
    path = tmp_path / "r.jsonl"
    with RecordingWriter(path, HEADER) as writer:
        writer.write(Raw(t, "indicator", "+1.0\r\n"))
        writer.finish()
    assert check_seals(path).state == "ok"
    last = path.read_bytes().splitlines(keepends=True)[-1]
    path.write_bytes(path.read_bytes().removesuffix(last) + last.replace(b',"lines"', b', "lines"'))
    assert check_seals(path).state == "changed"


def test_an_end_that_does_not_fit_is_placed_between_the_seal_before_it_and_its_own_line(tmp_path):
    path = tmp_path / "r.jsonl"
    lines = written(path, [Raw(k * 0.9, "indicator", "+1.0\r\n") for k in range(9)], "finish").splitlines(
        True
    )
    seals = [k for k, line in enumerate(lines, 1) if b'"kind":"seal"' in line]
    (end,) = (k for k, line in enumerate(lines, 1) if b'"kind":"end"' in line)
    before = max(k for k in seals if k < end)
    entry = json.loads(lines[end - 1])
    for key, other in (("sha256", "0" * 64), ("records", entry["records"] + 1)):
        lines[end - 1] = json.dumps({**entry, key: other}, separators=(",", ":")).encode() + b"\n"
        path.write_bytes(b"".join(lines))
        where = f"in line {end}" if end == before + 1 else f"between line {before + 1} and line {end}"
        assert check_seals(path).what == f"bytes were changed, added or removed {where}"
