"""Drawings for paper: no text becomes markup, scales have round marks."""

from xml.etree import ElementTree

import pytest

from coaxly.draw.svg import Axis, Sheet


def test_text_of_a_job_stays_text():
    sheet = Sheet(100, 50, 'a "label" <b>')
    sheet.text((1, 2), "<script>alert(1)</script>\x1b[2J\u202e")
    root = ElementTree.fromstring(sheet.markup())
    assert root.find(".//{*}script") is None and "<script" not in sheet.markup()
    assert root.find("{*}text").text == "<script>alert(1)</script>\\x1b[2J\\u202e"


@pytest.mark.parametrize(
    ("low", "high"), [(0.0, 1.0), (-12.4, 13.0), (0.0, 360.0), (3e-5, 4e-5), (-1e6, 2e6)]
)
def test_marks_are_round_within_the_scale_and_few(low, high):
    marks = Axis(low, high, 0.0, 100.0).marks(6)
    assert 2 <= len(marks) <= 6
    step = marks[1] - marks[0]
    assert float(f"{step:.0e}") == pytest.approx(step) and f"{step:e}"[0] in "125"
    assert all(low - 1e-9 * step <= mark <= high + 1e-9 * step for mark in marks)


def test_a_scale_of_one_value_lies_in_its_middle():
    assert Axis(2.0, 2.0, 0.0, 10.0).at(2.0) == 5.0 and Axis(2.0, 2.0, 0.0, 10.0).marks() == [2.0]


def test_an_arrow_of_no_length_is_none():
    sheet = Sheet(10, 10, "")
    sheet.arrow((5, 5), (5, 5))
    assert len(ElementTree.fromstring(sheet.markup())) == 0
