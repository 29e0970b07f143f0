"""Did it work? What is said beside INSIDE and OUTSIDE, and what Space does."""

import asyncio
from dataclasses import replace
from functools import cache
from typing import get_args

import pytest
from making import RECORDINGS, THOU
from proofs import MARKED
from screening import press, rows, until, words
from sheets import cut, shown

from coaxly.fitter.dowels.bothways import Sweeps
from coaxly.fitter.dowels.causes import FINE, Cause
from coaxly.fitter.dowels.compare import Finding, compare
from coaxly.fitter.dowels.explain import Explanation
from coaxly.fitter.dowels.kit import Kit
from coaxly.fitter.dowels.setting import DowelSetting
from coaxly.job.recorded.pipeline import replay
from coaxly.say.job.proofwords import before_and_after, cure, proof_lines, shift_lines, then
from coaxly.screens.jobs.proofscreen import ProofScreen, Proven
from coaxly.widgets.bigwords import BigWords
from coaxly.widgets.verdict import Verdict


@cache
def result(stage):
    return replay(RECORDINGS / f"launch-{stage}.jsonl").result()


def proven(left="left", deg=122.0, **fields):
    found, after = result("found"), result(left)
    setting = DowelSetting((5 * THOU, 5 * THOU), (deg, deg))
    kit = Kit.of([5 * THOU, 10 * THOU])
    said = compare(Sweeps.of(found.eccentricity, after.eccentricity), setting, None, kit)
    return Proven("blue van", found, after, said, **fields)


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 55)])
@pytest.mark.parametrize(("left", "deg"), [("left", 122.0), ("left", 238.0), ("found", 122.0)])
def test_the_verdict_before_and_after_and_the_cure_are_large_and_nothing_is_cut(left, deg, size):
    async def look(app):
        assert cut(app) == []
        text = "\n".join(rows(app))
        assert all(name in text for name in ("○ before", "+ planned", "● after", "from behind"))
        verdict = app.screen.query_one("#verdict", Verdict)
        assert verdict.size.height >= max(8, size[1] // 3)
        assert verdict._answer.number == ("10.9→0.9" if left == "left" else "10.9→10.9")
        assert app.screen.query_one("#cure", BigWords).size.height >= 4

    shown(ProofScreen(proven(left, deg)), look, size)


def finding(cause):
    marks = (125.0,) if cause in MARKED else ()
    return Finding.of(Explanation(cause, 0.9, marks_deg=marks))


@pytest.mark.parametrize("cause", get_args(Cause))
@pytest.mark.parametrize("state", ["inside", "outside", "unsure"])
def test_what_is_large_what_is_said_and_what_space_does_never_contradict_each_other(cause, state):
    left = result("left")
    left = replace(left, decision=replace(left.decision, state=state))
    told = finding(cause)
    comparison = replace(proven().comparison, finding=told)
    large, said = cure(told, left), " ".join(proof_lines(comparison, left, "thou"))
    todo = said.partition("What to do: ")[2]
    assert "nothing" not in todo
    if state == "inside":
        assert then(told, left) == "on"
        assert (large == "DONE") == (not todo) == (cause in FINE)
        assert "set the high sides" not in said and "exchange them" not in said
    else:
        assert large not in ("DONE", "LEAVE IT") and todo
        known = cause in (*FINE, "found swept the other way")
        assert then(told, left) == ("choose" if state == "outside" and known else "again")
        assert (large == "CHOOSE OTHERS") == (then(told, left) == "choose")
    if state == "outside" and cause in MARKED:
        assert large == "BOTH TO 4:10" and "set the high sides to 4:10" in todo


def test_one_sentence_says_what_happened_and_how_probable_it_is():
    page = proven(deg=238.0)
    first = proof_lines(page.comparison, page.left, "thou")[0]
    assert first.startswith("Cannot tell between: the dowels' angle was read from the front OR both sweeps")
    assert first.endswith("% probable).")
    assert before_and_after(page.found, page.left, "mm") == "0.276→0.024"
    assert any(
        "MORE than measuring and setting explain" in line for line in shift_lines(page.comparison, "thou")
    )
    todo = proof_lines(page.comparison, page.left, "thou")[1]
    assert "leave the dowels alone; sweep once more, turning the crank the way" in todo


def test_planned_is_drawn_from_where_the_bore_was_without_dowels():
    page = proven()
    x, y = page.places.planned
    assert (x, y) == pytest.approx(
        tuple(
            a + b for a, b in zip(page.found.eccentricity.vector, page.comparison.planned.vector, strict=True)
        )
    )
    # Some were in when it was swept: what they gave is in the measured shift, and comes off.
    bare = replace(page.comparison, measured=replace(page.comparison.measured, vector=(1.0, 0.0)))
    ex, ey = page.left.eccentricity.vector
    px, py = page.comparison.planned.vector
    assert replace(page, comparison=bare).places.planned == pytest.approx((ex - 1.0 + px, ey + py))


@pytest.mark.parametrize(
    ("left", "keys", "answer"),
    [
        ("left", ["space"], "on"), ("found", ["space"], "again"), ("found", ["p"], "choose"),
        ("left", ["s"], "again"), ("left", ["q"], "leave"),
    ],
)  # fmt: skip
def test_keys(left, keys, answer):
    async def look(app):
        await asyncio.sleep(1.0)
        await press(app, *keys)
        await until(lambda: app.got == answer)

    shown(ProofScreen(proven(left)), look)


def test_where_a_report_can_be_written_it_is_what_comes_next():
    async def look(app):
        assert words(app, "keys").startswith("Space report")
        await asyncio.sleep(1.0)
        await press(app, "space")
        await until(lambda: app.got == "report")

    shown(ProofScreen(proven(report=True)), look)


def test_what_is_longer_than_its_room_rolls_and_the_key_is_said():
    long = tuple(f"doubt {k}: " + "this recording may be of another engine " * 3 for k in range(12))

    async def look(app):
        await until(lambda: "Down more" in words(app, "keys"))
        assert not any("doubt 11" in row for row in rows(app))
        await press(app, *["down"] * 60)
        await until(lambda: app.screen.query_one("#said").scroll_y > 20)

    shown(ProofScreen(proven(doubts=long)), look)

    async def short(app):
        await asyncio.sleep(1.0)
        assert "more" not in words(app, "keys")

    shown(ProofScreen(proven()), short)


def test_doubts_about_the_two_sweeps_stand_with_what_happened():
    async def look(app):
        assert "! the dial moved" in words(app, "text")

    shown(ProofScreen(proven(doubts=("the dial moved",))), look)
