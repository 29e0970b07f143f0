"""The words beside the picture."""

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from coaxly.draw.sweepsvg import _way as sweep_way
from coaxly.entry.lengths import number
from coaxly.fitter import Fitter, Setup
from coaxly.fitter.geometry import InternalDeg
from coaxly.fitter.result import Remark
from coaxly.fitter.withheld import withhold
from coaxly.job.sweep.linestate import LinkState
from coaxly.job.sweep.news import Do, Task
from coaxly.job.sweep.view import View
from coaxly.say.sweep.aloud import finding_aloud
from coaxly.say.sweep.findings import result_lines
from coaxly.say.sweep.finished import way
from coaxly.say.sweep.live import bar, finding, so_far, so_far_line, sure_line
from coaxly.say.sweep.sweepwords import large, prompt
from coaxly.screens.sweeping.sweepscreen import _round_picture


def swept(feature):
    fitter = Fitter(Setup.from_header({}, feature))
    for k in range(8):
        value = 0.2 * math.cos(math.radians(45.0 * k - 90.0))
        fitter.add_station(45.0 * k, np.array([value]), np.array([float(k)]))
    return fitter


def test_a_face_is_high_somewhere_and_no_housing_moves():
    fitter = swept("face")
    for words in (so_far_line(view(fitter), "thou"), finding(fitter.result(), "thou")):
        assert "igh at 3:00" in words
        assert "moves" not in words and "ffset" not in words


def test_a_bore_goes_where_the_dial_reads_high():
    fitter = swept("bore")
    for words in (so_far_line(view(fitter), "thou"), finding(fitter.result(), "thou")):
        assert "3:00" in words and "ousing moves to" in words


def view(fitter, due=(), planned=9):
    deg = tuple(InternalDeg(at) for at in due)
    moment = {
        "title": "van", "reading": 0.1, "steady": True, "link": LinkState.UP, "lost": (), "recording": "a.jsonl",
        "planned": planned, "waiting_for_steady": False, "trace": (), "paused": False, "news": None,
        "task": Task(Do.FINISH), "finished": False, "sealed": False,
    }  # fmt: skip
    pipeline = SimpleNamespace(fitter=fitter, setup=fitter.setup, fault_count=0)
    return View.of(pipeline, deg, **moment)


def test_what_is_said_so_far_is_what_would_be_reported_now():
    fitter = swept("bore")
    result, words = fitter.result(), so_far(view(fitter), "thou")
    ecc = result.eccentricity
    assert (
        f"Run-out    {number(2 * ecc.amount, 'thou')} +- {number(2 * ecc.u95_amount, 'thou')} thou" in words
    )
    assert f"Off-centre {number(ecc.amount, 'thou')} +- {number(ecc.u95_amount, 'thou')} thou" in words
    assert f"Housing moves to {ecc.move_clock} seen from behind" in words
    assert "igh at 3:00" in so_far(view(swept("face")), "thou")
    assert so_far(view(Fitter(Setup())), "thou").startswith("No result yet")


def test_the_bar_says_what_the_next_station_leaves_of_it_and_once_all_are_read_what_a_key_would():
    fitter = swept("bore")
    shown = bar(view(fitter, (100.0, 200.0)), "mm")
    seen = fitter.outlook((100.0, 200.0))
    assert shown.spread == 2.0 * seen.eccentricity.u95_amount and shown.then == 2.0 * seen.after[0]
    assert shown.now == f"+-{number(shown.spread, 'mm')}"
    assert shown.next == f"after 3:20: +-{number(shown.then, 'mm')}"
    assert shown.beside[0] == f"run-out {shown.now} mm now" and shown.beneath[0] == "mm run-out now"
    said = sure_line(view(fitter, (100.0, 200.0)), "mm")
    assert said.startswith("with the station at 3:20 the run-out would be known to about")
    assert said.endswith(f"+- {number(shown.then, 'mm')} mm") and sure_line(view(fitter), "mm") == ""
    over = bar(view(fitter), "mm")
    assert over.next.split(": +-")[0] in ("T one more turn", "O the other way") and over.then < over.spread
    assert bar(view(fitter, planned=0), "mm").then is None  # a replay has no such key
    assert bar(view(Fitter(Setup()), (0.0,)), "mm") is None


def test_a_bar_that_is_next_to_nothing_is_never_said_to_be_none():
    seen = view(swept("bore"), (100.0,))
    tiny = replace(seen.outlook.eccentricity, u95_amount=0.0004)
    seen = replace(seen, outlook=replace(seen.outlook, eccentricity=tiny, after=(0.0002,)))
    assert "+- less than 0.1 thou" in so_far(seen, "thou")
    assert bar(seen, "thou").now == "+-0.03" and bar(seen, "thou").next == "after 3:20: +-0.02"


@pytest.mark.parametrize("feature", ["bore", "face"])
def test_plain_lines_say_where_the_clock_is_seen_from(feature):
    assert so_far_line(view(swept(feature)), "mm").endswith("seen from behind")


@pytest.mark.parametrize("feature", ["bore", "face", "pilot", "sag"])
def test_plain_lines_say_so_far_what_the_screen_says(feature):
    seen = view(swept(feature), (100.0,))
    figures = [" ".join(line.split()).lower() for line in so_far(seen, "thou").splitlines()[1:-1]]
    assert figures and so_far_line(seen, "thou").lower() == f"so far: {', '.join(figures)}"
    assert so_far_line(view(Fitter(Setup())), "thou") == ""


def lost_in_noise():
    fitter = Fitter(Setup())
    for k, value in enumerate([0.0, 0.02, -0.02, 0.01, 0.03, -0.02, 0.02, -0.03]):
        fitter.add_station(45.0 * k, np.array([value]), np.array([float(k)]))
    return fitter


def passed(upto, fitter=None):
    """Of a bore that angles come from by themselves, .1 mm off."""
    fitter = fitter or Fitter(Setup())
    deg = np.arange(0.0, upto, 1.0)
    fitter.add_track(deg, 0.1 * np.cos(np.radians(deg - 90.0)), deg / 60.0)
    return fitter


@pytest.mark.parametrize(
    ("fitter", "points"),
    [(swept("bore"), True), (lost_in_noise(), False), (passed(360.0), True), (passed(200.0), False)],
    ids=["found", "noise", "all round", "on the way"],
)
def test_nothing_points_anywhere_until_there_is_a_direction(fitter, points):
    seen = view(fitter)
    assert seen.estimate is not None
    for words in (so_far(seen, "thou"), so_far_line(seen, "thou")):
        assert ("ousing moves to 3:00" in words) == points
        assert ("o direction yet" in words) == (not points)
    arrow = _round_picture(seen, None, "thou").move_deg
    assert arrow == pytest.approx(90.0, abs=1.0) if points else arrow is None


def test_of_a_sweep_that_was_left_off_no_direction_is_said_to_be_lacking():
    seen = replace(view(swept("bore")), finished=True, outlook=None)
    for words in (so_far(seen, "thou"), so_far_line(seen, "thou")):
        assert "off-centre" in words.lower() and "direction" not in words and "moves" not in words


@pytest.mark.parametrize("state", ["outside", "inside", "withheld"])
def test_once_finished_nothing_points_where_no_verdict_says_so(state):
    fitter, result = swept("bore"), swept("bore").result()
    if state == "withheld":
        result = withhold(
            replace(result, remarks=(Remark.warning("tip_unmoved", file="face-1.jsonl", feature="face"),))
        )
    else:
        result = replace(result, decision=replace(result.decision, state=state))
    arrow = _round_picture(replace(view(fitter), finished=True, outlook=None), result, "thou").move_deg
    assert (arrow is not None) == ("Housing moves to" in finding(result, "thou")) == (state == "outside")


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


def told_everywhere(result):
    """Result, page, voice, drawing: a line each, or more."""
    to = way(result, "thou")
    return "\n".join(
        [*result_lines(result, "thou"), *to.head, to.clock, to.tail, finding_aloud(result, "thou"),
         finding(result, "thou"), sweep_way(result, "thou")]
    )  # fmt: skip


@pytest.mark.parametrize("feature", ["bore", "face"])
def test_a_direction_whose_bar_is_all_round_is_nowhere_given(feature):
    result = swept(feature).result()
    assert "3:00" in told_everywhere(result)
    anywhere = replace(result, eccentricity=replace(result.eccentricity, u95_deg=180.0))
    said = told_everywhere(anywhere)
    assert result.eccentricity.detected and "3:00" not in said and "180" not in said
    assert way(anywhere, "thou").head == ("NO DIRECTION FOUND",) and way(anywhere, "thou").deg is None
    assert "none found: it may be any" in said


@pytest.mark.parametrize(
    ("state", "must"), [("outside", True), ("unsure", False), ("inside", False), ("withheld", False)]
)
def test_only_what_is_outside_is_told_to_move(state, must):
    result = swept("bore").result()
    withheld = ("not_turned",) if state == "withheld" else ()
    decision = replace(
        result.decision, state="unsure" if withheld else state, probability=0.9, withheld=withheld
    )
    said = told_everywhere(replace(result, decision=decision)).lower()
    assert ("must move" in said) == ("move the housing" in said) == must
    assert ("a move to centre it" in said) == (not must)
