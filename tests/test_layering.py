"""Who may import whom, and how large things may grow: checked in the source and in a running interpreter.

The rules of imports, each with its reason, are the contracts of import-linter in pyproject.toml. What does
not hold yet is named there one import at a time (`ignore_imports`) and at the end of this file: each list
turns red as soon as one of its entries is mended, and gets shorter.
"""

import ast
import os
import re
import subprocess
import sys
from collections import Counter
from statistics import median

import grimp
import pytest
from source import FOLDERS, ROOT, linked, module_name

LONGEST_FUNCTION, LONGEST_CLASS, LONGEST_MODULE = 45, 200, 400
MOST_PARAMETERS = 6
MOST_MODULES = 20


@pytest.fixture(scope="module")
def one_package(tmp_path_factory):
    return linked(tmp_path_factory.mktemp("source"))


@pytest.fixture(scope="module")
def graph(one_package):
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(one_package)
        for name in [name for name in sys.modules if name.split(".")[0] == "coaxly"]:
            patch.delitem(sys.modules, name)
        yield grimp.build_graph("coaxly", cache_dir=None, exclude_type_checking_imports=False)


def modules(folder):
    return sorted((ROOT / folder).rglob("*.py"))


def run(*arguments, **environment):
    return subprocess.run(
        [sys.executable, *arguments],
        cwd=ROOT, capture_output=True, text=True, timeout=120, env={**os.environ, **environment},
    )  # fmt: skip


def test_imports_keep_the_contracts(one_package):
    check = "from importlinter.cli import lint_imports_command as check; check()"
    done = run("-c", check, "--no-cache", "--no-logo", PYTHONPATH=str(one_package))
    assert done.returncode == 0, done.stdout


def test_no_module_is_imported_by_one_that_it_imports(graph):
    """Not even round several corners, or for a type; within a package as well as between them."""
    circles = {
        frozenset((module, upstream))
        for module in graph.modules
        for upstream in graph.find_modules_directly_imported_by(module)
        if graph.chain_exists(importer=upstream, imported=module)
    }
    assert not circles


def test_lines_become_samples_of_the_fitter_in_two_modules_only(graph):
    """One way from the recording to the result, live or replayed, and one view of it."""
    decoded = graph.find_modules_that_directly_import("coaxly.logger.line.decoder")
    assert {name for name in decoded if not name.startswith("coaxly.logger.")} == {
        "coaxly.job.recorded.pipeline"
    }
    meeting = {
        name
        for name in graph.find_modules_that_directly_import("coaxly.logger.readings")
        if any(each.startswith("coaxly.fitter") for each in graph.find_modules_directly_imported_by(name))
    }
    assert meeting == {"coaxly.job.recorded.pipeline", *MEETING}


@pytest.mark.parametrize(
    ("names", "above"),
    [
        (("fitter",), ("coaxly.logger", "coaxly.errors", "textual", "serial")),
        (("logger",), ("coaxly.fitter", "coaxly.errors", "textual", "scipy")),
        (("coaxly.fitter.errors", "coaxly.fitter.units", "coaxly.logger.errors"), ("numpy",)),
        (("coaxly.main", "coaxly.commands.ports"), ("numpy", "scipy", "textual")),
        (
            ("coaxly.job.sweep.run", "coaxly.say.sweep.findings", "coaxly.commands.report"),
            ("textual", "scipy"),
        ),
    ],
    ids=["fitter", "logger", "errors", "ports", "no screen"],
)
def test_nothing_above_is_loaded_at_run_time_either(names, above):
    if names[0] in FOLDERS:
        names = [module_name(path) for path in modules(names[0])]
    done = run(
        "-c",
        f"import importlib, sys\nfor name in {names!r}: importlib.import_module(name)\n"
        f"found = [m for m in {above!r} if m in sys.modules]\nassert not found, found",
    )
    assert done.returncode == 0, done.stderr


def test_modules_stay_small():
    sizes = [len(path.read_text().splitlines()) for folder in FOLDERS for path in modules(folder)]
    assert 60 <= median(size for size in sizes if size > 1) <= 120
    assert max(sizes) <= LONGEST_MODULE


def test_folders_stay_small():
    modules_in = Counter(
        path.parent for folder in FOLDERS for path in modules(folder) if path.stem != "__init__"
    )
    crowded = {str(folder.relative_to(ROOT)) for folder, count in modules_in.items() if count > MOST_MODULES}
    assert crowded == set()


def oversized():
    """What is larger than it should be: "module.name: lines" or "module.name: parameters"."""
    for folder in FOLDERS:
        for path in modules(folder):
            module = module_name(path)
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


def test_every_screen_knows_the_type_of_its_program():
    """What it asks of the program is then checked with every other type, and nothing is left out of that."""
    for path in [*modules("tui/screens"), *modules("tui/widgets")]:
        text = path.read_text(encoding="utf-8")
        assert "type: ignore" not in text, path
        bare = re.findall(r"^class \w+\((?:Modal)?Screen\[", text, re.MULTILINE)
        assert not bare or path.stem == "base", (path, bare)


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


MEETING = (
    "coaxly.job.sweep.keeper",
    "coaxly.job.sweep.run",
    "coaxly.job.sweep.view",
)
"""Modules besides the pipeline that know lines as well as samples, still."""
