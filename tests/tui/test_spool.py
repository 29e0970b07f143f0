"""`-` where a file is read: what a pipe brings gives the same as the file itself."""

import io
import re
import sys
import tempfile
from pathlib import Path

import pytest
from making import RECORDINGS

from coaxly.main import main

FOUND, LEFT = (str(RECORDINGS / f"launch-{stage}.jsonl") for stage in ("found", "left"))
FACE, SHOP = str(RECORDINGS / "launch-face.jsonl"), str(RECORDINGS / "made-shop.csv")


class Keyboard(io.StringIO):
    def isatty(self):
        return True


@pytest.fixture
def piped(monkeypatch, capsys):
    """A command whose standard input is a pipe that holds a file."""

    def run(words, source=None):
        data = Path(source).read_bytes() if source else b""
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data)))
        code = main(words)
        return code, *capsys.readouterr()

    return run


@pytest.mark.parametrize(
    ("words", "at"),
    [
        (["replay", FOUND], 1),
        (["replay", FOUND, LEFT, "--anyway"], 1),
        (["plan", FOUND, "--kit", "5thou,10thou"], 1),
        (["plan", FACE, "--bolts", "6@16.5in", "--bore", FOUND, "--shims", "2thou,3thou", "--depth", "6in"], 5),
        (["verify", FOUND, LEFT, "--fitted", "5thou@122"], 1),
        (["verify", FOUND, LEFT, "--fitted", "5thou@122"], 2),
        (["audit", FOUND, LEFT], 2),
        (["export", FOUND, "-o", "-"], 1),
        (["ledger", "--csv", SHOP], 2),
        (["stock", "--csv", SHOP, "--sizes", "2"], 2),
        (["study", FOUND, LEFT, FACE], 1),
    ],
    ids=lambda value: " ".join(word for word in value if "/" not in word) if isinstance(value, list) else None,
)  # fmt: skip
def test_what_is_piped_in_gives_the_same_as_the_file(piped, words, at):
    source = words[at]
    expected = piped(words)
    got = piped([*words[:at], "-", *words[at + 1 :]], source)

    def plain(text):
        """But for the file's name, which is another."""
        name = re.escape(Path(source).name)
        return re.sub(rf"(/[^\s,:]*/)?(standard-input|{name})", "FILE", text)

    assert got[0] == expected[0]
    assert plain(got[1]) == plain(expected[1]) and plain(got[2]) == plain(expected[2])


def test_a_paper_may_come_through_a_pipe(piped, tmp_path):
    paper = tmp_path / "paper.csv"
    paper.write_text("angle,reading_thou\n" + "".join(f"{45 * k},{k % 3}\n" for k in range(8)))
    code, out, err = piped(["sweep", "--csv", "-", "--out", str(tmp_path / "x.jsonl")], paper)
    assert code in (0, 1) and "8 stations" in out, err


def test_nothing_is_left_of_what_was_piped_in(piped, monkeypatch, tmp_path):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    assert piped(["replay", "-"], FOUND)[0] == 1
    assert piped(["replay", "-"], SHOP)[0] == 2
    assert list(tmp_path.iterdir()) == []


def test_what_is_wrong_with_it_is_said_by_its_name(piped):
    code, out, err = piped(["replay", "-"], SHOP)
    assert (code, out) == (2, "") and "standard-input, line 1: it is no recording" in err


def test_it_can_be_read_once(piped):
    code, _, err = piped(["verify", "-", "-"], FOUND)
    assert code == 2 and "can be read once" in err and err.count("\n") == 1


@pytest.mark.parametrize(
    ("source", "code", "words"), [(Keyboard(), 2, "the keyboard"), (None, 3, "is closed")]
)
def test_where_there_is_no_pipe_it_is_said(monkeypatch, capsys, source, code, words):
    monkeypatch.setattr(sys, "stdin", source)
    assert main(["replay", "-"]) == code
    err = capsys.readouterr().err
    assert words in err and err.startswith("coaxly: ") and err.count("\n") == 1


def test_a_disk_that_cannot_take_it_is_named(piped, monkeypatch):
    def full(source, target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("shutil.copyfileobj", full)
    code, _, err = piped(["replay", "-"], FOUND)
    assert code == 3 and "cannot keep what standard input holds: No space left on device" in err
