"""The source as Python sees it, for tools that read a package from a folder: one tree of links."""

from pathlib import Path

ROOT = Path(__file__).parents[2]
FOLDERS = {"tui": "coaxly", "fitter": "coaxly.fitter", "logger": "coaxly.logger"}
"""Each folder of the code, and the name that it is imported by."""


def linked(folder: Path) -> Path:
    """A folder that holds `coaxly` as one package, made of links to ROOT; for PYTHONPATH or MYPYPATH."""
    package = folder / "coaxly"
    package.mkdir(parents=True)
    inside = [each for each in (ROOT / "tui").iterdir() if each.name != "__pycache__"]
    for each in (*inside, ROOT / "fitter", ROOT / "logger"):
        (package / each.name).symlink_to(each)
    return folder


def module_name(path: Path) -> str:
    """What a file of the code is imported as."""
    folder, *rest = path.relative_to(ROOT).with_suffix("").parts
    return ".".join([FOLDERS[folder], *rest]).removesuffix(".__init__")
