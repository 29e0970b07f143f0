"""The words beside the picture."""

import math

import numpy as np
import pytest

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.geometry import InternalDeg
from coaxly.job.sweep.news import Do, Task
from coaxly.say.sweep.live import finding, so_far_line
from coaxly.say.sweep.sweepwords import large, prompt


def swept(feature):
    fitter = Fitter(Setup.from_header({}, feature))
    for k in range(8):
        value = 0.2 * math.cos(math.radians(45.0 * k - 90.0))
        fitter.add_station(45.0 * k, np.array([value]), np.array([float(k)]))
    return fitter


def test_a_face_is_high_somewhere_and_no_housing_moves():
    fitter = swept("face")
    for words in (so_far_line(fitter.estimate(), "thou"), finding(fitter.result(), "thou")):
        assert "igh at 3:00" in words
        assert "moves" not in words and "ffset" not in words


def test_a_bore_goes_where_the_dial_reads_high():
    fitter = swept("bore")
    for words in (so_far_line(fitter.estimate(), "thou"), finding(fitter.result(), "thou")):
        assert "3:00" in words and "ousing moves to" in words


@pytest.mark.parametrize("feature", ["bore", "face"])
def test_plain_lines_say_where_the_clock_is_seen_from(feature):
    assert so_far_line(swept(feature).estimate(), "mm").endswith("seen from behind")


def test_a_face_is_read_with_the_crank_pushed_rearward_and_a_bore_as_it_is():
    said = {
        feature: prompt(Task(Do.TURN_TO, InternalDeg(90.0), feature=feature)) for feature in ("face", "bore")
    }
    assert said["face"] == "turn to 3:00, stop, push the crank rearward"
    assert said["bore"] == "turn to 3:00 and stop"
    closing = prompt(Task(Do.TURN_TO, InternalDeg(0.0), feature="face", closing=True))
    assert closing.endswith("stop, push the crank rearward")


def test_the_screen_says_whose_the_limit_is():
    assert "(common practice, no source)" in finding(swept("bore").result(), "thou")
    given = Fitter(Setup.from_header({"limit_mm": 0.2, "limit_source": "the maker, p. 7"}))
    for k in range(8):
        given.add_station(45.0 * k, np.array([0.01 * (k % 2)]), np.array([float(k)]))
    assert "(the maker, p. 7)" in finding(given.result(), "thou")


def test_the_instruction_in_large_letters_is_where_to_turn_or_what_holds_it_up():
    assert large(Task(Do.TURN_TO, InternalDeg(225.0))) == "7:30"
    assert large(Task(Do.WAIT_FOR_REST)) == "HOLD STILL" and large(Task(Do.FINISH)) == "ALL READ"
    assert large(Task(Do.WATCH)) == ""
