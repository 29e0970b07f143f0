"""Sentences for people are made in tui/say; what is beneath it holds facts, so that words can change freely."""

import ast
import itertools
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
WORDS = 7
"""From so many words on it is a sentence; names of sources and causes are shorter."""

SPARED = {
    "fitter/reading/sources.py": "names of sources of the budget",
    "fitter/dowels/limits.py": "names of published sources",
    "fitter/keys.py": "what errors say they expected",
    "fitter/reading/shopstudy.py": "what errors say they expected",
    "fitter/numeric/leastsquares.py": "source text that is generated",
    "fitter/reading/setup.py": "what each key says of itself in the help",
    "tui/job/folder/details.py": "a file that is written for people to edit",
    "tui/job/folder/store.py": "statements to a database",
    "tui/job/folder/packing.py": "what errors say of a pack",
    "tui/job/sweep/faultwords.py": "faults, which stand in the recording in words, as the logger's do",
    "tui/job/recorded/pipeline.py": "a fault of the file itself",
    "tui/job/demo/rehearsal.py": "a file that is written",
    "tui/job/folder/repeatability.py": "a file that is written for people to edit",
}


def sentences(path: Path) -> Iterator[tuple[int, str]]:
    """Texts of a module that are as long as a sentence, but for docstrings and what errors say."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    spared = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            spared.add(node.value)
        is_error = isinstance(node, ast.ClassDef) and any("Error" in ast.unparse(base) for base in node.bases)
        if isinstance(node, ast.Raise) or is_error:
            spared.update(ast.walk(node))
        if isinstance(node, ast.JoinedStr):
            spared.update(node.values)
    for node in ast.walk(tree):
        if node in spared:
            continue
        if isinstance(node, ast.JoinedStr):
            text = "".join(part.value if isinstance(part, ast.Constant) else "0" for part in node.values)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = node.value
        else:
            continue
        if len(text.split()) >= WORDS:
            yield node.lineno, text


@pytest.mark.parametrize("folder", ["fitter", "tui/job"])
def test_facts_are_kept_and_sentences_made_elsewhere(folder):
    found = [
        f"{name}:{line}: {text}"
        for path in sorted((ROOT / folder).rglob("*.py"))
        if (name := path.relative_to(ROOT).as_posix()) not in SPARED
        for line, text in sentences(path)
    ]
    assert found == []


def test_the_search_finds_a_sentence_and_spares_errors(tmp_path):
    path = tmp_path / "module.py"
    path.write_text(
        '"""A docstring of more than seven words is no sentence for people."""\n'
        "def f(x):\n"
        '    if x: raise ValueError(f"what an error says of {x} is its own affair")\n'
        '    return f"the dial jumped by {x} between here and there"\n'
    )
    assert [line for line, _ in sentences(path)] == [4]


LENGTHS = {"show_length", "show_exact", "measured", "plus_minus", "half_width"}


def words_behind_lengths(path: Path) -> Iterator[tuple[int, str]]:
    """What stands behind each place for a length with its unit."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.JoinedStr):
            for part, behind in itertools.pairwise(node.values):
                called = {
                    getattr(each.func, "id", "") for each in ast.walk(part) if isinstance(each, ast.Call)
                }
                if called & LENGTHS and isinstance(behind, ast.Constant):
                    yield node.lineno, str(behind.value)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            for match in re.finditer(r"_mm(?::[^{}]*)?\}([^{]*)", node.value):
                yield node.lineno, match[1]


def test_no_length_of_inches_reads_in_in():
    found = [
        (f"{path.relative_to(ROOT)}:{line}", behind)
        for path in (ROOT / "tui").rglob("*.py")
        for line, behind in words_behind_lengths(path)
    ]
    assert len(found) > 50
    assert [where for where, behind in found if re.match(r" in\b", behind)] == []


def test_a_length_before_an_in_is_found(tmp_path):
    path = tmp_path / "module.py"
    path.write_text(
        'a = f"{show_length(x, unit)} in x"\nb = "by {size_mm:abs} in mid-sweep"\nc = "in {size_mm}"\n'
    )
    assert [line for line, behind in words_behind_lengths(path) if behind.startswith(" in ")] == [1, 2]


def test_every_module_of_sentences_is_asked_by_a_test_that_names_it():
    """Sentences that are only met on the way to something else may be wrong for long."""
    tests = "\n".join(path.read_text(encoding="utf-8") for path in (ROOT / "tests").rglob("test_*.py"))
    asked = {
        name
        for package, names in re.findall(
            r"^from (coaxly\.say\S*) import ([^(\n]+|\([^)]+\))", tests, re.MULTILINE
        )
        for name in (package, *(f"{package}.{each}" for each in re.findall(r"\w+", names)))
    }
    modules = [path.relative_to(ROOT / "tui") for path in (ROOT / "tui" / "say").rglob("[a-z]*.py")]
    assert not {".".join(("coaxly", *path.with_suffix("").parts)) for path in modules} - asked
