"""The ledger's page: whole, safe, and with no word beyond the edge of its picture."""

import io
from html.parser import HTMLParser
from xml.etree import ElementTree

import pdfplumber
import pytest
from making import RECORDINGS

from coaxly.entry.foundlist import load_found
from coaxly.fitter.shop.changes import changes
from coaxly.fitter.shop.ledger import Found, ledger
from coaxly.main import main
from coaxly.report.ledgerpage import Told, page_of, pictures
from coaxly.report.ledgertrend import trend_plot
from coaxly.report.pdf import from_template

SHOP = RECORDINGS / "made-shop.csv"
SVG = "{http://www.w3.org/2000/svg}"


def told(path):
    jobs = load_found(path)
    found = ledger(jobs)
    return Told(jobs, found, changes(jobs, found), ())


@pytest.fixture(scope="module")
def drawn():
    return {title: ElementTree.fromstring(svg) for title, svg in pictures(told(SHOP), "thou")}


def test_every_job_is_a_mark_and_every_family_has_its_region(drawn):
    clock = drawn["Where the bores sit, by family of housings"]
    text = " ".join(each.text for each in clock.iter(f"{SVG}text"))
    assert "north, 24 jobs" in text and "12" in text
    marks = [each for each in clock.iter() if each.get("fill-opacity")]
    assert len(marks) == 72 + 3  # and those of the legend
    assert sum(each.get("d", "").count("L") > 60 for each in clock.iter(f"{SVG}path")) == 3


def test_a_change_is_drawn_into_the_strip_of_its_family(drawn):
    words = [each.text for each in drawn["Over time"].iter(f"{SVG}text")]
    assert (
        words.count("since 2026-06-06") == 1 and "housings west: thou towards 2:51 of their average" in words
    )


def test_a_family_met_on_three_days_has_a_strip_and_one_met_on_two_has_none():
    small = ((1e-4, 0.0), (0.0, 1e-4))
    met = [("north", day) for day in (1, 2, 2, 3)] + [("south", day) for day in (1, 2, 2, 1)]
    jobs = [
        Found("", "", family, "", (0.01 * k, 0.02), small, 738000.0 + 40.0 * day)
        for k, (family, day) in enumerate(met)
    ]
    found = ledger(jobs)
    words = trend_plot(jobs, found, (), "mm").markup()
    assert "housings north" in words and "south" not in words
    assert trend_plot(jobs[4:], found, (), "mm") is None


def width(element):
    """Of a text, generously: a letter of a serif type is half as wide as high, on average."""
    return 0.56 * float(element.get("font-size")) * len(element.text)


def cut(picture):
    wide, high = float(picture.get("width")), float(picture.get("height"))
    for element in picture.iter(f"{SVG}text"):
        x, y, w = float(element.get("x")), float(element.get("y")), width(element)
        left = {"middle": x - w / 2, "end": x - w}.get(element.get("text-anchor"), x)
        if not (left >= 0 and left + w <= wide and 8 <= y <= high - 2):
            yield element.text


def test_no_word_is_cut(drawn, tmp_path):
    assert not [word for picture in drawn.values() for word in cut(picture)]
    long = tmp_path / "long.csv"
    long.write_text(SHOP.read_text().replace("north", "a family with a very long name indeed, of 1987 to 1993, 'north'"
                                             .replace(",", ";")))  # fmt: skip
    assert not [word for _, svg in pictures(told(long), "um") for word in cut(ElementTree.fromstring(svg))]


class Page(HTMLParser):
    def __init__(self):
        super().__init__()
        self.tags, self.text = [], ""

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.text += data


def test_the_page_stands_alone_and_a_name_cannot_become_markup(tmp_path, capsys):
    table = tmp_path / "jobs.csv"
    table.write_text(SHOP.read_text().replace("north", "<script>alert(1)</script>"))
    out = tmp_path / "page.html"
    assert main(["ledger", "--csv", str(table), "-o", str(out)]) == 1
    assert "written" in capsys.readouterr().err
    page = Page()
    page.feed(out.read_text(encoding="utf-8"))
    names = {tag for tag, _ in page.tags}
    assert "script" not in names and {"ol", "svg", "pre"} <= names
    assert not [attrs for _, attrs in page.tags if "src" in attrs or "href" in attrs]
    assert "<script>alert(1)" in page.text and "find out what changed" in page.text


@pytest.mark.parametrize(("name", "words"), [
    ("page.png", "end it in .html or .pdf"), ("nowhere/page.html", "make its folder first"),
    ("there.html", "is there already"),
])  # fmt: skip
def test_a_page_that_cannot_be_written_is_refused_in_one_sentence(tmp_path, capsys, name, words):
    (tmp_path / "there.html").write_text("mine")
    assert main(["ledger", "--csv", str(SHOP), "-o", str(tmp_path / name)]) == 2
    err = capsys.readouterr().err
    assert words in err and len(err.strip().splitlines()) == 1
    assert (tmp_path / "there.html").read_text() == "mine"


@pytest.mark.parametrize(("paper", "size"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_the_pages_as_pdf_hold_every_finding_and_picture_whole(paper, size):
    pages = pdfplumber.open(io.BytesIO(from_template("ledger.typ", page_of(told(SHOP), "thou", paper)))).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    for words in ("find out what changed in the weeks before 2026-06-06", "Who is to blame", "since 2026-06-06",
                  "housings west: thou towards 2:51 of their average", "north, 24 jobs"):  # fmt: skip
        assert words in text
    for page in pages:
        assert (round(page.width), round(page.height)) == size
        assert all(char["x0"] > 35 and char["x1"] < page.width - 35 for char in page.chars)
