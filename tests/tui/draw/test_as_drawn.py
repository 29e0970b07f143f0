"""Every picture is drawn as it was when somebody last looked at it: lines, places, letters and styles.

The pictures are in tests/golden/drawings. Numbers may differ in
their last digit, and so may a few dots, for another processor rounds otherwise.
"""

from functools import cache

import numpy as np
import pytest
from golden import apart, kept
from making import RECORDINGS

from coaxly.draw.boltpicture import Bolt, draw_bolts
from coaxly.draw.card import BoltCard, bolt_pages, dowel_page
from coaxly.draw.dowelpicture import draw_dowels
from coaxly.draw.page import PAPERS
from coaxly.draw.proofpicture import Places, draw_proof
from coaxly.draw.setuppicture import draw_turn
from coaxly.draw.sweepsvg import sweep_svg
from coaxly.draw.wayplot import draw_way
from coaxly.draw.wheel import Wheel, wheel_pages
from coaxly.entry.foundlist import load_found
from coaxly.fitter.analysis import corrected
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.plan import Dowel, Option, Predicted
from coaxly.fitter.dowels.setting import DowelSetting
from coaxly.fitter.shop.changes import changes
from coaxly.fitter.shop.ledger import ledger
from coaxly.job.folder.journal import Fitted, Sweep
from coaxly.job.recorded.pipeline import replay
from coaxly.job.sweep.replayrun import Timeline
from coaxly.report import firstpage, ledgerpage
from coaxly.report.cards import dowel_cards
from coaxly.report.facts import Swept
from coaxly.report.readingpages import plot
from coaxly.say.sweep.finished import Answer
from coaxly.say.sweep.live import Bar
from coaxly.screens.sweeping.replayscreen import TimeBar
from coaxly.widgets.bigwords import BigReading, BigWords
from coaxly.widgets.outlookbar import OutlookBar
from coaxly.widgets.picklist import OptionList
from coaxly.widgets.roundplot import RoundPicture, RoundPlot
from coaxly.widgets.trace import Trace
from coaxly.widgets.verdict import Verdict

pytestmark = pytest.mark.arithmetic
A4 = PAPERS["a4"]
HOLES = Pins((-139.7, -25.4), (139.7, 25.4))
WHEN = "2026-06-01T10:00:00Z"


@cache
def sweep(name="found"):
    pipeline = replay(RECORDINGS / f"launch-{name}.jsonl")
    return pipeline, pipeline.result()


def swept(name):
    pipeline, result = sweep(name)
    stations = corrected(pipeline.setup, pipeline.fitter.stations())
    return Swept(Sweep(time=WHEN, file=f"{name}.jsonl", stage=name), pipeline, result, stations)


@cache
def shop():
    jobs = load_found(RECORDINGS / "made-shop.csv")
    found = ledger(jobs)
    return dict(ledgerpage.pictures(ledgerpage.Told(jobs, found, changes(jobs, found), ()), "thou"))


def chosen(*dowels):
    return Option("parallel", dowels, Predicted(0.1, 0.1), 0.9, 20.0)


def own_sweep(name):
    pipeline, result = sweep(name)
    stations = swept(name).stations
    columns = {"deg": stations.deg, "value_mm": stations.value, "corrected_mm": stations.value.copy()}
    columns["corrected_mm"][2] = np.nan
    return sweep_svg(pipeline.setup, result, columns, "thou")


def round_plot(**fields):
    given = {"mean": 0.5, "vector": (0.12, -0.2), "move_deg": 149.0, "permitted": 0.063, "scatter": 0.004}
    widget = RoundPlot("ascii")
    widget.show(RoundPicture(swept("found").stations, **{**given, **fields}))
    return widget


def showing(widget, *values):
    widget.show(*values)
    return widget


ANSWER = Answer("outside", "10.9", ("thou run-out", "limit 5.0 thou"), 0.27, 0.01, 0.127)
OUTLOOK = Bar(0.21, 0.1, 0.127, 0.05, "+-3.9", "after 7:30: +-2.0", "thou")
SETTING = DowelSetting((0.127, 0.254), (28.0, 170.0))
SIX = [BoltCard((200.0 * np.sin(np.radians(a)), 200.0 * np.cos(np.radians(a))), str(k), f"{k}:00", f"{k} thou")
       for k, a in enumerate(range(30, 390, 60), 1)]  # fmt: skip
BOLTS = [
    Bolt(30.0, "2.0"),
    Bolt(90.0, ""),
    Bolt(150.0, "5.0"),
    Bolt(210.0, ""),
    Bolt(270.0, "10"),
    Bolt(330.0, ""),
]
FITTED = Fitted(time=WHEN, dowels=((0.127, 30.0), (0.254, 200.0)), marks=(40.0, 200.0))
BARS = [firstpage.Bar("as found", 0.27, 0.01, "outside"), firstpage.Bar("as left", 0.04, 0.02, "inside")]
TRACE = tuple((0.1 * k, 0.02 * np.sin(k / 3.0)) for k in range(40))

SHEETS = {
    "dowel card": lambda: dowel_page(
        dowel_cards(SETTING, HOLES, 16.0, None, "thou"), A4, "card", ["one", "two"]
    ),
    "bolts": lambda: bolt_pages(SIX, A4, "shims", ["one"])[0],
    "bolt tags": lambda: bolt_pages(SIX, A4, "shims", ["one"])[1],
    "piece of a wheel": lambda: wheel_pages(Wheel(420.0, view="front", fixed=True), A4, "420 mm")[1],
    "sweep": lambda: own_sweep("found"),
    "readings": lambda: plot(swept("knocked"), "thou"),
    "housing": lambda: firstpage.housing_clock(sweep()[1], 0.4, "thou"),
    "face": lambda: firstpage.housing_clock(sweep("face")[1], 0.4, "mm"),
    "bars": lambda: firstpage.run_out_bars(BARS, 0.127, "thou"),
    "fitted": lambda: firstpage.dowels_as_fitted(FITTED, ("left", "right"), "thou"),
    "state": lambda: "".join(map(firstpage.state_mark, ("inside", "outside", "unsure", "withheld"))),
    "shop clock": lambda: shop()["Where the bores sit, by family of housings"],
    "shop time": lambda: shop()["Over time"],
    "shop blame": lambda: shop()["Who is to blame"],
}
RASTERS = {
    "way": lambda: draw_way(149.0, 1.1, 44, 20, "ascii"),
    "way far": lambda: draw_way(250.0, 4.0, 60, 30, "braille"),
    "way near": lambda: draw_way(20.0, 0.3, 36, 16, "blocks"),
    "turn": lambda: draw_turn(turning=True, width=44, height=20, glyphs="ascii"),
    "no way": lambda: draw_way(None, 0.3, 36, 16, "ascii"),
    "dowels": lambda: draw_dowels(
        chosen(Dowel.at(0.127, 40.0, 10.0), Dowel.at(0.254, 200.0)), HOLES, 60, 20, "ascii"
    ),
    "dowels small": lambda: draw_dowels(
        chosen(Dowel.at(0.127, 40.0), Dowel.at(0.1, 80.0)), None, 34, 12, "blocks"
    ),
    "proof": lambda: draw_proof(Places(0.063, (0.2, -0.1), (0.02, 0.03), (0.05, -0.03)), 44, 18, "ascii"),
    "shims": lambda: draw_bolts(BOLTS, 200.0, 50, 20, "ascii"),
    "round": lambda: round_plot(due=((90.0, 0.5),)).drawing(60, 28),
    "round far": lambda: round_plot(permitted=0.02, inside=False).drawing(60, 28),
    "trace": lambda: showing(Trace("ascii", 4.0), TRACE, 0.01).drawing(40, 5),
    "time": lambda: showing(TimeBar("ascii"), Timeline(40.0, (4.0, 5.0, 11.0, 30.0)), 12.5).drawing(70, 2),
    "reading": lambda: showing(BigReading(), -0.2771, "thou").drawing(70, 9),
    "no reading": lambda: showing(BigReading("ascii"), None, "mm").drawing(40, 5),
    "words": lambda: BigWords("blocks", "TURN TO\n4:30").drawing(60, 12),
    "options": lambda: OptionList(["  a    b"], ["1 x    y", "2 z    w"], 1).drawing(30, 4),
    "outlook": lambda: showing(OutlookBar("ascii"), OUTLOOK).drawing(80, 1),
    "outlook large": lambda: showing(OutlookBar("blocks"), OUTLOOK).drawing(120, 5),
    "verdict": lambda: Verdict("ascii", ANSWER).drawing(90, 9),
    "verdict small": lambda: Verdict("blocks", ANSWER).drawing(60, 8),
}


@pytest.mark.parametrize("name", SHEETS)
def test_a_drawing_for_paper_is_as_it_was(name):
    text = SHEETS[name]().replace("><", ">\n<") + "\n"
    (now, numbers), (before, were) = apart(text), apart(kept(f"drawings/{name}", text))
    assert now == before
    assert numbers == pytest.approx(were, abs=0.0101)


@pytest.mark.parametrize("name", RASTERS)
def test_a_picture_of_characters_is_as_it_was(name):
    drawn = RASTERS[name]()
    rows = drawn.rows() if hasattr(drawn, "rows") else drawn
    text = "\n".join("".join(f"{style[:1]:1}" for piece, style in row for _ in piece) for row in rows)
    text = "\n".join("".join(piece for piece, _ in row) + "|" for row in rows) + f"\n{text}\n"
    before = kept(f"drawings/{name}", text)
    assert len(text) == len(before)
    assert sum(one != other for one, other in zip(text, before, strict=True)) <= 4
