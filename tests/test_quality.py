"""Types and style, as part of the suite: what is green here is green for everybody."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.mark.parametrize(
    "tool",
    [["mypy"], ["ruff", "check", "."], ["ruff", "format", "--check", "."]],
    ids=["types", "lint", "format"],
)
def test_clean(tool):
    done = subprocess.run(
        [sys.executable, "-m", *tool], cwd=ROOT, capture_output=True, text=True, timeout=240
    )
    assert done.returncode == 0, done.stdout + done.stderr
