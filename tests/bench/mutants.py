"""Do the tests notice a fault? Small random faults, one at a time, each against the tests that mirror its file.

    PYTHONPATH=tests/helpers nice python tests/bench/mutants.py --count 60 --out mutants.jsonl    # goes on where it was left

A comparison, an arithmetic sign, a number, a yes or no, or what a function returns is changed in a copy of the
tree. Run are the test files that import the changed module by name (where none does, those called like a module that
uses it), then those of the folder that mirrors it, until one fails. The order of the faults is drawn once from a seed: in
the same tree a larger count holds the smaller one. What is written is a line a fault: where, what it became, and
whether it was noticed. "slow" is one whose tests outlived the time limit: it hangs, or they are long; which it is has
to be looked at.
"""

import argparse
import ast
import json
import os
import random
import re
import signal
import subprocess
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from functools import cache
from importlib.util import resolve_name
from pathlib import Path

from source import FOLDERS, ROOT, copied, module_name, tried

COMPARED = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
RECKONED = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
    ast.FloorDiv: ast.Div, ast.Mod: ast.Mult, ast.Pow: ast.Mult,
}  # fmt: skip
MIRROR = {
    "tui/plain": "tests/tui/commands",
    "tui/widgets": "tests/tui/screens",
    "tui/options": "tests/tui/commands",
}
"""Where the tests of a folder are that has no mirror of its own."""


def changed(node: ast.AST) -> ast.AST | None:
    """The same piece of code with one fault in it, or None where it holds none of these."""
    match node:
        case ast.Compare(left, [sign], right):
            return ast.Compare(left, [COMPARED[type(sign)]()], right)
        case ast.BinOp(left, sign, right) if type(sign) in RECKONED and not isinstance(left, ast.JoinedStr):
            return ast.BinOp(left, RECKONED[type(sign)](), right)
        case ast.BoolOp(sign, values):
            return ast.BoolOp(ast.And() if isinstance(sign, ast.Or) else ast.Or(), values)
        case ast.UnaryOp(ast.Not(), operand):
            return operand
        case ast.Constant(bool(value)):
            return ast.Constant(not value)
        case ast.Constant(int(value) | float(value)):
            return ast.Constant(value + 1 if isinstance(value, int) else value * 2.0 + 1e-3)
        case ast.Return(value) if value is not None and not (
            isinstance(value, ast.Constant) and value.value is None
        ):
            return ast.Return(ast.Constant(None))
    return None


def spoilt(path: Path) -> Iterator[tuple[Path, int, int, str]]:
    """Each fault that a file can be given: path, first byte, bytes, and what stands there then."""
    text = path.read_bytes()
    starts = [0]
    for line in text.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    for node in living(ast.parse(text)):
        new = changed(node)
        if new is not None:
            begin = starts[node.lineno - 1] + node.col_offset
            end = starts[node.end_lineno - 1] + node.end_col_offset
            words = ast.unparse(ast.fix_missing_locations(new))
            yield path, begin, end - begin, words if isinstance(new, ast.Return) else f"({words})"


def living(tree: ast.AST) -> Iterator[ast.AST]:
    """The parts of a module that do something: types, decorators (how a class is kept), f-strings (3.11 has no place for
    what is in them) and patterns do not count."""
    for name, value in ast.iter_fields(tree):
        if name in ("annotation", "returns", "pattern", "decorator_list"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST) and not isinstance(
                child, ast.JoinedStr | ast.Import | ast.ImportFrom
            ):
                yield child
                yield from living(child)


def tests_of(path: Path, tree: Path = ROOT) -> list[str]:
    """The test files that import a module by name, those called like it first, or else those called like its users; then
    the rest of its mirror."""
    files = sorted((tree / "tests").rglob("test_*.py"))
    files = [each for each in files if each.parent.name != "tests"]
    mirror = mirror_of(path, tree)
    chosen = [each for each in files if names(each, path)]
    if not chosen:
        used = {mirror_of(user, tree) / f"test_{user.stem}.py" for user in users_of(path)}
        chosen = [each for each in files if each in used]
    near = [each for each in files if each.parent == mirror and each not in chosen]
    chosen.sort(key=lambda each: (path.stem not in each.stem, each.parent != mirror))
    return [str(each.relative_to(tree)) for each in (*chosen, *near)]


def names(test: Path, path: Path) -> bool:
    """Whether a test file imports a module by name."""
    module = module_name(path).replace(".", r"\.")
    parent, _, name = module.rpartition(r"\.")
    return bool(re.search(rf"(from|import) {module}\b|from {parent} import .*\b{name}\b", test.read_text()))


def mirror_of(path: Path, tree: Path) -> Path:
    """The folder of the tests of a module's folder."""
    folder = path.parent.relative_to(ROOT)
    mirror = tree / MIRROR.get(str(folder), f"tests/{folder}")
    while not mirror.is_dir():
        mirror = mirror.parent
    return mirror


def users_of(path: Path) -> list[Path]:
    """The modules that import a module."""
    sought = module_name(path)
    return [
        each
        for folder in FOLDERS
        for each in sorted((ROOT / folder).rglob("*.py"))
        if each != path and sought in imported(each)
    ]


@cache
def imported(path: Path) -> set[str]:
    """What a module imports, and each name that may be a module."""
    package = module_name(path.parent / "__init__.py")
    found = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.ImportFrom):
            base = resolve_name("." * node.level + (node.module or ""), package)
            found |= {base, *(f"{base}.{each.name}" for each in node.names)}
    return found


def verdict(tree: Path, links: Path, tests: list[str], seconds: float) -> tuple[str, float]:
    """Whether the tests of a spoilt copy notice: "noticed", "alive" or "slow", and how long they took, s."""
    begun = time.monotonic()
    run = tried(tree, links, tests)
    try:
        said = "alive" if run.wait(seconds) == 0 else "noticed"
    except subprocess.TimeoutExpired:
        said = "slow"
        os.killpg(run.pid, signal.SIGKILL)  # with what a test has started
        run.wait()
    return said, time.monotonic() - begun


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--count", type=int, default=150)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--seconds", type=float, default=240.0, help="how long the tests of one fault may take"
    )
    parser.add_argument("--out", type=Path, default=Path("mutants.jsonl"))
    parser.add_argument("--only", nargs="*", default=list(FOLDERS), help="folders, such as fitter/reading")
    asked = parser.parse_args()
    lines = asked.out.read_text().splitlines() if asked.out.exists() else []
    with tempfile.TemporaryDirectory() as where, asked.out.open("a") as out:
        tree, links = copied(Path(where))
        files = sorted(path for name in asked.only for path in (tree / name).rglob("*.py"))
        faults = [fault for path in files for fault in spoilt(path)]
        random.Random(asked.seed).shuffle(faults)
        for path, begin, size, words in faults[len(lines) : asked.count]:
            text, name = path.read_bytes(), path.relative_to(tree)
            path.write_bytes(text[:begin] + words.encode() + text[begin + size :])
            said, took = verdict(tree, links, tests_of(ROOT / name, tree), asked.seconds)
            path.write_bytes(text)
            line = text[:begin].count(b"\n") + 1
            row = {
                "said": said,
                "at": f"{name}:{line}",
                "was": text[begin : begin + size].decode(),
                "is": words,
            }
            lines.append(json.dumps({**row, "seconds": round(took, 1)}))
            print(lines[-1], file=out, flush=True)
    print(
        f"{len(faults)} faults can be made; of {len(lines)}:",
        dict(Counter(json.loads(each)["said"] for each in lines)),
    )


if __name__ == "__main__":
    main()
