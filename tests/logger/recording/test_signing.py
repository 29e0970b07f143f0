"""The workshop's key: what it signs nobody can rewrite, and nobody else can sign."""

import hashlib
import json
import os
import stat

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coaxly.logger.recording.records import FORMAT, VERSION, End, Header, Note
from coaxly.logger.recording.seals import check_seals
from coaxly.logger.recording.signing import KeyFileError, WorkshopKey, mark, signature_holds
from coaxly.logger.recording.writer import RecordingWriter


@pytest.fixture(scope="module")
def key(tmp_path_factory):
    return WorkshopKey.make(tmp_path_factory.mktemp("keys") / "deep" / "workshop.key")


def signed(path, key):
    with RecordingWriter(path, Header(FORMAT, VERSION, software="1")) as writer:
        writer.signer = key
        for k in range(5):
            writer.write(Note(float(k), "x"))
        writer.finish()
    return path


def test_a_key_is_for_its_owners_eyes_only_and_loads_again(tmp_path):
    path = tmp_path / "workshop.key"
    assert WorkshopKey.load(path) is None
    made = WorkshopKey.make(path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert WorkshopKey.load(path).key == made.key and len(made.key) == 64
    assert made.key not in path.read_text()
    secret = path.read_text()
    with pytest.raises(KeyFileError, match="is there already"):
        WorkshopKey.make(path)
    assert path.read_text() == secret


@pytest.mark.parametrize("content", ["", "nonsense", "00" * 31, "zz" * 32, "é" * 32, "0" * 100_000])
def test_what_is_no_key_is_refused_in_words(tmp_path, content):
    path = tmp_path / "workshop.key"
    path.write_text(content)
    path.chmod(0o600)
    with pytest.raises(KeyFileError, match=r"no key|larger than"):
        WorkshopKey.load(path)


@pytest.mark.skipif(os.name != "posix", reason="only there have files such modes")
def test_a_key_that_others_may_read_is_refused(tmp_path):
    path = tmp_path / "workshop.key"
    WorkshopKey.make(path)
    path.chmod(0o640)
    with pytest.raises(KeyFileError, match="others may read it"):
        WorkshopKey.load(path)


def test_the_end_of_a_recording_is_signed(tmp_path, key):
    end = check_seals(signed(tmp_path / "r.jsonl", key)).end
    assert end.key == key.key and signature_holds(end)
    assert len(mark(end.key)) == 19


def test_a_recording_that_is_edited_and_sealed_anew_is_not_signed_any_more(tmp_path, key):
    path = signed(tmp_path / "r.jsonl", key)
    lines = path.read_bytes().splitlines(keepends=True)
    lines[2] = lines[2].replace(b"x", b"y")
    data = b"".join(lines[:-2])
    for line in lines[-2:]:
        entry = json.loads(line)
        entry["sha256"] = hashlib.sha256(data).hexdigest()
        data += json.dumps(entry).encode() + b"\n"
    # Seals between are not there in so short a file: all that is left to forge is the signature.
    path.write_bytes(data)
    found = check_seals(path)
    assert found.state == "changed" or not signature_holds(found.end)


def sealed_anew(lines):
    """The lines with every seal set right, and the end as it is."""
    data, count = b"", 0
    for line in lines:
        entry = json.loads(line)
        if entry["kind"] == "seal":
            entry |= {"sha256": hashlib.sha256(data).hexdigest(), "lines": count}
            line = json.dumps(entry, separators=(",", ":")).encode() + b"\n"
        data, count = data + line, count + 1
    return data


@pytest.mark.parametrize("edit", ["nothing", "a line", "the count"])
def test_seals_made_anew_do_not_hide_that_the_end_speaks_of_other_lines(tmp_path, key, edit):
    """The signature is over the hash that stands in the end: kept as it is, it holds, whatever comes before."""
    path = signed(tmp_path / "r.jsonl", key)
    lines = path.read_bytes().splitlines(keepends=True)
    if edit == "a line":
        lines[2] = lines[2].replace(b'"x"', b'"y"')
    elif edit == "the count":
        count = len(lines) - 2
        lines[-2] = lines[-2].replace(b'"records":%d,' % count, b'"records":%d,' % (count + 1))
    path.write_bytes(sealed_anew(lines))
    assert check_seals(path).state == ("ok" if edit == "nothing" else "changed")


@given(st.sampled_from(["t", "records", "sha256", "key", "signature"]), st.randoms(use_true_random=False))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=60)
def test_whatever_is_changed_in_a_signed_end_the_signature_does_not_hold(key, field, dice):
    end = End(1.5, 7, "ab" * 32, key.key)
    end = End(1.5, 7, "ab" * 32, key.key, key.sign(b"coaxly-recording end\n1.5\n7\n" + b"ab" * 32 + b"\n"))
    assert signature_holds(end)
    value = getattr(end, field)
    if isinstance(value, str):
        at = dice.randrange(len(value))
        other = value[:at] + dice.choice([c for c in "0123456789abcdef" if c != value[at]]) + value[at + 1 :]
    else:
        other = value + dice.choice([-1, 1])
    fields = {name: getattr(end, name) for name in End.__struct_fields__}
    assert not signature_holds(End(**{**fields, field: other}))


@pytest.mark.parametrize("text", ["", "zz", "é", "00", "\ud800", "0" * 10_000])
def test_nonsense_in_the_place_of_key_or_signature_is_no_signature(key, text):
    assert not signature_holds(End(1.0, 2, "ab", text, "00" * 64))
    assert not signature_holds(End(1.0, 2, "ab", key.key, text))
