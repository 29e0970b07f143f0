"""Who may import whom, checked in the source and again in a running interpreter."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
FORBIDDEN = {
    "fitter": {"logger", "tui", "textual", "serial", "serial_asyncio", "asyncio", "msgspec", "os", "io", "time",
               "datetime", "socket", "pathlib", "rich"},
    "logger": {"fitter", "tui", "textual", "scipy", "rich"},
}  # fmt: skip


def modules(package):
    return sorted((ROOT / package).rglob("*.py"))


def imported(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name.partition(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            yield node.module.partition(".")[0]


@pytest.mark.parametrize("package", sorted(FORBIDDEN))
def test_no_module_imports_what_is_above_it(package):
    for path in modules(package):
        assert not FORBIDDEN[package] & set(imported(path)), path


@pytest.mark.parametrize("package", ["fitter", "logger"])
def test_nothing_above_is_loaded_at_run_time_either(package):
    names = [
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
        for path in modules(package)
    ]
    above = {
        "fitter": ("logger", "tui", "textual", "serial"),
        "logger": ("fitter", "tui", "textual", "scipy"),
    }[package]
    code = (
        f"import importlib, sys\nfor name in {names!r}: importlib.import_module(name)\n"
        f"found = [m for m in {above!r} if m in sys.modules]\nassert not found, found"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr


def test_samples_meet_the_fitter_in_one_module_only():
    meeting = [
        path.name
        for path in modules("tui")
        if any("logger.decoder" in line for line in path.read_text().splitlines())
    ]
    assert meeting == ["pipeline.py"]


def test_modules_stay_small():
    sizes = sorted(
        len(path.read_text().splitlines())
        for package in ("logger", "fitter", "tui")
        for path in modules(package)
    )
    assert sizes[len(sizes) // 2] <= 150
    assert sizes[-1] <= 400


def test_no_attribute_of_ours_hides_one_of_the_screen_library():
    """A screen's `_task` once hid Textual's own, and quitting hung: such names are not ours to take."""
    from textual.screen import Screen

    theirs = {name for name in (*vars(Screen()), *dir(Screen)) if not name.startswith("__")}
    for path in [*modules("tui/screens"), *modules("tui/widgets")]:
        tree = ast.parse(path.read_text(encoding="utf-8"))
        stored = {
            node.attr
            for node in ast.walk(tree)
            if isinstance(node, ast.Attribute)
            and isinstance(node.ctx, ast.Store)
            and isinstance(node.value, ast.Name)
            and node.value.id == "self"
        }
        assert not stored & theirs, (path, stored & theirs)
