"""That no more than three shims go under one place is said where it comes to that, and where it falls short."""

from dataclasses import replace

from coaxly.fitter.face import Shim, Squareness
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.say.sweep.facing import goes_in
from coaxly.say.sweep.findings import face_lines, is_stocked


def face(*wants):
    """Places that want so much (thou), and the stacks of 2-thou shims that come nearest."""
    shims = []
    for k, want in enumerate(wants):
        stack = (2 * THOU,) * min(round(want / 2), 3)
        shims.append(Shim(60.0 * k, f"{2 * k or 12}:00", None, -want * THOU, want * THOU, stack, sum(stack)))
    return Squareness(None, None, 0.0, "12:00", None, tuple(shims), None, None, None, None)


def test_a_place_that_wants_more_than_three_shims_is_named_with_what_it_lacks():
    said = "\n".join(face_lines(face(9.0, 6.0, 2.0), "thou"))
    assert "! 12:00 still lacks 3.0 thou" in said and " 2:00 still lacks" not in said
    assert (
        "more than three shims under one place are a spring and are never offered: get thicker ones" in said
    )


def test_three_that_are_enough_are_told_to_be_the_most():
    said = "\n".join(face_lines(face(6.0, 2.0), "thou"))
    assert "never offered (common practice, no source)" in said and "lacks" not in said


def test_where_fewer_do_nothing_is_said():
    assert "never offered" not in "\n".join(face_lines(face(4.0, 2.0), "thou"))


def test_wants_under_the_thinnest_shim_ask_for_no_stock_that_was_said():
    slight = replace(face(0.4, 0.9, 0.0), thinnest=2 * THOU)
    said = "\n".join(face_lines(slight, "thou"))
    assert "say what is in stock" not in said and "--shims" not in said
    assert "less than your thinnest shim (2.0 thou)" in said and said.count("fit none") == 3
    assert is_stocked(slight) and goes_in(slight.shims[1], stocked=True) == 0.0


def test_stock_that_nobody_said_is_asked_for():
    said = "\n".join(face_lines(face(0.4, 0.9, 0.0), "thou"))
    assert "say what is in stock" in said and "thinnest" not in said
