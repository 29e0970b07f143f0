"""What stands on cards for dowels and shims, and the sheets on which they are printed."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from coaxly.fitter.dowels.kit import Kit
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.setting import DowelSetting
from coaxly.fitter.face import Shim
from coaxly.fitter.geometry import clock, wrap

from ..draw.card import BoltCard, DowelCard
from ..draw.page import Paper
from ..entry.lengths import degrees, number, show_length, written
from ..entry.names import free, numbered, put_new
from ..errors import UsageError
from ..say.dowels.holes import by_the_line, line_deg, names
from .pdf import need_typst, set_pages

HOW = (
    "Cut the ring out and lay the card on the dowel, seen from behind the engine.",
    "Lay its line through both dowel holes, then turn the dowel's mark to the arrow. Without a line: 12 up.",
)


def dowel_cards(
    setting: DowelSetting, pins: Pins | None, body_mm: float, kit: Kit | None, unit: str
) -> list[DowelCard]:
    """A card for each of two dowels. kit: says where their marks are."""
    called = ("one", "other") if pins is None else names(pins)
    line = None if pins is None else line_deg(pins)
    cards = []
    for k, (offset, high) in enumerate(zip(setting.offsets, setting.degrees, strict=True)):
        mark_deg = kit.mark_of(offset) if kit is not None else 0.0
        mark, along = wrap(high - mark_deg), ""
        lines = [f"mark to {clock(mark)} ({degrees(mark)})"]
        if pins is not None:
            lines.append(by_the_line([mark], pins))
            # The line runs one way through both holes: towards the other, or away from it.
            starts = called[k] in ("left", "lower")
            along = f"{'to' if starts else 'from'} {called[1 - k]} hole"
        if mark_deg:
            lines.append(f"its high side (dot) then points to {clock(high)}")
        lines.append(f"dowel {written(body_mm, 'g')} mm across")
        title = f"{called[k]} dowel: {show_length(offset, unit)}"
        cards.append(DowelCard(body_mm, mark, wrap(high), line, along, title, tuple(lines)))
    return cards


def bolt_cards(shims: tuple[Shim, ...], unit: str) -> list[BoltCard]:
    """A card for each bolt, in the order given."""
    cards = []
    for k, shim in enumerate(shims, 1):
        assert shim.position is not None
        stack = " + ".join(number(part, unit) for part in shim.stack)
        words = f"{stack} {unit}" if stack else "none"
        cards.append(BoltCard(shim.position, str(k), shim.clock, words))
    return cards


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
