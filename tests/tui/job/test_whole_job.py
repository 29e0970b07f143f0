"""The whole job, from the first sweep to the audit, needs neither a screen nor a command line."""

import subprocess
import sys

from source import ROOT


def test_a_whole_job_is_worked_without_a_screen_a_command_line_or_words(tmp_path):
    done = subprocess.run(
        [sys.executable, ROOT / "tests" / "helpers" / "wholejob.py", tmp_path],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout == done.stderr == ""
