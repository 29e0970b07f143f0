"""Who may import whom, and how large things may grow: checked in the source and in a running interpreter.

The rules of imports, each with its reason, are the contracts of import-linter in pyproject.toml. What does
not hold yet is named there one import at a time (`ignore_imports`) and at the end of this file: each list
turns red as soon as one of its entries is mended, and gets shorter.
"""

import ast
import subprocess
import sys
from pathlib import Path
from statistics import median

import grimp
import pytest

ROOT = Path(__file__).parent.parent
PACKAGES = ("fitter", "logger", "tui")
LONGEST_FUNCTION, LONGEST_CLASS, LONGEST_MODULE = 45, 200, 400
MOST_PARAMETERS = 6


def modules(package):
    return sorted((ROOT / package).rglob("*.py"))


def run(*arguments):
    return subprocess.run([sys.executable, *arguments], cwd=ROOT, capture_output=True, text=True, timeout=120)


def test_imports_keep_the_contracts():
    done = run(
        "-c", "from importlinter.cli import lint_imports_command as check; check()", "--no-cache", "--no-logo"
    )
    assert done.returncode == 0, done.stdout


def test_no_module_is_imported_by_one_that_it_imports():
    """Not even round several corners; within a package as well as between them."""
    graph = grimp.build_graph(*PACKAGES, cache_dir=None, exclude_type_checking_imports=True)
    circles = {
        frozenset((module, upstream))
        for module in graph.modules
        for upstream in graph.find_modules_directly_imported_by(module)
        if graph.chain_exists(importer=upstream, imported=module)
    }
    assert not circles


def test_lines_become_samples_of_the_fitter_in_two_modules_only():
    """One way from the recording to the result, live or replayed, and one view of it."""
    graph = grimp.build_graph(*PACKAGES, cache_dir=None)
    decoded = graph.find_modules_that_directly_import("logger.decoder")
    assert {name for name in decoded if name.startswith("tui.")} == {"tui.job.pipeline"}
    meeting = {
        name
        for name in graph.find_modules_that_directly_import("logger.readings")
        if any(each.startswith("fitter") for each in graph.find_modules_directly_imported_by(name))
    }
    assert meeting == {"tui.job.pipeline", *MEETING}


@pytest.mark.parametrize(
    ("names", "above"),
    [
        (PACKAGES[:1], ("logger", "tui", "textual", "serial")),
        (PACKAGES[1:2], ("fitter", "tui", "textual", "scipy")),
        (("fitter.errors", "fitter.units", "logger.errors"), ("numpy",)),
        (("tui.main", "tui.commands.ports"), ("numpy", "scipy", "textual")),
        (("tui.job.sweep", "tui.say.findings", "tui.commands.report"), ("textual", "scipy")),
    ],
    ids=["fitter", "logger", "errors", "ports", "no screen"],
)
def test_nothing_above_is_loaded_at_run_time_either(names, above):
    if names[0] in PACKAGES:
        paths = (path.relative_to(ROOT).with_suffix("") for path in modules(names[0]))
        names = [".".join(path.parts).removesuffix(".__init__") for path in paths]
    done = run(
        "-c",
        f"import importlib, sys\nfor name in {names!r}: importlib.import_module(name)\n"
        f"found = [m for m in {above!r} if m in sys.modules]\nassert not found, found",
    )
    assert done.returncode == 0, done.stderr


def test_modules_stay_small():
    sizes = [len(path.read_text().splitlines()) for package in PACKAGES for path in modules(package)]
    assert 60 <= median(size for size in sizes if size > 1) <= 120
    assert max(sizes) <= LONGEST_MODULE


def oversized():
    """What is larger than it should be: "module.name: lines" or "module.name: parameters"."""
    for package in PACKAGES:
        for path in modules(package):
            module = ".".join(path.relative_to(ROOT).with_suffix("").parts)
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if not isinstance(node, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
                    continue
                lines = node.end_lineno - node.lineno + 1
                if lines > (LONGEST_CLASS if isinstance(node, ast.ClassDef) else LONGEST_FUNCTION):
                    yield f"{module}.{node.name}: lines"
                if not isinstance(node, ast.ClassDef):
                    given = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
                    if sum(each.arg not in ("self", "cls") for each in given) > MOST_PARAMETERS:
                        yield f"{module}.{node.name}: parameters"


def test_functions_classes_and_lists_of_parameters_stay_small():
    assert list(oversized()) == []


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


MEETING = ("tui.job.keeper", "tui.job.replay", "tui.job.sweep", "tui.job.tracing")
"""Modules besides the pipeline that know lines as well as samples, still."""
