"""How far the plunger is pressed in, told from nothing but its readings."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coaxly.logger.angle.source import Source
from coaxly.logger.profile import built_in
from coaxly.logger.watch.preload import Preload


def heard(values, *, polarity=1, url="x"):
    """Readings in mm, ten a second."""
    found = Preload(Source(url, replace(built_in("stream-decimal"), unit="mm")), polarity)
    found._linked("up")
    for k, value in enumerate(values):
        found.feed(f"{value:+.3f}\r\n".encode(), 0.1 * k)
    return found


FREE, HELD = [1.0] * 5, [1.6] * 10


@pytest.mark.parametrize(
    ("values", "state"),
    [
        ([], "silent"),
        ([1.0] * 20, "unknown"),
        ([*FREE, 1.05], "unknown"),
        ([*FREE, 1.2], "little"),
        ([*FREE, 1.6], "good"),
        ([*FREE, 3.0], "much"),
        ([1.6, *FREE, 1.6], "good"),
    ],
)
def test_it_is_told_once_the_tip_was_seen_free(values, state):
    assert heard(values).state == state


def test_a_dial_that_falls_when_pushed_in_is_told_alike():
    assert heard([1.0, 1.0, 0.4], polarity=-1).state == "good"
    assert heard([1.0, 1.0, 1.6], polarity=-1).state == "unknown"


def test_zeroing_the_dial_changes_nothing_of_it():
    before, after = heard([*FREE, *HELD]), heard([*FREE, *HELD, *[0.0] * 6])
    assert after.reading == 0.0 and after.pressed_mm == pytest.approx(before.pressed_mm, abs=0.01)
    assert after.state == "good"


def test_a_port_that_cannot_be_opened_and_one_that_needs_none():
    assert heard([], url="").state == "typed"
    gone = heard([])
    gone.why = "no such port"
    assert gone.state == "failed"


@given(st.binary(max_size=200), st.integers(1, 7))
def test_whatever_comes_is_only_looked_at(data, step):
    found = heard([])
    for k in range(0, len(data), step):
        found.feed(data[k : k + step], 0.1 * k)
    assert found.pressed_mm >= 0.0
