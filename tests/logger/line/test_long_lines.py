"""A line that is too long to be held is hashed all the same: nothing hides in it."""

import hashlib
import json

from making import header_line

from coaxly.logger.recording.reader import BLOCK, LONGEST_LINE
from coaxly.logger.recording.seals import check_seals


def sealed(data: bytes) -> bytes:
    seal = {"kind": "seal", "t": 1.0, "lines": data.count(b"\n"), "sha256": hashlib.sha256(data).hexdigest()}
    return data + json.dumps(seal, separators=(",", ":")).encode() + b"\n"


def test_a_line_of_any_length_is_under_the_seal(tmp_path):
    path = tmp_path / "r.jsonl"
    long = b'{"kind":"weather","t":0.5,"what":"' + b"x" * (2 * LONGEST_LINE + 3 * BLOCK) + b'"}\n'
    data = sealed(header_line().encode() + b"\n" + long)
    path.write_bytes(data)
    report = check_seals(path)
    assert (report.state, report.seals) == ("ok", 1)
    middle = len(data) // 2
    path.write_bytes(data[:middle] + b"y" + data[middle + 1 :])
    assert check_seals(path).state == "changed"
