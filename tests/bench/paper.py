"""How do the pages of a report look? Makes jobs of several kinds and writes their reports into a folder as PNG:
the PDF's pages and, where Chromium is installed, the HTML on a screen and as it prints. Prints pages and seconds.

    PYTHONPATH=tests/helpers python tests/bench/paper.py FOLDER
"""

import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import conftest  # noqa: F401 - simulated time, and nobody's settings
import pypdfium2
from making import THOU, swept
from PIL import Image, ImageDraw
from shopping import SWEEP, Shop, readings

from coaxly.job.folder.journal import Note
from coaxly.job.folder.snapshot import look
from coaxly.logger.rig.engine import Engine
from coaxly.report.content import Style, content, html
from coaxly.report.facts import gather
from coaxly.report.pdf import pdf

BORE = Engine(
    centre=(-5 * THOU, 3.1 * THOU), form=((2, 0.4 * THOU, 70.0),), noise=0.12 * THOU, resolution=0.05 * THOU
)
FACE = Engine(centre=(1 * THOU, -2.6 * THOU), surface="outside", noise=0.1 * THOU, resolution=0.05 * THOU)
DETAILS = ("--limit", "5thou", "--kit", "5thou,6thou,7thou", "--technician", "D", "--block-family", "K2",
           "--block", "K2-118", "--housing-family", "R2", "--housing", "R2-07")  # fmt: skip


def job_of(folder, *words):
    shop = Shop(folder)
    assert shop("job", "open", "harbour van", *DETAILS, *words).code == 0
    return shop, shop.job("van")


def add(shop, job, engine, stage, feature="bore", number=1, **setup):
    name = f"{stage}-{number}.jsonl" if feature == "bore" else f"{feature}-{stage}-{number}.jsonl"
    swept(job.path / name, engine, seed=number + len(stage), stage=stage, feature=feature, job="harbour van",
          operator="D", setup=setup)  # fmt: skip
    assert shop("job", "show", "van").code == 0


def usual(folder):
    shop, job = job_of(
        folder,
        "--customer",
        "Harbour Tramways, Quay Street",
        "--limit-source",
        "the maker's handbook, invented",
    )
    add(shop, job, BORE, "found")
    shop("plan", "van", "--take", "1")
    shop("job", "fitted", "van")
    add(shop, job, BORE.moved((4.9 * THOU, -3.0 * THOU)), "left")
    shop("verify", "van")
    return job


def long(folder):
    shop, job = job_of(folder, "--face", "--dowels", "-5.5in,-1in 5.5in,-1in")
    add(shop, job, FACE, "found", "face", face_radius_mm=150.0)
    shop("job", "shimmed", "van", "2thou@0,2thou@60,1thou@300")
    add(shop, job, FACE.moved((-0.8 * THOU, 2.4 * THOU)), "left", "face", face_radius_mm=150.0)
    add(shop, job, BORE, "found")
    moves = ((-4.9, 3.0), (2.4, -1.5), (4.9, -3.0))
    for number, (dowels, move) in enumerate(
        zip(("6thou@302", "3thou@122", "6thou@122"), moves, strict=True), 1
    ):
        shop("job", "fitted", "van", dowels)
        add(shop, job, BORE.moved((move[0] * THOU, move[1] * THOU)), "left", number=number)
        shop("verify", "van")
    for number in range(40):
        job.note(Note(text=f"note {number}: cleaned the joint and looked at the marks again", operator="D"))
    for colour in ("teal", "maroon", "navy"):
        picture = Image.new("RGB", (1600, 1200), colour)
        ImageDraw.Draw(picture).ellipse((300, 200, 1300, 1100), outline="white", width=20)
        picture.save(folder / f"{colour}.jpg")
        shop("job", "photo", "van", folder / f"{colour}.jpg")
    return job


def outside(folder):
    shop, job = job_of(folder)
    shop(*SWEEP, typed=readings(-5, 5).replace("0.00713", "0.01713"))
    return job


def close(folder):
    shop, job = job_of(folder)
    add(shop, job, BORE, "found")
    shop("job", "fitted", "van", "5thou@122")
    add(shop, job, BORE.moved((2.9 * THOU, -1.8 * THOU)), "left")
    return job


def browser(page, stem):
    flags = ["--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
             "--disable-component-update", "--disable-sync", "--hide-scrollbars"]  # fmt: skip
    with tempfile.TemporaryDirectory() as profile:
        for how in (["--window-size=900,2600", f"--screenshot={stem}-screen.png"],
                    ["--no-pdf-header-footer", f"--print-to-pdf={stem}-print.pdf"]):  # fmt: skip
            subprocess.run(
                ["chromium", *flags, f"--user-data-dir={profile}", *how, page.as_uri()],
                capture_output=True,
                check=True,
            )
    return pages(Path(f"{stem}-print.pdf"), f"{stem}-print")


def pages(path, stem):
    document = pypdfium2.PdfDocument(path)
    for number, page in enumerate(document, 1):
        page.render(scale=1.6).to_pil().save(f"{stem}-{number}.png")
    return len(document)


def main(target):
    target.mkdir(parents=True, exist_ok=True)
    for make, style in (
        (usual, Style()),
        (long, Style("mm", "comma", "letter")),
        (outside, Style("um", "point", "a4")),
        (close, Style("in", "comma", "letter")),
    ):
        with tempfile.TemporaryDirectory() as work:
            facts = gather(look(make(Path(work))), {}, "5thou")
            began = time.perf_counter()
            told = content(facts, style)
            page, paper = target / f"{make.__name__}.html", target / f"{make.__name__}.pdf"
            page.write_bytes(html(told))
            between = time.perf_counter()
            paper.write_bytes(pdf(told))
            took = between - began, time.perf_counter() - between
        stem = str(paper.with_suffix(""))
        printed = browser(page, stem) if shutil.which("chromium") else "no browser"
        print(f"{make.__name__:8} {pages(paper, stem)} pages of PDF, printed by a browser {printed}; "
              f"HTML {took[0]:.2f} s, PDF {took[1]:.2f} s")  # fmt: skip


if __name__ == "__main__":
    main(Path(sys.argv[1]))
