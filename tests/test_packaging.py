"""What an installed Coaxly is: one name, every folder in it, and nobody else's `logger` in its way."""

import subprocess
import sys
import tomllib

import pytest
from source import FOLDERS, ROOT, module_name

import coaxly

PYPROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def test_every_folder_of_the_code_is_packaged():
    folders = {module_name(path) for folder in FOLDERS for path in (ROOT / folder).rglob("__init__.py")}
    assert set(PYPROJECT["tool"]["setuptools"]["packages"]) == folders


@pytest.mark.parametrize("way", ["packages installed after ours", "a file beside the notebook"])
def test_what_else_is_called_logger_fitter_or_tui_harms_nothing(way, tmp_path):
    for name in ("fitter", "logger", "tui"):
        home = tmp_path / name / "__init__.py" if way.startswith("packages") else tmp_path / f"{name}.py"
        home.parent.mkdir(exist_ok=True)
        home.write_text(f"raise ImportError('the foreign {name}')\n")
    foreign = f"import sys; sys.path.insert(0, {str(tmp_path)!r}); "
    code = foreign + "from coaxly.main import main; sys.exit(main(['replay', sys.argv[1]]))"
    sample = ROOT / "recordings" / "launch-left.jsonl"
    done = subprocess.run(
        [sys.executable, "-c", code, str(sample)], cwd=tmp_path, capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 0 and "INSIDE" in done.stdout, done.stderr


def test_it_runs_as_a_module():
    done = subprocess.run(
        [sys.executable, "-m", "coaxly", "--version"], capture_output=True, text=True, timeout=60
    )
    assert done.stdout == f"coaxly {coaxly.__version__}\n"
