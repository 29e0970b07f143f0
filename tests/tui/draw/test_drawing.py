"""The raster and the digits: what a person sees, as text."""

import math

import clockwork
import numpy as np
import pytest
from textual.app import App

from coaxly.draw.dowelpicture import dowel_picture, draw_dowels
from coaxly.draw.proofpicture import Places, draw_proof
from coaxly.draw.raster import Raster, arrow, pointer
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.plan import Dowel, Option, Predicted
from coaxly.fitter.reading.sectors import Sectors
from coaxly.say.sweep.finished import Answer
from coaxly.say.sweep.live import Bar
from coaxly.say.sweep.noverdict import STATES
from coaxly.screens.app import DARK, LIGHT
from coaxly.widgets.bigwords import BigReading
from coaxly.widgets.outlookbar import OutlookBar
from coaxly.widgets.picture import Picture
from coaxly.widgets.roundplot import RoundPicture, RoundPlot, dots
from coaxly.widgets.textlines import Lines
from coaxly.widgets.trace import Trace
from coaxly.widgets.verdict import Verdict


def picture(raster):
    return ["".join(text for text, _ in row) for row in raster.rows()]


def reading(mm, unit, width, height, *, plain=False):
    """The rows of a large reading, without the blanks at their ends."""
    widget = BigReading("ascii" if plain else "blocks")
    widget.show(mm, unit)
    rows = widget.drawing(width, height)
    return ["".join(text for text, _ in row).rstrip() for row in rows]


def test_digits_fill_the_room_and_no_more():
    for width, height in ((58, 7), (90, 11), (140, 20), (36, 5)):
        lines = reading(-12.3, "um" if height < 7 else "mm", width, height)
        assert len(lines) <= height and all(len(line) <= width for line in lines)
    assert max(len(line.strip()) for line in reading(8.8, "mm", 200, 40)) > 100


def test_digits_that_do_not_fit_are_written_plainly():
    assert reading(0.0123, "um", 16, 1) == ["   +12     um"]


def test_five_by_seven():
    drawn = reading(0.001, "um", 30, 7, plain=True)
    assert [line[11:21].rstrip() for line in drawn] == [
        "    ##", "  ####", "    ##", "    ##", "    ##", "    ##", "  ######",
    ]  # fmt: skip
    assert drawn[-1].endswith(" um")


@pytest.mark.parametrize("glyphs", ["blocks", "braille", "ascii"])
def test_dots_of_two_layers_merge_and_the_upper_gives_the_style(glyphs):
    raster = Raster(10, 5, glyphs)
    raster.disc("low", (5, 5), 4)
    raster.disc("high", (5, 5), 1)
    styles = [style for row in raster.rows() for _, style in row]
    assert "low" in styles and "high" in styles
    assert picture(raster)[2][4] != " "


@pytest.mark.parametrize(("deg", "corner"), [(0, (0, 10)), (90, (10, 19)), (180, (19, 10)), (270, (10, 0))])
def test_the_arrow_points_where_it_should(deg, corner):
    points = arrow((10.0, 10.0), 18.0, deg, 8.0)
    tip = points[3]
    assert tip[1] == pytest.approx(10 + 9 * (corner[0] - 10) / 9.5, abs=0.6)
    assert tip[0] == pytest.approx(10 + 9 * (corner[1] - 10) / 9.5, abs=0.6)


def test_text_is_cut_at_the_edges():
    raster = Raster(4, 1)
    raster.text("hour", 2, 0, "12345")
    raster.text("hour", 0, 9, "off")
    assert picture(raster) == ["  12"]


def test_clearing_leaves_room_for_what_follows():
    raster = Raster(6, 3, "ascii")
    raster.disc("low", (3, 3), 9)
    raster.clear([(3, 3)], 1.0)
    assert " " in picture(raster)[1]


def test_many_discs_are_one_layer_and_the_same_dots_as_one_by_one():
    places = [(3.2, 4.1), (9.0, 9.5), (-0.4, 12.0), (19.7, 0.2)]
    together, apart = Raster(20, 8), Raster(20, 8)
    together.discs("low", places, 1.7)
    for place in places:
        apart.disc("low", place, 1.7)
    assert together.rows() == apart.rows()
    x, y = np.meshgrid((np.arange(40) + 0.5) / 2.0, np.arange(16) + 0.5)
    near = np.any([np.hypot(x - px, y - py) <= 1.7 for px, py in places], axis=0)
    cells = near.reshape(8, 2, 20, 2).any(axis=(1, 3))
    assert [[char != " " for char in row] for row in picture(together)] == cells.tolist()


def test_a_line_has_no_gaps():
    raster = Raster(30, 10)
    raster.line("low", (1.0, 1.0), (29.0, 19.0), 0.5)
    assert all(any(char != " " for char in row) for row in picture(raster))


def test_a_bitmap_is_scaled_into_boxes():
    raster = Raster(8, 4)
    raster.bitmap("word", (1.0, 0.0), ["101", "010"], (2.0, 4.0))
    assert picture(raster) == [" ██  ██ ", " ██  ██ ", "   ██   ", "   ██   "]


def turned(turns):
    """A continuous sweep of an oval bore, a reading each half degree."""
    sectors = Sectors()
    deg = np.arange(0.0, 360.0 * turns, 0.5)
    sectors.add(deg, np.cos(np.radians(deg)) + 0.2 * np.cos(np.radians(2.0 * deg)), deg / 12.0)
    return sectors.table()


@pytest.mark.parametrize(("radius", "most"), [(4.0, 12), (12.5, 24), (22.0, 36), (40.0, 72)])
def test_however_long_the_sweep_the_picture_has_room_for_its_dots(radius, most):
    short, long = dots(turned(1), radius), dots(turned(30), radius)
    assert len(short[0]) == len(long[0]) == most
    for once, often in zip(short, long, strict=True):
        assert often == pytest.approx(once, abs=1e-9)
    deg, value = long
    # The mean over a part of the circle is flatter than its middle, by as much as the part is wide.
    expected = np.cos(np.radians(deg)) + 0.2 * np.cos(np.radians(2.0 * deg))
    assert value == pytest.approx(expected, abs=0.05 if most == 12 else 0.02)


def test_few_stations_are_drawn_each_where_it_was_read():
    stations = turned(1).take(slice(0, 48))
    deg, value = dots(stations, 12.0)
    assert deg is stations.deg and value is stations.value


class Shown(App):
    """One widget on a screen of its own."""

    def __init__(self, widget):
        super().__init__()
        self.widget = widget

    def compose(self):
        yield self.widget


def long_round_plot():
    plot = RoundPlot("blocks")
    plot.show(RoundPicture(turned(30), mean=0.0, vector=(0.5, 0.1), move_deg=100.0, permitted=0.2))
    return plot


def proof_plot():
    places = Places(1.0, (3.0, 1.0), None, (0.1, 0.0))
    return Picture("blocks", lambda w, h, g: draw_proof(places, w, h, g))


def long_trace():
    trace = Trace("blocks", 6.0)
    trace.show(tuple((0.04 * k, math.sin(k)) for k in range(150)), 0.5)
    return trace


@pytest.mark.parametrize(
    "make",
    [long_round_plot, long_trace, BigReading, proof_plot],
    ids=["round plot", "trace", "reading", "proof"],
)
def test_a_widget_is_drawn_once_a_change_and_once_a_size(make):
    async def main():
        app = Shown(make())
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            widget, sizes = app.widget, []
            plain = widget.drawing

            def counted(width, height):
                sizes.append((width, height))
                return plain(width, height)

            widget.drawing = counted
            for _ in range(3):
                for y in range(widget.size.height):
                    assert widget.render_line(y).cell_length == widget.size.width
            assert sizes == []
            widget.stale()
            await pilot.pause()
            assert sizes == [widget.size]
            await pilot.resize_terminal(100, 30)
            await pilot.pause()
            assert sizes[1:] == [widget.size] and widget.size.width == 100

    clockwork.run(main())


def test_only_the_rows_that_came_out_otherwise_are_sent_to_the_terminal():
    async def main():
        widget = BigReading()
        app = Shown(widget)
        async with app.run_test(size=(80, 24)) as pilot:
            widget.show(0.0127, "thou")
            await pilot.pause()
            asked, plain = [], widget.refresh
            widget.refresh = lambda *regions, **how: (asked.append(regions), plain(*regions, **how))[1]
            before = [widget.render_line(y) for y in range(widget.size.height)]
            widget.show(0.0127 + 0.00254, "thou")
            after = [widget.render_line(y) for y in range(widget.size.height)]
            other = [y for y in range(len(after)) if before[y] != after[y]]
            assert [[region.y for region in regions] for regions in asked] == [other]
            assert 0 < len(other) < len(after)
            widget.stale()
            assert len(asked) == 1  # the same again is not sent at all

    clockwork.run(main())


def test_what_is_empty_changes_no_style_on_its_way_to_the_terminal():
    async def main():
        app = Shown(BigReading())
        async with app.run_test(size=(80, 24)) as pilot:
            app.widget.show(0.0127, "thou")
            await pilot.pause()
            strips = [app.widget.render_line(y) for y in range(app.widget.size.height)]
            assert "██      ██" in "".join(strip.text for strip in strips)
            assert [len(strip) for strip in strips] == [1] * len(strips)
            assert {strip.cell_length for strip in strips} == {app.widget.size.width}

    clockwork.run(main())


def test_a_text_lays_the_page_out_anew_only_where_it_takes_other_room():
    async def main():
        widget = Lines("1 reading")
        app = Shown(widget)
        async with app.run_test(size=(40, 24)) as pilot:
            await pilot.pause()
            plain, laid = widget.refresh, []
            widget.refresh = lambda *regions, **how: (laid.append(how.get("layout")), plain(*regions, **how))[
                1
            ]
            texts = (("2 readings", 1), ("2\nreadings", 2), ("word " * 12, 2), ("3 readings", 1))
            for (text, height), anew in zip(texts, (False, True, False, True), strict=True):
                laid.clear()
                widget.show(text)
                await pilot.pause()
                assert widget.size.height == height and (True in laid) is anew
            widget.display = False
            await pilot.pause()
            laid.clear()
            widget.show("not to be seen:\nit takes no room")
            assert True not in laid
            widget.display = True
            await pilot.pause()
            assert widget.size.height == 2

    clockwork.run(main())


def painted(**picture_of):
    """Cells in which the arrow of a round plot is the highest, as (column, row), and the rows."""
    plot = RoundPlot("ascii")
    plot.show(RoundPicture(turned(1), mean=0.0, **picture_of))
    rows = ["".join(text for text, _ in row) for row in plot.drawing(60, 30)]
    return [(x, y) for y, row in enumerate(rows) for x, char in enumerate(row) if char == "#"], rows


def test_the_arrow_is_as_long_as_the_offset_is_large_in_units_of_the_limit():
    def reach(vector):
        cells, _ = painted(vector=vector, move_deg=90.0, permitted=1.0)
        return max((x + 1.0 - 30.0 for x, _ in cells), default=0.0)

    radius = 28.8 / 1.22  # a tip is thinner than a cell: up to three of its length do not show
    for offset, share in ((0.5, 0.2), (1.0, 0.4), (1.5, 0.6), (9.0, 0.95)):
        assert share * radius - 3.0 <= reach((-offset, 0.0)) <= share * radius + 0.5


def test_no_direction_no_arrow():
    cells, rows = painted(vector=(0.01, 0.0), move_deg=None, permitted=1.0)
    assert cells == []
    assert "from behind" in rows[-1]


@pytest.mark.parametrize("length", [6.0, 30.0])
@pytest.mark.parametrize("deg", [0.0, 77.0, 200.0])
def test_a_pointer_reaches_from_its_tail_to_its_tip_and_no_further(deg, length):
    points = np.array(pointer((10.0, 10.0), length, deg, 8.0)) - 10.0
    rad = math.radians(deg)
    along = points @ (math.sin(rad), -math.cos(rad))
    across = points @ (math.cos(rad), math.sin(rad))
    assert along.max() == pytest.approx(length) and along.min() == pytest.approx(0.0)
    assert across[along.argmax()] == pytest.approx(0.0)
    assert across.max() == pytest.approx(-across.min()) and 0.0 < across.max() <= 4.0 + 1e-9


def answered(state, runout=0.25):
    lines = ("+- 0.4 thou run-out", "limit 5.0 thou", "# recorded and sealed")
    return Answer(state, "12.1", lines, runout, 0.01, 0.127)


@pytest.mark.parametrize("size", [(60, 8), (80, 8), (120, 11), (200, 14)])
@pytest.mark.parametrize("state", STATES)
def test_the_verdict_is_the_largest_thing_and_nothing_beside_it_is_cut(state, size):
    width, height = size
    rows = Verdict("blocks", answered(state)).drawing(width, height)
    assert all(sum(len(text) for text, _ in row) == width for row in rows)
    whole = ["".join(text for text, _ in row) for row in rows]
    for line in answered(state).lines:
        assert any(line in row for row in whole)
    word = {"inside": "good", "outside": "bad", "unsure": "unsure", "unit": "unsure"}[state]
    assert not any("12.1" in row for row in whole) or width == 60  # the number is drawn large as well
    tall = [y for y, row in enumerate(rows[:-1]) if any(style == word for _, style in row)]
    wide = max(sum(len(text.strip()) for text, style in row if style == word) for row in rows[:-1])
    assert len(tall) >= (3 if width == 60 else 6)
    assert wide > 12


def test_words_of_different_verdicts_differ_in_shape_without_colour():
    pictures = {tuple(picture_of(Verdict("ascii", answered(state)), 80, 8)) for state in STATES}
    assert len(pictures) == len(STATES) == 3


def picture_of(widget, width, height):
    return ["".join(text for text, _ in row) for row in widget.drawing(width, height)]


@pytest.mark.parametrize("runout", [0.0, 0.06, 0.127, 0.2, 3.0])
def test_the_bar_shows_on_which_side_of_the_limit_the_run_out_is(runout):
    bar = picture_of(Verdict("ascii", answered("unsure", runout)), 80, 8)[-1]
    assert bar.count("|") == 1
    if runout != 0.127:
        assert (bar.index("O") < bar.index("|")) == (runout < 0.127)


def bar_of(runout, spread, then, width=80, height=1, glyphs="ascii"):
    widget = OutlookBar(glyphs)
    widget.show(Bar(runout, spread, 0.127, then, "+-3.9", "after 7:30: +-2.0", "thou"))
    return picture_of(widget, width, height)


def test_the_bar_of_a_sweep_has_in_it_what_the_next_station_leaves():
    (line,) = bar_of(0.2, 0.04, 0.02)
    whole, inner = line.count("=") + line.count("#"), line.count("#")
    assert 0 < inner < whole and inner == pytest.approx(whole / 2, abs=2)
    assert line.index("|") < line.index("=") < line.index("#")
    assert line.rstrip().endswith(" run-out +-3.9 thou now, after 7:30: +-2.0")
    assert bar_of(0.2, 0.04, 0.02, 60)[0].rstrip().endswith("- +-3.9 thou, after 7:30: +-2.0")
    assert "thou run-out now, after 7:30: +-2.0" in "\n".join(bar_of(0.2, 0.04, 0.02, 120, 5, "blocks"))


def test_a_bar_wider_than_the_picture_fills_it_and_one_with_nothing_due_has_a_middle():
    (line,) = bar_of(0.2, 5.0, 3.0)
    assert "-" not in line[:27] and line.count("|") == 1
    (line,) = bar_of(0.2, 0.04, None)
    assert "#" not in line and line.count("O") == 1


@pytest.mark.parametrize(("width", "height"), [(40, 1), (60, 1), (80, 1), (112, 5), (200, 5)])
def test_no_word_of_the_bar_is_cut(width, height):
    widget = OutlookBar("blocks")
    widget.show(Bar(0.2, 0.04, 0.127, 0.02, "+-0.0012", "T one more turn: +-0.0010", "in"))
    text = "\n".join(picture_of(widget, width, height))
    assert ("in, T one more turn: +-0.0010" in text) == (width == 60 or height > 1)
    assert ("run-out +-0.0012 in now, T one more turn: +-0.0010" in text) == (width == 80)


def option(*dowels):
    return Option("parallel", dowels, Predicted(0.1, 0.1), 0.9, 20.0)


@pytest.mark.parametrize("size", [(38, 14), (34, 19), (78, 28)])
@pytest.mark.parametrize("deg", [10.0, 125.0, 200.0, 300.0])
def test_dowels_are_drawn_with_their_high_sides_where_they_belong(deg, size):
    width, height = size
    dowel = Dowel.at(0.2, deg)
    rows = draw_dowels(
        option(dowel, dowel), Pins((-150.0, 0.0), (150.0, 0.0)), width, height, "blocks"
    ).rows()
    left, x = [], 0
    for y, row in enumerate(rows):
        x = 0
        for text, style in row:
            left += [
                (x + k, y) for k, c in enumerate(text) if style == "arrow" and c != " " and x + k < width / 2
            ]
            x += len(text)
    # The middle of the arrow, seen from the middle of its dowel, in columns and half rows.
    mx, my = np.mean(left, axis=0)
    dx, dy = mx + 0.5 - width / 4.0, 2.0 * my + 1.0 - height
    assert (math.degrees(math.atan2(dx, -dy)) - deg + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=15.0)
    whole = ["".join(text for text, _ in row) for row in rows]
    for hour, at in (("12", 0.0), (" 3", 90.0), ("6", 180.0), ("9 ", 270.0)):
        # One that would stand in the arrow is left out.
        assert any(hour in row for row in whole) or abs((deg - at + 180.0) % 360.0 - 180.0) < 20.0
    assert "left hole" in "".join(whole) and "right hole" in "".join(whole)
    assert any("seen from behind" in row for row in whole)


@pytest.mark.parametrize("pins", [None, Pins((-150.0, 0.0), (150.0, 0.0))])
def test_names_of_dowels_are_whole_however_small_the_picture(pins):
    one, other = ("one", "other") if pins is None else ("left", "right")
    for size in [(28, 3), (28, 4), (28, 5), (28, 6), (20, 6), (16, 6), (14, 6)]:
        rows = picture(draw_dowels(option(Dowel.at(0.2, 200.0), Dowel.at(0.1, 20.0)), pins, *size, "blocks"))
        words = " ".join(rows).split()
        assert one in words and other in words, (size, rows)
        assert "12" in words or {"6:40", "12:40"} <= set(words)


def test_a_mark_that_is_not_at_the_high_side_has_its_own_sign():
    apart, same = (
        option(Dowel.at(0.1, 300.0, 90.0), Dowel.at(0.1, 20.0)),
        option(Dowel.at(0.1, 20.0), Dowel.at(0.1, 20.0)),
    )
    assert any("M: mark" in row for row in dowel_picture(apart, None))
    assert not any("M: mark" in row for row in dowel_picture(same, None))
    assert dowel_picture(option(), None) == []


@pytest.mark.parametrize("size", [(23, 10), (30, 9), (34, 15), (60, 24), (90, 30)])
@pytest.mark.parametrize("before", [(3.0, 2.0), (-3.0, 2.0), (0.2, -0.1)])
def test_before_planned_and_after_differ_in_shape_and_are_named(before, size):
    places = Places(1.0, before, (-2.0, -1.0), (0.2, -2.5))
    text = picture(draw_proof(places, *size, "ascii"))
    assert [row[:10].strip() for row in text[:3]] == ["o before", "* planned", "# after"]
    assert "seen from behind" in text[-1]
    drawn = {style for row in draw_proof(places, *size, "blocks").rows() for _, style in row}
    assert {"station", "due", "arrow", "good"} <= drawn


def luminance(colour):
    parts = [int(colour[k : k + 2], 16) / 255.0 for k in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("theme", [DARK, LIGHT], ids=["dark", "light"])
def test_every_colour_stands_out_eight_to_one_from_every_ground(theme):
    """Contrast after WCAG 2.2, "contrast ratio"."""
    for name in ("primary", "secondary", "foreground", "success", "warning", "error", "accent"):
        for ground in ("background", "surface", "panel"):
            one, other = luminance(getattr(theme, name)), luminance(getattr(theme, ground))
            assert (max(one, other) + 0.05) / (min(one, other) + 0.05) >= 8.0, (name, ground)


def test_another_theme_draws_the_same_picture_in_its_own_colours():
    async def main():
        app = Shown(long_round_plot())
        async with app.run_test(size=(80, 24)) as pilot:
            for theme in (DARK, LIGHT):
                app.register_theme(theme)
            seen = {}
            for theme in (DARK, LIGHT):
                app.theme = theme.name
                await pilot.pause()
                strips = [app.widget.render_line(y) for y in range(24)]
                seen[theme.name] = (
                    [strip.text for strip in strips],
                    {segment.style.color.triplet.hex for strip in strips for segment in strip},
                )
            (dark, dark_colours), (light, light_colours) = seen.values()
            assert dark == light
            assert DARK.primary in dark_colours and LIGHT.primary in light_colours

    clockwork.run(main())
