"""What the README tells a person to type is what works."""

import re
import shlex

import pytest
from making import RECORDINGS

from coaxly.main import main
from coaxly.parser import build, straightened

README = (RECORDINGS.parent / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^ *```sh\n(.*?)^ *```", README, flags=re.DOTALL | re.MULTILINE)
TYPED = [
    shlex.split(line.partition(" < ")[0])
    for block in BLOCKS
    for line in block.replace("\\\n", " ").splitlines()
    if line.strip().startswith("coaxly")
]


@pytest.mark.parametrize("words", TYPED, ids=" ".join)
def test_every_command_is_one_that_is_taken(words):
    build().parse_args(straightened(words[1:]))


@pytest.mark.parametrize("words", [w for w in TYPED if any("recordings/" in x for x in w)], ids=" ".join)
def test_commands_on_the_sample_job_run_as_they_are_written(words, monkeypatch, capsys):
    monkeypatch.chdir(RECORDINGS.parent)
    assert main(words[1:]) in (0, 1)
    out, err = capsys.readouterr()
    assert out and "coaxly:" not in err


def test_the_command_is_put_on_the_path_before_it_is_written_bare():
    first = next(k for k, block in enumerate(BLOCKS) if re.search(r"^\s*coaxly", block, flags=re.MULTILINE))
    assert any("activate" in block for block in BLOCKS[:first])
    assert len(TYPED) >= 5


def test_the_help_says_what_the_bare_command_does():
    assert "Without a command, on a terminal: the shop's jobs" in " ".join(build().format_help().split())
