"""Which pair, and how it is turned: what is largest, what is said, and which key does what."""

import asyncio
import shutil
from dataclasses import replace
from functools import cache

import clockwork
import pytest
from making import RECORDINGS, THOU
from screening import press, rows, until, words
from sheets import cut, shown

from coaxly.draw.dowelpicture import draw_dowels
from coaxly.entry.preferences import Memory, Preferences
from coaxly.fitter.dowels.kit import Kit, Size
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.plan import Dowel, Workshop, advice, plan
from coaxly.fitter.dowels.setting import DowelSetting
from coaxly.job.folder.index import open_job
from coaxly.job.folder.journal import Opened, Sweep, now
from coaxly.job.folder.snapshot import look
from coaxly.job.recorded.pipeline import replay
from coaxly.job.steps.choosing import measured_by
from coaxly.say.dowels import optiontable
from coaxly.say.dowels.holes import from_the_line, names, the_line
from coaxly.say.dowels.optiontable import Offer, large_lines, under_line
from coaxly.screens.app import CoaxlyApp
from coaxly.screens.flows import work_bench
from coaxly.screens.jobs.jobsscreen import JobsScreen
from coaxly.screens.jobs.planscreen import PlanScreen
from coaxly.screens.jobs.settingscreen import SettingScreen
from coaxly.screens.small.cautionsscreen import CautionsScreen
from coaxly.widgets.bigwords import BigWords

SIZES = [(80, 24), (120, 40), (200, 55)]
BESIDE = Pins((-139.7, -25.4), (139.7, -25.4))
ABOVE = Pins((-30.0, 139.7), (30.0, -139.7))
KIT = Kit(
    "drawer", (Size(3 * THOU, 4), Size(5 * THOU, 4), Size(7 * THOU), Size(10 * THOU, 2), Size(15 * THOU, 1))
)


@cache
def offered(pins=BESIDE, kit=KIT, way="tight"):
    pipeline = replay(RECORDINGS / "launch-found.jsonl")
    result = pipeline.result()
    workshop = Workshop(kit, pins=pins, pair="any" if pins else "parallel", way=way)
    measured = measured_by(pipeline, result)
    options = plan(measured, workshop)
    offer = Offer("blue van", result.tir.fitted, result.decision.limit, kit)
    return options, advice(measured, workshop, options), offer


def choosing_page(pins=BESIDE, **fields):
    options, said, offer = offered(pins, **fields)
    return PlanScreen(options, pins, said, offer=offer)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("pins", [BESIDE, ABOVE, None])
def test_the_best_pair_is_largest_and_nothing_is_cut(pins, size):
    async def look(app):
        assert cut(app) == []
        text = "\n".join(rows(app))
        assert "2 x 5.0 to 4:04" in text and "seen from BEHIND" in text and "Space fit these" in text
        assert app.screen.query_one("#large").size.height >= max(4, size[1] * 0.16)

    shown(choosing_page(pins), look, size)


def test_a_pair_that_is_in_is_said_to_be():
    options, said, offer = offered()
    pair = [(dowel.offset, dowel.deg + 1.0) for dowel in options[0].dowels]
    page = PlanScreen(options, BESIDE, said, offer=replace(offer, inside=DowelSetting.of(pair)))

    async def look(app):
        assert "These are in now." in words(app, "guide")
        await press(app, "3")
        await until(lambda: "These are in now." not in words(app, "guide"))

    shown(page, look, (120, 40))


@pytest.mark.parametrize("unit", ["thou", "in", "mm", "um"])
def test_the_table_keeps_its_columns_in_every_unit(unit):
    options, _, _ = offered()
    wide = optiontable.label_width(options, unit)
    head = optiontable.head(unit, wide)
    rows_ = [optiontable.row(k, each, unit, KIT, wide) for k, each in enumerate(options, 1)]
    assert all(len(row) <= 77 for row in [*head, *rows_])
    ends = {row.index(" % ") if " % " in row else None for row in rows_ if row.split()[1] != "none:"}
    assert len(ends) == 1 and head[1].index("on  ") == ends.pop()
    assert unit in head[1]


def test_a_number_chooses_and_space_takes():
    options, _, _ = offered()

    async def look(app):
        await press(app, "4")
        await until(lambda: any(row.startswith("> 4") for row in rows(app)))
        large = app.screen.query_one("#large", BigWords)
        assert (
            large._text
            == optiontable.large(options[3], BESIDE, "thou")
            != optiontable.large(options[0], BESIDE, "thou")
        )
        await asyncio.sleep(1.0)
        await press(app, "space")
        await until(lambda: app.got == options[3])

    shown(choosing_page(), look)


def test_none_is_among_them_and_can_be_taken():
    options, _, _ = offered()
    (which,) = [k for k, option in enumerate(options, 1) if not option.dowels]

    async def look(app):
        await press(app, str(which))
        await until(lambda: "Space leave it as it is" in words(app, "keys"))
        await asyncio.sleep(1.0)
        await press(app, "space")
        await until(lambda: app.got is not None and app.got.pair == "none")

    shown(choosing_page(), look)


def test_what_the_kit_counts_and_the_rule_of_three_split_pairs_are_said():
    options, _, offer = offered()
    assert optiontable.count(KIT, 5 * THOU) == 4 and optiontable.count(KIT, 7 * THOU) is None
    assert "In the kit: 4 of 5.0 thou." in optiontable.said(options[0], offer, BESIDE, "thou")
    assert optiontable.rule(options) == ["Of split pairs the best 3 are shown."]
    assert optiontable.rule(options[:1]) == []
    assert "Goes on: " in " ".join(optiontable.said(options[0], offer, BESIDE, "thou"))
    assert "taken for granted" in " ".join(optiontable.said(options[0], offer, None, "thou"))


@pytest.mark.parametrize(
    ("deg", "pins", "said"),
    [
        (90.0, BESIDE, "along"),
        (122.0, BESIDE, "32 deg clockwise"),
        (80.0, BESIDE, "10 deg anticlockwise"),
        (122.0, Pins(BESIDE.second, BESIDE.first), "32 deg clockwise"),
        (0.0, Pins((0.0, 100.0), (0.0, -100.0)), "along"),
    ],
)
def test_angles_from_the_line_hold_whichever_hole_is_named_first(deg, pins, said):
    assert from_the_line(deg, pins) == said


def test_the_line_goes_from_left_to_right_or_from_below_up():
    assert (
        the_line(BESIDE)
        == the_line(Pins(BESIDE.second, BESIDE.first))
        == "from the line left hole to right hole"
    )
    assert the_line(ABOVE) == "from the line lower hole to upper hole" and names(ABOVE) == ("upper", "lower")


def drawn(option, pins, size):
    rows_ = draw_dowels(option, pins, *size, "blocks").rows()
    return ["".join(text for text, _ in row) for row in rows_]


def test_holes_are_drawn_as_they_are_where_there_is_room():
    option = offered(ABOVE)[0][0]
    tall = drawn(option, ABOVE, (60, 36))
    upper = next(k for k, row in enumerate(tall) if "upper hole" in row)
    lower = next(k for k, row in enumerate(tall) if "lower hole" in row)
    assert lower > upper + 10
    low = drawn(option, ABOVE, (60, 11))
    assert any("upper hole" in row and "lower hole" in row for row in low)


@pytest.mark.parametrize("size", [(30, 11), (38, 12), (60, 20), (118, 24)])
@pytest.mark.parametrize("pins", [None, BESIDE, ABOVE])
def test_no_name_of_a_hole_is_cut_in_its_picture(pins, size):
    for option in offered(pins)[0][:2]:
        text = "\n".join(drawn(option, pins, size))
        for name in ("one dowel", "other dowel") if pins is None else (f"{n} hole" for n in names(pins)):
            assert name in text


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("which", [0, 3])
def test_how_to_turn_them_is_largest_and_nothing_is_cut(which, size):
    option = offered()[0][which]
    assert (option.pair == "split") == (which == 3)

    async def look(app):
        assert cut(app) == []
        text = "\n".join([*rows(app), words(app, "guide")])
        for said in (
            "seen from BEHIND",
            "1 Put both high sides",
            "never draw",
            "3 Bolts",
            "eye protection",
            "stays until L",
        ):
            assert said in text
        assert app.screen.query_one("#steps").max_scroll_y == 0
        assert app.screen.query_one("#large").size.height >= max(7, size[1] * 0.29)

    shown(SettingScreen("blue van", option, BESIDE), look, size)


def test_the_large_words_are_the_marks_that_one_sees():
    option = offered()[0][0]
    assert large_lines(option, BESIDE, "thou") == "BOTH TO 4:04"
    assert "32 deg clockwise" in under_line(option, BESIDE) and "BEHIND" in under_line(option, None)
    split = offered()[0][3]
    assert large_lines(split, BESIDE, "thou").splitlines()[0].startswith("LEFT 7.0 4:")
    dowel = Dowel.at(5 * THOU, 122.0, 90.0)
    turned = replace(option, dowels=(dowel, dowel))
    assert large_lines(turned, BESIDE, "thou") == "BOTH TO 1:04"
    assert "marks or slots" in under_line(turned, BESIDE) and "high sides are at 4:04" in under_line(
        turned, BESIDE
    )


@pytest.mark.parametrize(("key", "answer"), [("l", "in"), ("p", "again"), ("q", "back"), ("escape", "back")])
def test_only_its_own_keys_take_the_page_away(key, answer):
    async def look(app):
        await asyncio.sleep(1.0)
        await press(app, "space", "enter", "pagedown")
        assert isinstance(app.screen, SettingScreen) and app.got is None
        assert "pedal does nothing" in words(app, "keys")
        await press(app, key)
        await until(lambda: app.got == answer)

    shown(SettingScreen("blue van", offered()[0][0], BESIDE), look)


def test_the_way_with_loose_dowels_tells_how_to_help_the_housing_home():
    option = offered(ABOVE, way="free")[0][0]

    async def look(app):
        assert "screwdriver" in words(app, "guide") and "lock the" in words(app, "guide")

    shown(SettingScreen("blue van", option, ABOVE), look)


def test_what_can_hurt_with_dowels_stands_before_the_first_setting_of_a_job_only(tmp_path):
    job = open_job(tmp_path, "blue van", {"kit": "5thou,7thou"}, Opened(time=now(), title="blue van"))
    job.note(Sweep(file="found-1.jsonl", stage="found"))
    shutil.copy(RECORDINGS / "launch-found.jsonl", job.path / "found-1.jsonl")

    async def take_the_best(app):
        await until(lambda: isinstance(app.screen, PlanScreen) and words(app, "guide"))
        await asyncio.sleep(1.0)
        await press(app, "space")

    async def main():
        app = CoaxlyApp(
            lambda app: work_bench(app, Memory(tmp_path / "state.json"), tmp_path), "thou", Preferences()
        )
        async with app.run_test(size=(80, 24)):
            await until(lambda: isinstance(app.screen, JobsScreen) and words(app, "step"))
            await asyncio.sleep(0.5)
            await press(app, "enter")
            await take_the_best(app)
            await until(lambda: isinstance(app.screen, CautionsScreen))
            assert "Eye protection" in words(app, "text")
            await press(app, "space")
            await until(lambda: isinstance(app.screen, SettingScreen) and words(app, "guide"))
            await press(app, "p")
            await take_the_best(app)
            await until(lambda: isinstance(app.screen, SettingScreen | CautionsScreen))
            assert isinstance(app.screen, SettingScreen)
            app.exit()

    clockwork.run(main())
    assert look(job).state.next == "fit"
