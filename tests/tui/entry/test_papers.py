"""Readings that stand on paper: what a sweep will understand, and tables that are none."""

from dataclasses import replace

import pytest

from coaxly.entry.papers import is_reading, load_table, written_line
from coaxly.errors import UsageError
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
