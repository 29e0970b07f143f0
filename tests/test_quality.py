"""Types and style, as part of the suite: what is green here is green for everybody."""

import os
import subprocess
import sys

import pytest
from source import ROOT, linked


def run(*arguments, **environment):
    return subprocess.run(
        [sys.executable, "-m", *arguments],
        cwd=ROOT, capture_output=True, text=True, timeout=240, env={**os.environ, **environment},
    )  # fmt: skip


@pytest.mark.parametrize("tool", [("check", "."), ("format", "--check", ".")], ids=["lint", "format"])
def test_style(tool):
    done = run("ruff", *tool)
    assert done.returncode == 0, done.stdout + done.stderr


def test_types(tmp_path):
    done = run("mypy", "-p", "coaxly", MYPYPATH=str(linked(tmp_path)))
    assert done.returncode == 0, done.stdout + done.stderr
