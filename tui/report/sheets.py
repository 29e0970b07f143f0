"""Pages at true scale as files: PDF, set by typst with no margin of its own, or SVG, a file a page."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from ..draw.page import Paper
from ..entry.names import free, numbered, put_new
from ..errors import UsageError
from .pdf import need_typst, set_pages

_TEMPLATE: Final = b"""#let pages = json(bytes(sys.inputs.pages))
#set page(width: eval(sys.inputs.width), height: eval(sys.inputs.height), margin: 0mm)
#for (k, svg) in pages.enumerate() {
  if k > 0 { pagebreak() }
  place(top + left, image(bytes(svg), format: "svg", width: 100%, height: 100%))
}
"""


def write_pages(pages: Sequence[str], paper: Paper, target: Path) -> list[Path]:
    """Write pages (SVG) to FILE.pdf, or to FILE.svg, FILE-2.svg ...; what is there already stays.

    Raises UsageError or Failure.
    """
    kind = target.suffix.lower()
    if kind not in (".pdf", ".svg"):
        raise UsageError(f"{target.name[:60]!r} is no name for a drawing: end it in .pdf or .svg")
    if kind == ".pdf":
        given = {"pages": json.dumps(pages), "width": f"{paper.width}mm", "height": f"{paper.height}mm"}
        files = {target: set_pages(_TEMPLATE, given, instead="SVG")}
    else:
        names = [target, *(target.with_stem(f"{target.stem}-{k}") for k in range(2, len(pages) + 1))]
        files = {name: svg.encode() for name, svg in zip(names, pages, strict=True)}
    for path in files:
        free(path)
    for path, data in files.items():
        put_new(path, data)
    return list(files)


def free_target(folder: Path, stem: str) -> Path:
    """A free name: PDF where it can be made, else SVG. Raises UsageError."""
    try:
        need_typst()
        end = ".pdf"
    except UsageError:
        end = ".svg"
    return next(path for path in numbered(folder / f"{stem}{end}") if not path.exists())
