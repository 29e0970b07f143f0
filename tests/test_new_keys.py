"""Somebody adds a key: what DEVELOPERS.md says of it is enough, and a part that is forgotten is red."""

import subprocess
import sys

import pytest
from source import copied, tried

SWEEP = {
    "fitter/reading/setup.py": (
        "    unit_sure: bool = key(",
        '    spindle_mm: float = key(0.0, _SHORT, weighted, "spindle", "play of a made-up spindle", UNSEEN)\n',
    ),
    "fitter/reading/sources.py": (
        '    KNOCK = "when the zero moved"\n',
        '    SPINDLE = "play of the spindle"\n',
    ),
    "fitter/certainty/budget.py": (
        "        (Source.TIP, ",
        '        (Source.SPINDLE, "B", setup.spindle_mm**2 / 12.0 * plane),\n',
    ),
}
"""For each file: before what a line goes, and the line."""

STATED = ("    Source.REPEATABILITY: (", '    Source.SPINDLE: ("spindle_mm",),\n')
"""Beside the name of the source."""

JOB = {
    "tui/job/folder/details.py": (
        "    notes: str = _key(",
        '    colour: str = _key(_TEXT, "colour", "of a made-up engine", {group})\n',
    )
}
TESTS = ["tests/fitter/reading/test_sources.py", "tests/fitter/test_keys.py"]
DOORS = ["tests/tui/test_keys.py", "-k", "spindle or every"]


@pytest.fixture(scope="module")
def tree(tmp_path_factory):
    """A copy of the code, and how it is imported."""
    return copied(tmp_path_factory.mktemp("copy"))


@pytest.fixture
def added(tree):
    """Put lines into the copy; afterwards it is as it was."""
    before = {}

    def add(path, mark, line):
        text = (tree[0] / path).read_text()
        before.setdefault(path, text)
        assert text.count(mark) == 1, mark
        (tree[0] / path).write_text(text.replace(mark, line + mark))

    yield add
    for path, text in before.items():
        (tree[0] / path).write_text(text)


def key_of_a_sweep(added, without=""):
    for path, (mark, line) in SWEEP.items():
        if path != without:
            added(path, mark, line)
            if path.endswith("sources.py"):
                added(path, *STATED)


def test_a_key_of_a_sweep_that_states_an_error_is_three_files(tree, added):
    key_of_a_sweep(added)
    assert tried(*tree, TESTS).wait(60) == 0
    assert tried(*tree, DOORS).wait(60) == 0


@pytest.mark.parametrize("forgotten", SWEEP)
def test_one_of_the_three_that_is_forgotten_is_red(forgotten, tree, added):
    key_of_a_sweep(added, forgotten)
    assert tried(*tree, TESTS).wait(60) == 1


WORKED = """
import sys
from pathlib import Path

import conftest  # nothing that this person has set counts
from making import RECORDINGS
from shopping import lay_in
from coaxly.job.folder.index import need_job
from coaxly.main import main

assert main(["job", "open", "van", "--shop", "shop", "--colour", "heliotrope"]) == 0
job = need_job(Path("shop"), "van")
assert 'colour = "heliotrope"' in (job.path / "job.toml").read_text()
lay_in(job, RECORDINGS / "launch-found.jsonl", "found.jsonl")
assert main(["job", "show", str(job.path)]) == 0
assert main(["report", str(job.path), "-o", "report.html"]) == 0
assert "heliotrope" in Path("report.html").read_text()
"""


@pytest.mark.parametrize("group", ["_WORK", "_WHO"])
def test_a_key_of_a_job_is_one_field_and_reaches_the_report(group, tree, added, tmp_path):
    (path, (mark, line)) = next(iter(JOB.items()))
    added(path, mark, line.format(group=group))
    ran = subprocess.run(
        [sys.executable, "-c", WORKED], cwd=tmp_path, capture_output=True, text=True, check=False,
        env={"PYTHONPATH": f"{tree[1]}:{tree[0]}/tests:{tree[0]}/tests/helpers", "PYTHONDONTWRITEBYTECODE": "1"},
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    assert "heliotrope" in ran.stdout


def test_a_key_of_a_job_without_a_page_is_red(tree, added):
    (path, (mark, line)) = next(iter(JOB.items()))
    added(path, mark, line.format(group="_TEXT"))
    assert tried(*tree, ["tests/tui/test_keys.py", "-k", "job"]).wait(60) != 0
