"""The report of a job: what it says, what it never does, and how its pages look."""

import base64
import html
import io
import json
import re
import struct
import sys
import zlib
from hashlib import sha256
from html.parser import HTMLParser

import pdfplumber
import pytest
from making import THOU, swept
from PIL import Image
from shopping import SWEEP, Shop, finished, readings

from coaxly.job.folder.journal import Note, Nudged, Photo, Proof
from coaxly.job.folder.snapshot import look
from coaxly.job.steps.noting import take_in
from coaxly.logger.recording.seals import check_seals
from coaxly.logger.rig.engine import Engine

MARGIN = 30.0
"""Points that every page keeps free on each side."""


def opened(folder, *words):
    shop = Shop(folder)
    assert shop("job", "open", "blue van", "--limit", "5thou", "--kit", "5thou,7thou", *words).code == 0
    return shop


@pytest.fixture(scope="module")
def packed(tmp_path_factory):
    """A finished job, made once."""
    shop = finished(
        opened(tmp_path_factory.mktemp("made"), "--customer", "A. Sailor", "--limit-source", "TM 1")
    )
    target = shop.folder / "van.zip"
    assert shop("job", "pack", "van", "-o", target).code == 0
    return target


@pytest.fixture
def shop(packed, tmp_path):
    """The same job to do anything to."""
    shop = Shop(tmp_path / "shop")
    assert shop("job", "unpack", packed).code == 0
    return shop


def report(shop, name, *words):
    """The report of that name: (the JSON object, path)."""
    path = shop.folder / name
    done = shop("report", "van", "-o", path, "--json", *words)
    assert done.code == 0, done.err
    return json.loads(done.out), path


def words_of(page):
    return " ".join(page.extract_text().split())


class Tags(HTMLParser):
    """Every tag with its attributes, and all that is text for a reader."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.text = [], ""
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))

    def handle_data(self, data):
        self.text += data


def test_it_says_what_the_other_commands_print(shop):
    told, path = report(shop, "r.html")
    proved = json.loads(shop("verify", "van", "--json").out)
    for stage in ("found", "left"):
        assert told["report"][stage] == proved[stage]
    assert told["report"]["verify"]["finding"] == proved["finding"]
    text = " ".join(Tags(path.read_text()).text.split())
    before, after = (proved[stage]["tir"]["fitted"] / THOU for stage in ("found", "left"))
    within = 2 * proved["found"]["eccentricity"]["u95_amount"] / THOU
    assert f"was {before:.1f} ± {within:.1f} thou before the work and is {after:.1f} ±" in text
    for fact in (
        "INSIDE the limit",
        "A. Sailor",
        "5.0 thou run-out (TIR): TM 1",
        "2 x 7.0 thou, high sides to 4:",
        "high point",
    ):
        assert fact in text, fact
    for source in (line["source"] for line in proved["found"]["budget"] if line["value"]):
        assert source in text


def test_where_the_holes_are_known_angles_hold_however_the_engine_lies(shop):
    shop.job("van").edit(dowels="-5.5in,-1in 5.5in,-1in")
    assert shop("job", "fitted", "van", "7thou@122,5thou@90", "--since").code == 0
    _, path = report(shop, "r.html")
    text = " ".join(Tags(path.read_text()).text.split())
    assert "That is 32 deg clockwise and along from the line left hole to right hole." in text
    assert "left hole: 7.0 thou to 4:04" in text and "right hole: 5.0 thou to 3:00" in text
    assert "readings were typed" in text and "the dial talks as" not in text


def test_it_is_noted_and_the_job_is_done(shop):
    told, path = report(shop, "r.html")
    assert told["job"]["next"] == "done" and told["job"]["state"]["reported"]
    assert told["job"]["journal"][-1] == {
        "kind": "reported",
        "sha256": sha256(path.read_bytes()).hexdigest(),
        "time": told["job"]["journal"][-1]["time"],
        "file": str(path),
    }
    assert check_seals(shop.job("van").written).state == "ok"


def test_it_goes_beside_the_job_and_over_nothing(shop):
    folder = shop.job("van").path
    assert shop("report", "van").code == 0 and shop("report", "van").code == 0
    assert {"report.html", "report-2.html"} <= {path.name for path in folder.iterdir()}
    kept = (folder / "report.html").read_bytes()
    records = len(look(shop.job("van")).records)
    done = shop("report", "van", "-o", folder / "report.html")
    assert done.code == 2 and "is there already" in done.err and done.out == ""
    assert (folder / "report.html").read_bytes() == kept and len(look(shop.job("van")).records) == records


def test_what_another_program_put_there_in_the_same_moment_is_kept(shop, monkeypatch):
    path = shop.folder / "r.html"
    path.write_text("theirs")
    monkeypatch.setattr("coaxly.report.write.check", lambda target: None)
    monkeypatch.setattr("coaxly.commands.report.check", lambda target: None)
    done = shop("report", "van", "-o", path)
    assert done.code == 2 and "is there already" in done.err and path.read_text() == "theirs"


def test_the_page_stands_alone(shop):
    job = shop.job("van")
    picture = shop.folder / "dial.png"
    Image.new("RGB", (3000, 2000), "teal").save(picture)
    assert shop("job", "photo", "van", picture).code == 0
    _, path = report(shop, "r.html")
    tags = Tags(path.read_text()).tags
    names = {tag for tag, _ in tags}
    assert not names & {"script", "link", "iframe", "object", "embed", "form", "base"}
    for tag, attributes in tags:
        for key, value in attributes.items():
            assert not key.startswith("on"), (tag, key)
            if key in ("src", "href", "xlink:href", "srcset", "action", "data"):
                assert value.startswith("data:image/jpeg;base64,"), (tag, value)
    assert "url(" not in path.read_text() and "@import" not in path.read_text()
    image = next(attributes["src"] for tag, attributes in tags if tag == "img")
    shown = Image.open(io.BytesIO(base64.b64decode(image.partition(",")[2])))
    assert max(shown.size) <= 1100 and not shown.getexif()
    assert job.path.joinpath("dial.png").stat().st_size == picture.stat().st_size


def chunk(kind, data):
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


BOMB = (
    b"\x89PNG\r\n\x1a\n"
    + chunk(b"IHDR", struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0))
    + chunk(b"IDAT", b"")
)


@pytest.mark.parametrize("data", [b"", b"MZ", BOMB, BOMB[:30], b"\xff\xd8\xff\xe0" + bytes(99)], ids=range(5))
def test_what_only_calls_itself_a_picture_is_named_and_the_report_made(shop, data):
    job = shop.job("van")
    (job.path / "evil.png").write_bytes(data)
    job.note(Photo(file="evil.png"))
    job.note(Photo(file="gone.png"))
    _, path = report(shop, "r.html")
    text = Tags(path.read_text()).text
    assert "evil.png: cannot be shown" in text and "gone.png: cannot be shown" in text


HOSTILE = '"><script>alert(1)</script>{{7*7}}#eval("1")$x$*b*\\u{202e}'


def test_text_of_a_job_is_text_whatever_it_says(shop):
    job = shop.job("van")
    evil = HOSTILE + "\u202e\x1b[2J" + "W" * 4000
    tables = {"block": {"family": evil, "serial": evil}, "housing": {"family": evil, "serial": evil}}
    job.edit(
        title=evil, customer=evil, technician=evil, notes=evil, limit_source=evil, mileage=evil, **tables
    )
    job.note(Note(text=evil, operator=evil))
    job.note(Photo(file="../../etc/passwd"))
    (job.path / "broken.png").write_bytes(b"\x89PNG\r\n\x1a\n" + b"no picture at all" * 9)
    job.note(Photo(file="broken.png"))
    for name in ("r.html", "r.pdf"):
        done = shop("report", job.folder, "-o", shop.folder / name)
        assert done.code == 0, done.err
    page = (shop.folder / "r.html").read_text()
    assert "<script" not in page and "\u202e" not in page and "\x1b" not in page
    told = Tags(page)
    assert (
        '"><script>alert(1)</script>{{7*7}}' in told.text
        and "49" not in told.text.partition("Please")[0][:60]
    )
    assert "cannot be shown" in told.text and "root:" not in told.text
    with pdfplumber.open(shop.folder / "r.pdf") as pages:
        assert "alert(1)" in words_of(pages.pages[0])
        assert within_margins(pages)
        assert words_of(pages.pages[1]).startswith("For the shop")


def within_margins(pages):
    """Whether nothing on any page comes near its edge."""
    for page in pages.pages:
        things = [*page.chars, *page.lines, *page.curves, *page.rects, *page.images]
        for each in things:
            inside = (
                each["x0"] > MARGIN and each["x1"] < page.width - MARGIN
                and each["top"] > MARGIN - 4 and each["bottom"] < page.height - MARGIN / 2
            )  # fmt: skip
            if not inside:
                return False
    return True


PAPERS = {"a4": (595, 842), "letter": (612, 792)}


@pytest.mark.parametrize("paper", PAPERS)
def test_a_job_is_two_pages_of_paper(shop, paper):
    told, path = report(shop, "r.pdf", "--paper", paper)
    with pdfplumber.open(path) as pages:
        assert [(round(page.width), round(page.height)) for page in pages.pages] == [PAPERS[paper]] * 2
        assert within_margins(pages)
        first, second = (words_of(page) for page in pages.pages)
        image = pages.pages[0].to_image(resolution=40).original.convert("L")
    after = told["report"]["left"]["tir"]["fitted"] / THOU
    for fact in (
        "INSIDE the limit",
        f"is {after:.1f} ±",
        "limit 5.0 thou",
        "A. Sailor",
        "2 x 7.0 thou",
        "behind",
    ):
        assert fact in first, fact
    for fact in (
        "checks",
        "budget",
        "Proof",
        "as planned",
        "Journal",
        "Seals",
        "finished",
        "coaxly",
    ):
        assert fact in second, fact
    ink = [sum(strip.histogram()[:128]) for strip in halves(image)]
    assert all(count > 200 for count in ink), ink  # pictures and words above and below


def halves(image):
    width, height = image.size
    return [image.crop((0, 0, width, height // 2)), image.crop((0, height // 2, width, height))]


def test_numbers_follow_the_unit_and_the_decimal_mark_that_are_set(shop, monkeypatch, tmp_path):
    config = tmp_path / "config"
    (config / "coaxly").mkdir(parents=True)
    (config / "coaxly" / "settings.toml").write_text('unit = "mm"\ndecimal = "comma"\npaper = "letter"\n')
    monkeypatch.setenv("XDG_CONFIG_HOME", str(config))
    told, path = report(shop, "r.pdf")
    with pdfplumber.open(path) as pages:
        first, second = (words_of(page) for page in pages.pages)
        assert round(pages.pages[0].width) == 612
    shown = f"{told['report']['found']['tir']['fitted']:.3f}".replace(".", ",")
    assert f"was {shown} ±" in first and "limit 0,127 mm" in first
    assert not re.search(r"\d\.\d+ (mm|thou|%)", first + second)
    assert "found-1.jsonl" in second
    # What is read by machines keeps its point.
    assert isinstance(told["report"]["found"]["tir"]["fitted"], float)


def test_a_sweep_as_found_alone_makes_a_report_that_says_what_is_due(tmp_path):
    shop = opened(tmp_path)
    done = shop("report", "van")
    assert done.code == 2 and "was not swept yet" in done.err
    shop(*SWEEP, typed=readings(-5, 5))
    told, path = report(shop, "r.html")
    text = " ".join(Tags(path.read_text()).text.split())
    assert "OUTSIDE the limit" in text and "as it came in" in text
    assert "The job is not finished. Next: choose dowels" in text
    assert "Nothing was fitted" in text and told["report"]["verify"] is None
    assert told["job"]["next"] == "choose"


def test_a_housing_that_was_tapped_into_place_is_told_so(tmp_path):
    shop = opened(tmp_path)
    shop(*SWEEP, typed=readings(-5, 5))
    job = shop.job("van")
    job.note(Nudged(sweep="found-1.jsonl", held=True))
    shop(*SWEEP, "--stage", "left", typed=readings(-5, 5.1))
    done = shop("report", "van", "-o", tmp_path / "r.html", "--anyway")
    assert done.code == 0, done.err
    text = Tags((tmp_path / "r.html").read_text()).text
    assert "tapped into place and held" in text and "the sweep as left is the proof" in text


AS_LEFT = {
    "half": ((-2.2, 2.2), "Only about half of the shift arrived: one dowel is not set or not engaged ("),
    "either": ((-10.0, 0.0), "Cannot tell between: "),
}


@pytest.mark.parametrize("left", AS_LEFT)
def test_a_proof_that_failed_is_told_to_the_customer(tmp_path, left):
    shop = opened(tmp_path)
    shop(*SWEEP, typed=readings(-5, 5))
    assert shop("plan", "van", "--take", "1").code == 0 and shop("job", "fitted", "van").code == 0
    off, finding = AS_LEFT[left]
    shop(*SWEEP, "--stage", "left", typed=readings(*off))
    assert shop("verify", "van").code == 1
    _, path = report(shop, "r.pdf")
    with pdfplumber.open(path) as pages:
        assert len(pages.pages) == 2 and within_margins(pages)
        assert "It is not proved" in words_of(pages.pages[0])
    _, path = report(shop, "r.html")
    front = " ".join(Tags(path.read_text()).text.split()).partition("For the shop")[0]
    assert f"It is not proved that the dowels did what was planned. {finding}" in front


def test_nothing_is_said_of_the_proof_to_the_customer_where_it_is_as_planned(shop):
    _, path = report(shop, "r.html")
    assert "not proved" not in Tags(path.read_text()).text.partition("For the shop")[0]


def test_a_face_is_not_told_as_a_bore(tmp_path):
    shop = opened(tmp_path, "--face")
    job = shop.job("van")
    face = Engine(centre=(1 * THOU, -4 * THOU), surface="outside", noise=0.1 * THOU, resolution=0.05 * THOU)
    swept(job.path / "face-found-1.jsonl", face, feature="face", stage="found", job="blue van",
          setup={"face_radius_mm": 150.0})  # fmt: skip
    assert shop("job", "take", "van", "face-found-1.jsonl").code == 0
    told, path = report(shop, "r.html")
    front = " ".join(Tags(path.read_text()).text.split()).partition("For the shop")[0]
    assert told["report"]["face_found"]["feature"] == "face" and told["report"]["found"] is None
    assert "The run-out of the face, as it came in," in front and "Cross: square to the crankshaft" in front
    assert "centre" not in front.rpartition("}")[2] and "high at 5:" in front
    assert "shim the face" in front


def test_a_long_job_is_all_told_on_more_pages(shop, tmp_path):
    job = shop.job("van")
    face = Engine(centre=(1 * THOU, -2 * THOU), surface="outside", noise=0.1 * THOU, resolution=0.05 * THOU)
    for stage, seed in (("found", 3), ("left", 4)):
        swept(job.path / f"face-{stage}-1.jsonl", face, seed=seed, feature="face", stage=stage, job="blue van",
              setup={"face_radius_mm": 150.0})  # fmt: skip
        take_in(look(job), f"face-{stage}-1.jsonl", anyway=True)
    assert shop("job", "shimmed", "van", "2thou@0,3thou@60").code == 0
    for stage, seed in (("found", 5), ("left", 6)):
        bore = Engine(centre=(-5 * THOU if stage == "found" else 0.0, 0.0), noise=0.1 * THOU)
        swept(job.path / f"{stage}-2.jsonl", bore, seed=seed, stage=stage, job="blue van")
        take_in(look(job), f"{stage}-2.jsonl", anyway=True)
    for number in range(40):
        job.note(Note(text=f"note number {number}: " + "the housing was cleaned " * 5))
    Image.new("RGB", (60, 40), "red").save(tmp_path / "p.jpg")
    for _ in range(3):
        assert shop("job", "photo", "van", tmp_path / "p.jpg").code == 0
    _, path = report(shop, "r.pdf")
    with pdfplumber.open(path) as pages:
        text = [words_of(page) for page in pages.pages]
        assert within_margins(pages)
    assert len(text) >= 3 and text[1].startswith("For the shop") and text[-1].startswith("Photos")
    assert "face, found" in text[0] and "Shims under the face" in text[0]
    assert all(f"note number {number}:" in " ".join(text) for number in range(40))


def test_a_changed_recording_is_refused_and_else_told(shop):
    job = shop.job("van")
    path = job.path / "left-1.jsonl"
    path.write_bytes(path.read_bytes().replace(b"-0.0001", b"+0.0001", 1))
    done = shop("report", "van")
    assert done.code == 2 and "--anyway" in done.err
    done = shop("report", "van", "--anyway", "--json")
    assert done.code == 1
    told = json.loads(done.out)["report"]
    states = {each["path"].rpartition("/")[2]: each["state"] for each in told["audit"]}
    assert states == {"found-1.jsonl": "ok", "left-1.jsonl": "changed"}


def test_a_recording_that_is_not_the_one_noted_is_told(shop):
    job = shop.job("van")
    engine = Engine(centre=(0.1 * THOU, 0.0), noise=0.1 * THOU, resolution=0.05 * THOU)
    swept(job.path / "left-1.jsonl", engine, stage="left", job="blue van")
    done = shop("report", "van")
    assert done.code == 2 and "not the recording that the journal noted" in done.err
    done = shop("report", "van", "--anyway", "--json")
    assert done.code == 1
    page = Tags((job.path / "report.html").read_text()).text.partition("For the shop")[0]
    assert "not the recording that the journal noted" in page
    assert [each["as_noted"] for each in json.loads(done.out)["report"]["audit"]] == [True, False]


def test_a_proof_of_an_earlier_sweep_is_not_told_of_a_later_one(shop):
    shop.job("van").note(
        Proof(found="found-1.jsonl", left="left-0.jsonl", cause="mirrored", probability=1.0, state="outside")
    )
    assert (
        json.loads(shop("report", "van", "--json").out)["report"]["verify"]["finding"]["cause"]
        == "as planned"
    )
    assert shop("job", "fitted", "van", "5thou@100", "--since").code == 0
    told = json.loads(shop("report", "van", "--json").out)["report"]
    assert told["verify"] is None and told["left"] is None
    assert shop(*SWEEP, "--stage", "left", typed=readings(-1, 1)).code == 0
    told, path = report(shop, "unproved.html")
    assert told["report"]["verify"] is None and told["report"]["left"] is not None
    assert "What the dowels did was not proved" in path.read_text()


def test_without_the_extra_one_sentence_says_how_to_get_it(shop, monkeypatch):
    monkeypatch.setitem(sys.modules, "typst", None)
    done = shop("report", "van", "-o", shop.folder / "r.pdf")
    assert done.code == 2 and "pip install 'coaxly[pdf]'" in done.err and len(done.err.splitlines()) == 1
    assert not (shop.folder / "r.pdf").exists() and look(shop.job("van")).state.next == "report"
    assert shop("report", "van", "-o", shop.folder / "r.html").code == 0


@pytest.mark.parametrize(
    ("name", "words"), [("r.doc", "end it in .html or .pdf"), ("no/r.html", "make its folder")]
)
def test_a_place_where_it_cannot_be_is_refused_in_words(shop, name, words):
    done = shop("report", "van", "-o", shop.folder / name)
    assert done.code == 2 and words in html.unescape(done.err)
    assert look(shop.job("van")).state.next == "report"


def test_a_journal_with_a_broken_seal_proves_nothing_until_told_to(shop):
    written = shop.job("van").written
    written.write_bytes(written.read_bytes().replace(b"blue van", b"grey van", 1))
    for words in ("verify", "van"), ("report", "van", "-o", shop.folder / "a.html"):
        done = shop(*words)
        assert done.code == 2 and "not as it was written" in done.err and "--anyway" in done.err
        assert shop(*words, "--anyway").code == 1
    for words in ("show", "van"), ("note", "van", "x"):
        assert "journal.jsonl" in shop("job", *words).err


def test_a_forged_line_of_the_journal_is_said_wherever_the_job_is(shop):
    written = shop.job("van").written
    written.write_bytes(written.read_bytes() + b'{"kind":"note","text":"never said"}\n')
    assert shop("job", "note", "van", "x").code == 0
    path = shop.folder / "a.html"
    assert "not sealed" in shop("report", "van", "-o", path).err
    words = path.read_text()
    assert "not sealed" in words and "every line is as it was written" not in words
    assert "not sealed" in shop("job", "show", "van").out
    assert "not sealed" in shop("verify", "van").err
