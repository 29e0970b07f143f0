"""The source as Python sees it, for tools that read a package from a folder: one tree of links."""

import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
FOLDERS = {"tui": "coaxly", "fitter": "coaxly.fitter", "logger": "coaxly.logger"}
"""Each folder of the code, and the name that it is imported by."""


def linked(folder: Path, root: Path = ROOT) -> Path:
    """A folder that holds `coaxly` as one package, made of links to a tree; for PYTHONPATH or MYPYPATH."""
    package = folder / "coaxly"
    package.mkdir(parents=True)
    inside = [each for each in (root / "tui").iterdir() if each.name != "__pycache__"]
    for each in (*inside, root / "fitter", root / "logger"):
        (package / each.name).symlink_to(each)
    return folder


def module_name(path: Path) -> str:
    """What a file of the code is imported as."""
    folder, *rest = path.relative_to(ROOT).with_suffix("").parts
    return ".".join([FOLDERS[folder], *rest]).removesuffix(".__init__")


def copied(folder: Path) -> tuple[Path, Path]:
    """A copy of the tree that may be spoilt, and the folder of links by which it is imported."""
    tree = folder / "tree"
    shutil.copytree(ROOT, tree, ignore=shutil.ignore_patterns(".git", "__pycache__", ".*_cache"))
    return tree, linked(folder / "links", tree)


def tried(tree: Path, links: Path, tests: list[str]) -> "subprocess.Popen[bytes]":
    """The tests of a copy, begun: one process, at the first failure over, with nothing of this tree's."""
    words = [sys.executable, "-m", "pytest", "-q", "-x", "-n", "0", "-p", "no:cacheprovider", *tests]
    surroundings = {
        "PATH": f"{Path(sys.executable).parent}:/usr/bin:/bin", "PYTHONPATH": str(links), "HOME": str(links),
        "PYTHONDONTWRITEBYTECODE": "1", "OPENBLAS_NUM_THREADS": "1",
    }  # fmt: skip
    return subprocess.Popen(
        words,
        cwd=tree,
        env=surroundings,
        start_new_session=True,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
