"""Writer and reader together: what is written reads back, sealed, torn or strange."""

import hashlib
import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from making import header_line

from logger.errors import RecordingError, WriteError
from logger.reader import RecordingReader
from logger.records import FORMAT, VERSION, Header, Link, Note, Raw, Seal, Station, Undo, Unknown
from logger.writer import SEAL_S, RecordingWriter

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
    assert RecordingReader(path).header == HEADER
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
        ("hello\n", "line 1: not a record"),
        ('{"t":1,"kind":"undo"}\n', "first line must be the header"),
        (header_line().replace(FORMAT, "other") + "\n", "format"),
        (header_line().replace('"version": 1', '"version": 9') + "\n", "version 9"),
        (header_line() + "\n{]\n{}\n", "line 2: not a record"),
        (header_line() + '\n{"t":"x","kind":"undo"}\n{"t":1,"kind":"undo"}\n', "line 2: not a proper 'undo'"),
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
