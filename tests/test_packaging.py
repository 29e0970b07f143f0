"""What an installed Coaxly is: one name, every folder in it, and nobody else's `logger` in its way."""

import os
import re
import shutil
import subprocess
import sys
import tomllib
import zipfile

import pytest
from source import FOLDERS, ROOT, linked, module_name

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


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """The names in a wheel, built without the network by the setuptools that is installed, from a copy."""
    copy, out = tmp_path_factory.mktemp("source") / "copy", tmp_path_factory.mktemp("wheel")
    copy.mkdir()
    for name in (*FOLDERS, "pyproject.toml", "README.md", "LICENSE"):
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(ROOT / name, copy / name)
    build = "from setuptools.build_meta import build_wheel; import sys; build_wheel(sys.argv[1])"
    done = subprocess.run(
        [sys.executable, "-c", build, str(out)], cwd=copy, capture_output=True, text=True, timeout=120
    )
    assert done.returncode == 0, done.stderr
    with zipfile.ZipFile(next(out.glob("*.whl"))) as file:
        return set(file.namelist())


def test_a_wheel_holds_every_module_and_what_is_no_module(wheel):
    def packed(path):
        folder, *rest = path.relative_to(ROOT).parts
        return "/".join([*FOLDERS[folder].split("."), *rest])

    files = [path for folder in FOLDERS for path in (ROOT / folder).rglob("*") if path.is_file()]
    ours = {packed(path) for path in files if path.suffix != ".pyc"}
    assert {"coaxly/py.typed", "coaxly/logger/profiles/typed.toml"} <= ours
    assert sum(name.startswith("coaxly/report/templates/") for name in ours) >= 2
    assert {name for name in wheel if ".dist-info/" not in name} == ours


def test_types_of_the_library_reach_who_uses_it(tmp_path):
    user = tmp_path / "user.py"
    user.write_text(
        "import coaxly\n"
        'found = coaxly.read("x.jsonl")\n'
        "reveal_type(found.result().eccentricity.amount)\n"
        'reveal_type(found.stations()["deg"])\n'
        "reveal_type(found.plot().svg)\n"
        "coaxly.read(5)\n"
        "found.tir()\n"
    )
    environment = {**os.environ, "MYPYPATH": str(linked(tmp_path / "source"))}
    done = subprocess.run(
        [sys.executable, "-m", "mypy", "--strict", "--follow-imports", "silent", str(user)],
        cwd=tmp_path, env=environment, capture_output=True, text=True, timeout=240,
    )  # fmt: skip
    told = done.stdout.replace("builtins.", "")
    said = [re.sub(r"^.*user\.py:(\d+): ", r"\1 ", line) for line in told.splitlines()]
    assert said[:5] == [
        '3 note: Revealed type is "float"',
        '4 note: Revealed type is "numpy.ndarray[tuple[Any, ...], numpy.dtype[Any]]"',
        '5 note: Revealed type is "str"',
        '6 error: Argument 1 to "read" has incompatible type "int"; expected "str | PathLike[str]"  [arg-type]',
        '7 error: "Recording" has no attribute "tir"  [attr-defined]',
    ], done.stdout + done.stderr
    assert said[5] == "Found 2 errors in 1 file (checked 1 source file)"


def test_it_runs_as_a_module():
    done = subprocess.run(
        [sys.executable, "-m", "coaxly", "--version"], capture_output=True, text=True, timeout=60
    )
    assert done.stdout == f"coaxly {coaxly.__version__}\n"
