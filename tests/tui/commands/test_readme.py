"""What the README tells a person to type is what works."""

import doctest
import os
import re
import shlex
from pathlib import Path

import pytest
from making import RECORDINGS

from coaxly.main import main
from coaxly.parser import build, straightened

README = (RECORDINGS.parent / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^ *```sh\n(.*?)^ *```", README, flags=re.DOTALL | re.MULTILINE)
TYPED = [
    line.strip()
    for block in BLOCKS
    for line in block.replace("\\\n", " ").splitlines()
    if line.strip().startswith("coaxly")
]
SHOWN = dict(
    re.findall(r"^```sh\n([^`]*)\n```\n\n```text\n(.*?)^```", README, flags=re.DOTALL | re.MULTILINE)
)
"""What a command prints, where the README shows it."""


@pytest.fixture
def beside_the_samples(monkeypatch, tmp_path):
    """A folder to write in that has the samples where the README has them."""
    (tmp_path / "recordings").symlink_to(RECORDINGS)
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize("line", TYPED)
def test_every_command_is_one_that_is_taken(line):
    build().parse_args(straightened(shlex.split(line.partition(" < ")[0])[1:]))


@pytest.mark.parametrize("line", [line for line in TYPED if "recordings/" in line])
def test_commands_on_the_sample_job_run_as_they_are_written(line, beside_the_samples, monkeypatch, capsys):
    words, _, source = line.partition(" < ")
    with Path(source or os.devnull).open() as stdin:
        monkeypatch.setattr("sys.stdin", stdin)
        assert main(shlex.split(words)[1:]) in (0, 1)
    out, err = capsys.readouterr()
    assert out == SHOWN.get(line, out) and out and "coaxly:" not in err


def test_what_is_shown_is_what_is_printed(beside_the_samples):
    assert set(SHOWN) <= set(TYPED) and SHOWN
    sessions = re.findall(r"^```python\n(>>>.*?)^```", README, flags=re.DOTALL | re.MULTILINE)
    assert sessions
    for k, session in enumerate(sessions):
        test = doctest.DocTestParser().get_doctest(session, {}, f"README, session {k}", None, None)
        runner = doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE)
        assert runner.run(test).failed == 0


def test_the_command_is_put_on_the_path_before_it_is_written_bare():
    first = next(k for k, block in enumerate(BLOCKS) if re.search(r"^\s*coaxly", block, flags=re.MULTILINE))
    assert any("activate" in block for block in BLOCKS[:first])
    assert len(TYPED) >= 5


def test_the_help_says_what_the_bare_command_does():
    said = " ".join(build().format_help().split())
    assert "Without a command, on a terminal: the shop's jobs" in said and "- is standard input" in said
