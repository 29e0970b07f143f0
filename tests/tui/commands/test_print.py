"""Drawings are true: what is measured on the page is what was asked for, to a tenth of a millimetre."""

import json
import math
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pdfplumber
import pytest
from commanding import in_shop
from making import RECORDINGS
from shopping import lay_in

from coaxly.draw.page import MARGIN, PAPERS, page
from coaxly.draw.wheel import Wheel, wheel_pages
from coaxly.fitter.dowels.kit import Kit
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.setting import DowelSetting
from coaxly.job.folder.index import need_job
from coaxly.report.cards import dowel_cards

MM = 72.0 / 25.4
FACE = str(RECORDINGS / "launch-face.jsonl")
HOLES = "-139.7mm,-25mm 139.7mm,25mm"


@pytest.fixture
def run(tmp_path, monkeypatch, capsys):
    return in_shop(tmp_path, monkeypatch, capsys)


def drawn(run, *words):
    """The pages of a drawing."""
    Path("drawn.pdf").unlink(missing_ok=True)
    code, _, said = run("print", *words, "-o", "drawn.pdf")
    assert code == 0, said
    with pdfplumber.open("drawn.pdf") as pdf:
        return [
            (page.width / MM, page.height / MM, strokes(page), rings(page), page.extract_text())
            for page in pdf.pages
        ]


def strokes(page):
    """Straight lines in mm, ((x, y), (x, y)), y downwards."""
    return [tuple((x / MM, y / MM) for x, y in line["pts"]) for line in page.lines]


def rings(page):
    """Circles in mm: (x, y, diameter)."""
    found = []
    for curve in page.curves:
        wide, high = (curve["x1"] - curve["x0"]) / MM, (curve["bottom"] - curve["top"]) / MM
        if abs(wide - high) < 0.02:
            found.append(((curve["x0"] / MM) + wide / 2.0, curve["top"] / MM + high / 2.0, wide))
    return found


def test_each_of_the_bars_bears_its_length():
    """The upright one too, written along it and away from the edge that printers leave white."""
    root = ElementTree.fromstring(page(PAPERS["a4"], "any", []).markup())
    said = [text for text in root.iter("{http://www.w3.org/2000/svg}text") if text.text == "100 mm"]
    assert len(said) == 2 and any("rotate(-90" in text.get("transform", "") for text in said)
    assert all(float(text.get("x")) > MARGIN for text in said)


@pytest.mark.parametrize(("paper", "size"), [("a4", (210.0, 297.0)), ("letter", (215.9, 279.4))])
def test_the_bars_are_as_long_as_they_say_both_ways_and_all_is_on_the_paper(run, paper, size):
    for words in (("wheel", "--diameter", "180mm"), ("card", "--fitted", "5thou@100", "--pin", "16mm")):
        for wide, high, lines, circles, text in drawn(run, *words, "--paper", paper):
            assert (wide, high) == pytest.approx(size, abs=0.02)
            lying = [math.dist(a, b) for a, b in lines if abs(a[1] - b[1]) < 1e-6]
            standing = [math.dist(a, b) for a, b in lines if abs(a[0] - b[0]) < 1e-6]
            assert sum(abs(length - 100.0) < 0.05 for length in lying) == 1
            assert sum(abs(length - 101.6) < 0.05 for length in lying) == 1
            assert sum(abs(length - 100.0) < 0.05 for length in standing) == 1
            assert "100 mm" in text and "4 in" in text and "100 %" in text
            for x, y in (point for line in lines for point in line):
                assert 5.0 <= x <= wide - 5.0 and 5.0 <= y <= high - 5.0
            assert all(x - d / 2.0 > 5.0 and x + d / 2.0 < wide - 5.0 for x, _, d in circles)
        Path("drawn.pdf").unlink()


def test_a_wheel_has_its_diameter_and_a_tick_every_degree(run):
    [(_, _, lines, circles, text)] = drawn(run, "wheel", "--diameter", "170mm", "--hole", "30mm")
    x, y, diameter = max(circles, key=lambda ring: ring[2])
    assert diameter == pytest.approx(170.0, abs=0.1)
    assert any(ring == pytest.approx((x, y, 30.0), abs=0.1) for ring in circles)
    rim = [outer for outer, inner in lines if math.dist(outer, (x, y)) == pytest.approx(85.0, abs=0.05)]
    degrees = sorted(math.degrees(math.atan2(px - x, y - py)) % 360.0 for px, py in rim)
    assert len(degrees) == 360
    assert [b - a for a, b in pairwise(degrees)] == pytest.approx([1.0] * 359, abs=0.02)
    assert "170 mm" in text and "behind (flywheel end)" in text


@pytest.mark.parametrize("view", ["rear", "front"])
@pytest.mark.parametrize("fixed", [True, False])
def test_the_numbers_count_the_cranks_turn_clockwise_from_behind_wherever_the_wheel_is(view, fixed):
    """In space: the crank turns by 40 degrees clockwise seen from behind; what does the eye read at the front or rear?"""
    wheel, turn = Wheel(100.0, view=view, fixed=fixed), 40.0
    as_seen = turn if view == "rear" else -turn  # clockwise as that eye sees it
    # A mark on the crank has gone round from the wheel's top; or the wheel has, under a pointer at the top.
    read_at = as_seen if fixed else -as_seen
    assert wheel.paper_deg(turn) % 360.0 == pytest.approx(read_at % 360.0)


@pytest.mark.parametrize("view", ["rear", "front"])
def test_a_piece_is_the_wheel_with_its_own_middle_upwards(view):
    wheel = Wheel(300.0, view=view)
    piece = replace(wheel, up=90.0)
    assert piece.paper_deg(90.0) == 0.0
    assert piece.paper_deg(70.0) == wheel.paper_deg(70.0) - wheel.paper_deg(90.0)


def test_both_pieces_bear_the_number_of_their_joint():
    pages = wheel_pages(Wheel(400.0), PAPERS["a4"], "400 mm")
    said = [text.text for each in pages for text in ElementTree.fromstring(each).iter() if text.text]
    assert [said.count(joint) for joint in ("45", "135", "225", "315")] == [2, 2, 2, 2]


def test_a_wheel_larger_than_the_paper_comes_in_pieces_of_its_true_rim(run):
    pages = drawn(run, "wheel", "--diameter", "12in")
    cut, radius = [], 152.4
    for _, _, lines, _, _ in pages:
        cut += [line for line in lines if math.dist(*line) == pytest.approx(26.0, abs=0.05)]
    assert len(cut) == 12  # two ends of six pieces of 60 degrees
    for one, other in zip(cut[::2], cut[1::2], strict=True):
        (outer, inner), (outer2, inner2) = (sorted(line, key=lambda p: p[1]) for line in (one, other))
        chord = 2.0 * math.sin(math.radians(30.0))
        assert math.dist(outer, outer2) == pytest.approx(radius * chord, abs=0.1)
        assert math.dist(inner, inner2) == pytest.approx((radius - 26.0) * chord, abs=0.1)
    assert "piece 5 to 6 of 6" in pages[1][4] and "lay number on number" in pages[1][4]


def test_a_card_has_a_ring_of_the_dowels_size_its_mark_and_the_line_through_the_holes(run):
    [(_, _, lines, circles, text)] = drawn(
        run, "card", "--fitted", "10thou@28,5thou@170", "--dowels", HOLES, "--pin", "16mm"
    )
    dowels = sorted(ring for ring in circles if ring[2] > 10.0)
    assert [ring[2] for ring in dowels] == pytest.approx([16.0, 16.0], abs=0.1)
    leans = math.degrees(math.atan2(279.4, 50.0))  # from 12, towards the hole on the right
    for (x, y, _), mark in zip(dowels, (28.0, 170.0), strict=True):
        # The line leaves the middle of the ring both ways, and the arrow comes to the ring at its mark.
        bearing = [
            math.degrees(math.atan2(b[0] - x, y - b[1])) % 360.0
            for a, b in lines
            if math.dist(a, (x, y)) < 0.05 and math.dist(a, b) > 20.0
        ]
        assert sorted(bearing) == pytest.approx([leans, leans + 180.0], abs=0.2)
        arrows = [a for a, b in lines if math.dist(a, (x, y)) == pytest.approx(8.0 + 6.0 + 9.0, abs=0.1)]
        degrees = [math.degrees(math.atan2(px - x, y - py)) % 360.0 for px, py in arrows]
        assert degrees == pytest.approx([mark], abs=0.2)
    assert "left dowel: 10.0 thou" in text and "right dowel: 5.0 thou" in text
    assert "52 deg anticlockwise from the line left hole to right hole" in text
    assert "90 deg clockwise from the line left hole to right hole" in text


def test_the_mark_goes_where_it_brings_the_high_side_round():
    setting, kit = DowelSetting((0.2, 0.2), (90.0, 90.0)), replace(Kit.of([0.2]), mark_deg=30.0)
    card, other = dowel_cards(setting, Pins((-100.0, 0.0), (100.0, 0.0)), 12.0, kit, "thou")
    assert card.mark_deg == 60.0 and card.high_deg == 90.0 and card.line_deg == 90.0
    assert "30 deg anticlockwise from the line left hole to right hole" in card.lines
    assert (card.line_words, other.line_words) == ("to right hole", "from left hole")
    assert other.line_deg == 90.0
    alone, _ = dowel_cards(setting, None, 12.0, None, "thou")
    assert alone.line_deg is None and alone.mark_deg == 90.0


def test_shims_stand_at_their_bolts_and_have_a_tag_each(run):
    pages = drawn(run, "shims", FACE, "--bolts", "6@420mm@30", "--shims", "1thou,2thou,3thou,5thou")
    assert len(pages) == 2
    _, _, _, circles, text = pages[0]
    bolts = [ring for ring in circles if ring[2] == pytest.approx(6.4, abs=0.1)]
    whole = max(circles, key=lambda ring: ring[2])
    degrees = sorted(math.degrees(math.atan2(x - whole[0], whole[1] - y)) % 360.0 for x, y, _ in bolts)
    assert degrees == pytest.approx([30.0, 90.0, 150.0, 210.0, 270.0, 330.0], abs=0.2)
    assert "1 : 3.5" in text
    assert all(f"bolt {k}, " in pages[1][4] for k in range(1, 7))


def test_a_bolt_that_is_high_on_the_engine_is_high_on_the_page(run):
    [(_, _, _, circles, _), _] = drawn(
        run, "shims", FACE, "--bolts", "0mm,200mm 170mm,-105mm -170mm,-105mm", "--shims", "1thou"
    )
    x, y, _ = max(circles, key=lambda ring: ring[2])
    bolts = [ring for ring in circles if ring[2] == pytest.approx(6.4, abs=0.1)]
    degrees = sorted(math.degrees(math.atan2(bx - x, y - by)) % 360.0 for bx, by, _ in bolts)
    assert degrees == pytest.approx([0.0, 121.7, 238.3], abs=0.2)


def test_svg_says_its_own_size_and_a_page_is_a_file(run, tmp_path):
    code, out, _ = run("print", "wheel", "--diameter", "12in", "-o", "w.svg", "--json")
    assert code == 0
    assert [name.rsplit("/")[-1] for name in json.loads(out)["printed"]] == ["w.svg", "w-2.svg"]
    root = ElementTree.parse(tmp_path / "w.svg").getroot()
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("210mm", "297mm", "0 0 210 297")


def test_a_job_knows_what_was_chosen_and_where_the_holes_are(run, tmp_path):
    assert run("job", "open", "van", "--limit", "5thou", "--kit", "5thou,7thou", "--dowels", HOLES)[0] == 0
    typed = "".join(f"{value}thou\n" for value in (0, 3, 7, 11, 14, 11, 7, 3, 0))
    run("sweep", "--job", "van", "--profile", "typed", "--unit", "in", "--headless", typed=typed)
    code, _, said = run("print", "card", "van", "--pin", "16mm")
    assert code == 2 and "which dowels?" in said
    assert run("plan", "van", "--take", "1")[0] == 0
    code, _, said = run("print", "card", "van")
    assert code == 2 and "--pin is missing" in said
    code, _, _ = run("print", "card", "van", "--pin", "16mm")
    assert code == 0 and next((tmp_path / "shop").glob("*-van/card.pdf")).is_file()
    assert run("print", "card", "van", "--pin", "16mm")[1].count("card-2.pdf") == 1


def test_a_job_knows_its_bolts_and_the_shims_in_stock(run, tmp_path):
    assert run("job", "open", "van", "--face", "--limit", "5thou")[0] == 0
    job = need_job(tmp_path / "shop", "van")
    lay_in(job, FACE, "face-found-1.jsonl")
    code, _, said = run("print", "shims", "van")
    assert code == 2 and "--bolts 6@420mm and --shims 2thou,5thou" in said and "job.toml" in said
    job.edit(bolts="6@420mm@30", shims="1thou,2thou,3thou,5thou")
    by_itself = drawn(run, "shims", "van")
    by_hand = drawn(run, "shims", FACE, "--bolts", "6@420mm@30", "--shims", "1thou,2thou,3thou,5thou")
    assert [page[3] for page in by_itself] == [page[3] for page in by_hand]
    assert all(f"bolt {k}, " in by_itself[1][4] for k in range(1, 7))
    four = drawn(run, "shims", "van", "--bolts", "4@420mm")
    assert "bolt 4, " in four[1][4] and "bolt 5, " not in four[1][4]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("wheel", "--diameter", "20mm"), "can be drawn"),
        (("wheel", "--diameter", "200mm", "--hole", "190mm"), "leaves nothing"),
        (("wheel", "--diameter", "200mm", "--stations", "1"), "choose 2 to 72"),
        (("wheel", "--diameter", "200mm", "-o", "w.png"), "end it in .pdf or .svg"),
        (("card", "--fitted", "5thou@10deg", "--pin", "90mm"), "can be drawn"),
        (("card", "--fitted", "none", "--pin", "16mm"), "which dowels?"),
        (
            ("shims", str(RECORDINGS / "launch-found.jsonl"), "--bolts", "6@420mm", "--shims", "1thou"),
            "needs one of a face",
        ),
    ],
)
def test_what_cannot_be_drawn_is_refused_in_a_sentence(run, words, said):
    code, _, err = run("print", *words)
    assert code == 2 and said in err and len(err.strip().splitlines()) == 1


def test_nothing_is_ever_written_over(run, tmp_path):
    (tmp_path / "w.pdf").write_text("mine")
    code, _, said = run("print", "wheel", "--diameter", "100mm", "-o", "w.pdf")
    assert code == 2 and "is there already" in said and (tmp_path / "w.pdf").read_text() == "mine"


@pytest.mark.parametrize("name", ["w.svg", "w.pdf"])
def test_a_folder_that_is_not_there_is_said_as_for_every_other_page(run, name):
    code, _, said = run("print", "wheel", "--diameter", "100mm", "-o", f"nowhere/{name}")
    assert code == 2 and "make its folder first" in said
