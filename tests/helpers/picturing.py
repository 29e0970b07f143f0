"""The pictures of README and manual, made from the samples.

    PYTHONPATH=tests/helpers python tests/helpers/picturing.py

writes them anew into tui/manual/pictures, after a change of what they show.
"""

import io
import re
import tempfile
from pathlib import Path

import conftest  # noqa: F401 - simulated time, and nobody's settings
import pypdfium2
from making import RECORDINGS
from PIL import Image
from sheets import shown
from shopping import Shop, lay_in

from coaxly.job.folder.snapshot import look
from coaxly.job.recorded.pipeline import replay
from coaxly.report.content import Style, content
from coaxly.report.facts import gather
from coaxly.report.pdf import pdf
from coaxly.screens.sweeping.donescreen import DoneScreen, Swept

PICTURES = RECORDINGS.parent / "tui" / "manual" / "pictures"
_PAGE_DPI = 80


def finding() -> str:
    """The page of the sample's sweep as found, as SVG."""
    result = replay(RECORDINGS / "launch-found.jsonl").result()
    page = DoneScreen(
        Swept("harbour launch", "found", result, then="choose dowels", report=True, leave="jobs")
    )
    taken = []

    async def take(app):
        taken.append(app.export_screenshot(title="coaxly", simplify=True))

    shown(page, take, (96, 28))
    # No letters from the network: any of fixed width will do.
    return re.sub(r"@font-face \{.*?\}", "", taken[0], flags=re.DOTALL)


def report(folder: Path) -> bytes:
    """The customer's page of the sample's job, as PNG."""
    shop = Shop(folder)
    assert shop("job", "open", "harbour launch", "--limit", "5thou", "--kit", "5thou,10thou").code == 0
    job = shop.job("launch")
    lay_in(job, RECORDINGS / "launch-found.jsonl", "found-1.jsonl")
    assert shop("job", "fitted", "launch", "5thou@122").code == 0
    lay_in(job, RECORDINGS / "launch-left.jsonl", "left-1.jsonl")
    assert shop("verify", "launch").code in (0, 1)
    pages = pypdfium2.PdfDocument(pdf(content(gather(look(job), {}, "5thou,10thou"), Style())))
    drawn: Image.Image = pages[0].render(scale=_PAGE_DPI / 72).to_pil()
    kept = io.BytesIO()
    drawn.convert("P", palette=Image.Palette.ADAPTIVE, colors=32).save(kept, "PNG", optimize=True)
    return kept.getvalue()


def main() -> None:
    """Write them."""
    PICTURES.mkdir(exist_ok=True)
    (PICTURES / "finding.svg").write_text(finding(), encoding="utf-8")
    with tempfile.TemporaryDirectory() as folder:
        (PICTURES / "report.png").write_bytes(report(Path(folder)))


if __name__ == "__main__":
    main()
