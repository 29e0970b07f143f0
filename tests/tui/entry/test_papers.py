"""Readings that stand on paper: what a sweep will understand, and tables that are none."""

from dataclasses import replace

import pytest

from coaxly.entry.papers import is_reading, load_table, written_line
from coaxly.errors import UsageError
from coaxly.fitter import Setup
from coaxly.logger.profile import built_in

TYPED = replace(built_in("typed"), unit="mm")


@pytest.mark.parametrize(
    ("text", "taken"),
    [("1.25", True), ("-0,5 mm", True), ("one", False), ("", False), ("1.25".ljust(80), True), ("1.25".ljust(81), False)],
)  # fmt: skip
def test_a_reading_is_one_that_the_sweep_understands_and_no_longer_than_a_line(text, taken):
    assert is_reading(text, TYPED) is taken


def test_a_whole_turn_is_an_angle_and_more_is_an_encoders_count():
    assert written_line("360 1.5", "mm").deg == 360.0
    with pytest.raises(UsageError, match="write degrees"):
        written_line("361 1.5", "mm")


def test_a_line_may_hold_the_angle_before_the_reading():
    assert (written_line("90 1.5thou", "mm").deg, written_line("1.5", "mm").deg) == (90.0, None)


def test_a_line_may_hold_a_place_on_the_clock_which_is_seen_from_behind_whatever_the_scale():
    written = written_line("1:30 5thou", "")
    assert written.text == "5thou" and written.placed(Setup()).deg == 45.0
    assert written.placed(Setup(sense="ccw")).deg == 315.0
    assert written_line("45 5thou", "").placed(Setup(sense="ccw")).deg == 45.0
    for wrong in ("13:00 5thou", "1:75 5thou"):
        with pytest.raises(UsageError, match="a place on the clock, such as 1:30"):
            written_line(wrong, "")


def test_a_whole_number_among_places_on_the_clock_is_not_guessed_at(tmp_path):
    path = tmp_path / "paper.csv"
    path.write_text("angle,reading\n12:00,1\n3:00,2\n6,3\n9:00,2\n")
    with pytest.raises(
        UsageError, match="line 4: angle is '6' among places on the clock: write 6:00 for"
    ) as said:
        load_table(path, "mm", TYPED)
    assert "6.0 for degrees" in str(said.value)
    for way, deg in (("6:00", 180.0), ("6.0", 6.0), ("180", 180.0)):
        path.write_text(f"angle,reading\n12:00,1\n3:00,2\n{way},3\n9:00,2\n")
        assert load_table(path, "mm", TYPED)[2].deg == deg
    path.write_text("angle,reading\n0,1\n6,2\n12,3\n")
    assert [row.deg for row in load_table(path, "mm", TYPED)] == [0.0, 6.0, 12.0]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"angle,reading\n0,1\n90,\xff\n", "line 3: no text in UTF-8: save the table as CSV"),
        (None, "No such file"),
    ],
)
def test_a_file_that_is_no_table_is_said_with_its_line(data, words, tmp_path):
    path = tmp_path / "paper.csv"
    if data is not None:
        path.write_bytes(data)
    with pytest.raises(UsageError, match=words):
        load_table(path, "mm", TYPED)
