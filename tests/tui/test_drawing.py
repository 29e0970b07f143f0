"""The raster and the digits: what a person sees, as text."""

import pytest

from tui.pixelfont import draw
from tui.raster import Raster, arrow


def picture(raster):
    return ["".join(text for text, _ in row) for row in raster.rows()]


def test_digits_fill_the_room_and_no_more():
    for width, height in ((58, 7), (90, 11), (140, 20), (30, 5)):
        lines = draw("-12.3", width, height)
        assert len(lines) <= height and all(len(line) <= width for line in lines)
    assert max(len(line.strip()) for line in draw("8.8", 200, 40)) > 100


def test_digits_that_do_not_fit_are_written_plainly():
    assert draw("+12.3", 10, 1) == ["+12.3".center(10)]


def test_five_by_seven():
    assert [line.rstrip() for line in draw("1", 10, 7, plain=True)] == [
        "    ##", "  ####", "    ##", "    ##", "    ##", "    ##", "  ######",
    ]  # fmt: skip


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
    raster.clear((3, 3), 1.0)
    assert " " in picture(raster)[1]
