"""The page of a finished sweep: is it good, which way, what spoils it, what next?"""

import asyncio
from dataclasses import replace

import pytest
from making import RECORDINGS, by_hand
from screening import press, rows, until
from sheets import at_sheet, cut, shown

from coaxly.draw.wayplot import draw_way
from coaxly.fitter.result import Remark
from coaxly.fitter.withheld import withhold
from coaxly.job.recorded.pipeline import replay
from coaxly.say.sweep.finished import answer, way
from coaxly.screens.sheet import key_line
from coaxly.screens.small.cautionsscreen import CautionsScreen
from coaxly.screens.sweeping.donescreen import DoneScreen, Swept

SIZES = [(80, 24), (120, 40), (200, 55)]


def swept(name, **fields):
    pipeline = replay(RECORDINGS / f"launch-{name}.jsonl")
    return Swept("blue van", "found", pipeline.result(), then="choose dowels", **fields)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", ["found", "knocked", "face", "left"])
def test_the_answer_fills_the_screen_and_nothing_is_cut(name, size):
    async def look(app):
        assert cut(app) == []
        text = "\n".join(rows(app))
        assert "seen" in text and "behind" in text and "NEXT: choose dowels" in text and "Q leave" in text
        verdict = app.screen.query_one("#verdict").size
        assert verdict.height >= 8 and verdict.height >= size[1] // 3

    shown(DoneScreen(swept(name)), look, size)


def test_the_run_out_has_twice_the_half_width_of_what_is_off_centre():
    result = swept("found").result
    said = answer(result, "mm")
    assert said.spread == pytest.approx(2.0 * result.eccentricity.u95_amount)
    assert said.lines[0] == f"+- {said.spread:.3f} mm run-out" and said.runout == result.tir.fitted


def test_whose_limit_decides_is_on_the_smallest_page():
    page = swept("knocked")
    decision = replace(page.result.decision, source="common practice, no source")

    async def look(app):
        assert any("limit: common practice" in row for row in rows(app))

    shown(DoneScreen(replace(page, result=replace(page.result, decision=decision))), look)


def test_a_bore_says_which_way_the_housing_moves_and_a_face_where_it_is_high():
    bore, face = (way(swept(name).result, "thou") for name in ("found", "face"))
    assert bore.head[0] == "HOUSING MUST MOVE" and bore.clock == "4:04" and "seen from behind" in bore.tail
    assert face.head == ("FACE STANDS HIGH AT",) and "ousing" not in " ".join((*face.head, face.tail))


def test_a_bore_within_the_limit_is_left_and_where_it_stands_is_the_way_it_would_come_back():
    result = swept("left").result
    within = replace(result, eccentricity=replace(result.eccentricity, detected=True, move_deg=300.0))
    told = way(within, "thou")
    assert told.head[0] == "LEAVE IT" and told.head[1].startswith("off-centre by ")
    assert (told.clock, told.deg, told.tail) == ("", None, "the bore stands towards 4:00, seen from behind")


@pytest.mark.parametrize(
    ("feature", "says"), [("pilot", "PILOT BORE READS"), ("flywheel", "FLYWHEEL FACE READS")]
)
def test_what_turns_with_the_crank_is_told_on_the_part_and_moves_no_housing(feature, says):
    to = way(replace(swept("found").result, feature=feature), "thou")
    assert to.head == (f"{says} HIGH AT",) and "on the part" in to.tail and "behind" not in to.tail


def test_a_direction_a_little_before_twelve_is_no_whole_turn():
    result = swept("found").result
    turned = replace(result, eccentricity=replace(result.eccentricity, move_deg=359.7, move_clock="12:00"))
    assert way(turned, "thou").tail.startswith("0 +- ")


def test_no_arrow_where_no_direction_was_found(tmp_path):
    readings = [0.0101, 0.0099, 0.01, 0.0102, 0.0098, 0.01, 0.0101, 0.01]
    result = replay(by_hand(tmp_path / "a.jsonl", readings)).result()
    to = way(result, "thou")
    assert to.clock == "" and to.deg is None and to.head == ("NO DIRECTION FOUND",)
    styles = {style for row in draw_way(None, to.size, 40, 14, "blocks").rows() for _, style in row}
    assert "arrow" not in styles


def reach(size, glyphs="braille"):
    """How far to the right an arrow towards 3 o'clock goes from the middle, in columns."""
    rows_ = draw_way(90.0, size, 80, 40, glyphs).rows()
    ends = []
    for row in rows_:
        column = 0
        for text, style in row:
            column += len(text)
            if style == "arrow":
                ends.append(column)
    return max(ends) - 40.0


def test_the_arrow_is_as_long_as_the_offset_is_in_units_of_the_limit():
    short, just, twice = reach(0.5), reach(1.0), reach(2.0)
    assert twice == pytest.approx(2.0 * just, abs=1.6)
    assert short < just and reach(9.0) < 40.0


def test_space_goes_on_but_not_when_it_was_meant_for_the_page_before():
    async def look(app):
        await press(app, "space")
        assert isinstance(app.screen, DoneScreen)
        await asyncio.sleep(1.0)
        await press(app, "space")
        await until(lambda: app.got == "on")

    shown(DoneScreen(swept("found")), look)


@pytest.mark.parametrize(("key", "wanted"), [("s", "again"), ("q", "leave"), ("r", "report")])
def test_the_other_keys_say_what_is_wanted(key, wanted):
    async def look(app):
        await press(app, key)
        await until(lambda: app.got == wanted)

    shown(DoneScreen(swept("found", report=True)), look)


def test_what_cannot_be_swept_again_does_not_offer_it():
    async def look(app):
        assert not any("sweep again" in row for row in rows(app))
        await press(app, "s")
        await asyncio.sleep(0.2)
        assert app.got is None

    shown(DoneScreen(swept("found", again=False)), look)


def test_cautions_are_one_key_away_and_the_unit_another():
    async def look(app):
        await press(app, "c")
        await until(lambda: isinstance(app.screen, CautionsScreen))
        assert any("must not start" in row for row in rows(app))
        await press(app, "q")
        await at_sheet(app, DoneScreen)
        await press(app, "m", "m")
        await until(lambda: any("mm run-out" in row for row in rows(app)))

    shown(DoneScreen(swept("found")), look)


def test_state_is_a_word_without_colour_and_a_small_terminal_says_so(monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("COAXLY_GLYPHS", "ascii")

    async def look(app):
        assert all(row.isascii() for row in rows(app))
        assert any("almost certainly" in row for row in rows(app))

    shown(DoneScreen(swept("found")), look)

    async def small(app):
        assert any("at least 60 x 20" in row for row in rows(app))

    shown(DoneScreen(swept("found")), small, (50, 15))


def test_the_keys_of_a_page_are_one_line_and_its_own_are_never_left_out():
    own = [("L", "shims are in"), ("O", "others are in"), ("N", "none"), ("S", "sweep again"), ("Q", "jobs")]
    assert (
        key_line(own, 100)
        == "L shims are in   O others are in   N none   S sweep again   M unit   C cautions   ? keys   Q jobs"
    )
    for width in range(60, 120):
        line = key_line(own, width)
        assert len(line) <= max(width, 62) and all(f"{key} {what}" in line for key, what in own)


@pytest.mark.parametrize("size", SIZES)
def test_a_withheld_verdict_says_why_and_may_be_made_sure_of(size):
    good = swept("found", report=True)
    doubt = Remark.warning("held_dial", after_deg=135.0, stations=5, reads_mm=0.1)
    result = withhold(replace(good.result, remarks=(doubt, *good.result.remarks)))

    async def look(app):
        text = "\n".join(rows(app))
        assert cut(app) == [] and "HOUSING MUST MOVE" not in text and "NOTHING TO GO BY" in text
        assert "K all is well" in text
        assert "is it on HOLD" in " ".join(text.split()) or size == SIZES[0]

    shown(DoneScreen(replace(good, result=result)), look, size)
