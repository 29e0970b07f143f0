"""Words of the pages that ask, look for the dial, tap a housing into place, and of the report."""

import math
from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.geometry import EnteredDeg, InternalDeg
from coaxly.fitter.result import Decision
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.job.folder.index import Row
from coaxly.job.many.oneport import Ear
from coaxly.job.steps.nudge import Came, Step, ToGo
from coaxly.job.steps.nudgerun import NudgeView
from coaxly.job.sweep.linestate import LinkState
from coaxly.job.sweep.news import Do, Task
from coaxly.say import nudgewords
from coaxly.say.job import listwords, newjob, reportwords
from coaxly.say.sweep import dialhunt
from coaxly.say.sweep.sweepwords import prompt

INSIDE, OUTSIDE = Decision(5 * THOU, "inside", 0.99, "the maker, p. 7"), Decision(0.2, "outside", 0.01)
UNSURE, DOUBT = Decision(5 * THOU, "unsure", 0.5), Decision(5 * THOU, "unsure", 0.9, withheld=("other_unit",))


@pytest.mark.parametrize(
    ("bore", "face", "state", "words"),
    [
        (INSIDE, None, "inside", "INSIDE the limit"),
        (INSIDE, INSIDE, "inside", "INSIDE the limit, bore and face"),
        (INSIDE, OUTSIDE, "outside", "bore INSIDE, face OUTSIDE"),
        (UNSURE, INSIDE, "unsure", "bore TOO CLOSE TO CALL, face INSIDE"),
        (None, OUTSIDE, "outside", "OUTSIDE the limit"),
        (DOUBT, OUTSIDE, "withheld", "bore UNIT IN DOUBT, face OUTSIDE"),
        (DOUBT, DOUBT, "withheld", "UNIT IN DOUBT"),
    ],
)
def test_the_housing_is_as_good_as_the_worse_of_bore_and_face(bore, face, state, words):
    assert reportwords.verdict_of_all(bore, face) == (state, words)


def swept(amount, scatter=0.002):
    fitter = Fitter(Setup())
    for k in range(8):
        value = amount * math.cos(math.radians(45.0 * k)) + scatter * (-1) ** k
        fitter.add_station(45.0 * k, np.array([value]), np.array([float(k)]))
    return fitter.result()


def test_a_run_out_is_told_with_its_uncertainty_which_is_never_nothing():
    result = swept(0.2)
    u95 = 2.0 * result.eccentricity.u95_amount
    assert reportwords.run_out_words(result, "mm") == f"{result.tir.fitted:.3f} ± {u95:.3f} mm"
    sure = swept(0.2)
    fine = replace(sure, eccentricity=replace(sure.eccentricity, u95_amount=1e-6))
    assert reportwords.run_out_words(fine, "mm") == "0.400 ± under 0.001 mm"


def test_before_and_after_is_one_sentence_and_a_single_sweep_says_which_it_is():
    found, left = swept(0.2), swept(0.01)
    both = reportwords.both_run_outs("bore", found, left, "mm")
    assert (
        reportwords.run_out_words(found, "mm") + " before" in both
        and reportwords.run_out_words(left, "mm") + " after" in both
    )
    assert ", as it came in, is " in reportwords.both_run_outs("bore", found, None, "mm")
    assert ", as it is now, is " in reportwords.both_run_outs("bore", None, left, "mm")


def test_a_limit_is_told_once_with_whose_it_is():
    assert reportwords.limit_words([INSIDE, INSIDE], "thou") == "5.0 thou run-out (TIR): the maker, p. 7"
    assert reportwords.limit_words([INSIDE, OUTSIDE], "thou").endswith("; 7.9 thou run-out (TIR): stated for this job, "
                                                                  "without a source")  # fmt: skip
    assert reportwords.legend("bore", ["bore", "face"]).count("Run-out") == 2


def test_every_question_of_a_new_job_has_its_reason_and_what_enter_alone_means():
    asked = newjob.questions("5thou,7thou", ["long-arm", "short"])
    assert len({question.key for question in asked}) == len(asked)
    assert all(question.why and question.short.isupper() for question in asked)
    by = {question.key: question for question in asked}
    assert newjob.empty_line(by["kit"]) == "Enter alone: 5thou,7thou" and newjob.empty_line(by["title"]) == ""
    assert by["rig"].ask.endswith("long-arm, short")
    assert asked[-1].key == "rig" and "rig" not in {each.key for each in newjob.questions("", [])}


def ear(state, lines=(), why=""):
    found = Ear("/dev/ttyUSB0")
    found.state, found.why = state, why
    for k, line in enumerate(lines):
        found.hearing.feed(line, 0.1 * k)
        found.hearing.look()
    return found


MOVES = [b"%+.4f\r\n" % (0.0123 + (0.2 * (k % 5) if k > 20 else 0.0001 * (k % 2))) for k in range(60)]


def test_a_port_that_moves_with_the_plunger_says_so_and_can_be_taken():
    dial = ear("speaks", MOVES)
    assert dialhunt.ear_line(dial, 80).endswith("* MOVES") and "9600 8N1" in dialhunt.ear_line(dial, 80)
    large, words = dialhunt.what_to_do([dial], dial)
    assert large == dial.hearing.display and "moves" in words


def test_what_to_do_follows_from_what_is_heard():
    still, silent = ear("speaks", [b"+0.0123\r\n"] * 40), ear("silent")
    assert dialhunt.what_to_do([], None)[0] == "NO PORT"
    assert dialhunt.what_to_do([silent], silent)[0] == "LISTENING"
    assert dialhunt.what_to_do([silent, still], silent) == ("MOVE IT", dialhunt.what_to_do([still], still)[1])  # fmt: skip
    assert "MOVES" not in dialhunt.ear_line(still, 80)


def test_a_port_that_cannot_be_heard_says_why_in_few_words():
    failed = ear("failed", why="/dev/ttyUSB0: another program has it. Close that one")
    assert dialhunt.ear_line(failed, 72) == f"{'/dev/ttyUSB0':<24} X another program has it"
    assert "... silent  (9600 8N1)" in dialhunt.ear_line(ear("silent"), 80)
    long = ear("silent")
    long.port = "/dev/serial/by-id/usb-a-very-long-name-indeed-port0"
    assert dialhunt.ear_line(long, 72).startswith("..") and "port0 ... silent" in dialhunt.ear_line(long, 72)


def view(**changes):
    moment = NudgeView(
        title="van", step=Step.TAP, came=None, deg=InternalDeg(122.0), scale_deg=None, dials=1, go=None,
        most=0.2, tolerance=0.2 * THOU, shift=None, reading=0.1, steady=True, waiting=False,
        link=LinkState.UP, trouble=None, news=None, sd=0.1 * THOU, finished=False, failure="",
    )  # fmt: skip
    return replace(moment, **changes)


FAR, THERE = ToGo(3.2 * THOU, 122.0, within=False), ToGo(0.1 * THOU, None, within=True)


@pytest.mark.parametrize(
    ("changes", "large", "words"),
    [
        ({"go": FAR}, "3.2", "tap it towards 4:04: on its 10:04 side. At STOP: Space"),
        ({"go": THERE}, "STOP", "STOP. Hands off; Space takes it"),
        ({}, "TO 4:04", "wait for the dial"),
        ({"step": Step.PARK}, "TO 4:04", "BOLTS TIGHT. Turn the crank until the dial is at 4:04 (122 deg), stop, Space"),
        ({"step": Step.TURN, "scale_deg": EnteredDeg(58.0)}, "TO 4:04",
         "crank on until the dial is at 58 on your scale (4:04), stop, Space"),
        ({"step": Step.TIGHTEN}, "BOLTS", "bolts to the maker's torque, in the maker's order, then Space"),
        ({"step": Step.DONE}, "DONE", nudgewords.CHECK),
        ({"step": Step.DONE, "finished": True}, "DONE", nudgewords.CHECK),
        ({"go": FAR, "finished": True}, "3.2", "stopped: nothing is proved, sweep again"),
        ({"go": FAR, "waiting": True}, "3.2", "hold still. Space again takes it as it stands"),
        ({"go": FAR, "trouble": Task(Do.TURN_TO, InternalDeg(0.0))}, "3.2", prompt(Task(Do.TURN_TO, InternalDeg(0.0)))),
    ],
)  # fmt: skip
def test_tapping_is_told_in_one_number_and_one_instruction(changes, large, words):
    now = view(**changes)
    assert (nudgewords.large(now, "thou"), nudgewords.instruction(now)) == (large, words)
    assert nudgewords.to_go(now) == (now.go is FAR)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"came": None}, ""),
        ({"came": Came.NOT_YET}, "not there yet: tap on"),
        ({"came": Came.CREPT}, "the bolts drew it off: slacken them, tap again"),
        ({"came": Came.TIED, "go": FAR}, "slacken the bolts until the housing can just be tapped"),
        ({"came": Came.TIED, "go": THERE}, ""),
    ],
)
def test_what_a_reading_came_to_is_said(changes, words):
    assert nudgewords.came(view(**changes), "thou") == words


def test_a_dial_that_was_set_anew_is_said_with_its_size_unless_it_is_asked_about():
    moved = view(came=Came.MOVED, shift=-2.0 * THOU)
    assert "by 2.0 thou. Set anew since?" in nudgewords.came(moved, "thou")
    assert not any("set anew" in line for line in nudgewords.facts(moved, "thou"))
    assert "dial set anew by 2.0 thou, taken in" in nudgewords.facts(view(shift=2.0 * THOU), "thou")
    assert not any("set anew" in line for line in nudgewords.facts(view(shift=0.4 * THOU), "thou"))


def test_what_stands_beside_it_and_the_plain_line():
    assert nudgewords.facts(view(dials=2, link=LinkState.SILENT), "thou") == [
        "STOP within 0.2 thou", "the sweep knows it to +- 0.2 thou", "two dials", "! connected, but silent",
    ]  # fmt: skip
    assert nudgewords.live_line(view(), "thou") == ""
    assert nudgewords.live_line(view(go=FAR), "thou") == "3.2 thou to go towards 4:04 seen from behind"
    assert nudgewords.live_line(view(go=THERE), "thou") == "STOP: 0.1 thou to go is within 0.2 thou"


@pytest.mark.parametrize(
    ("width", "title", "block"), [(80, 20, 0), (103, 43, 0), (104, 21, 15), (300, 38, 32)]
)
def test_a_job_of_the_list_has_block_and_housing_where_there_is_room(width, title, block):
    row = Row("van", "z" * 70, "1", "choose", "bore", "", "q" * 70, "H 7", None, "", 0)
    line = listwords.job_line(row, "thou", width, datetime(2026, 1, 2))
    assert (line.count("z"), line.count("q")) == (title, block) and len(line) <= width
    assert "not swept yet" in line and "choose dowels" in line
