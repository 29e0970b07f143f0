import numpy as np
import pytest

from fitter.compare import compare
from fitter.geometry import clock, direction, polar
from fitter.result import Eccentricity
from fitter.split import Setting
from fitter.units import MM_PER_THOU as THOU

SD = 0.25 * THOU


def sweep(vector, sd=SD, freedom=5.0):
    x, y = vector
    deg = direction(-x, -y)
    return Eccentricity(
        amount=float(np.hypot(x, y)), unbiased=0.0, high_deg=deg, high_clock=clock(deg), move_deg=deg,
        move_clock=clock(deg), vector=(x, y), covariance=((sd**2, 0.0), (0.0, sd**2)), freedom=freedom,
        u95_amount=2 * sd, u95_deg=5.0, detected=True, detectable=3 * sd,
    )  # fmt: skip


FOUND = polar(7 * THOU, 250.0)
PLAN = Setting((6 * THOU, 6 * THOU), (70.0, 70.0))


def outcome(shift, sd=SD):
    left = (FOUND[0] + shift[0], FOUND[1] + shift[1])
    return compare(sweep(FOUND, sd), sweep(left, sd), PLAN)


@pytest.mark.parametrize(
    ("shift", "cause"),
    [
        (polar(6 * THOU, 72.0), "as planned"),
        (polar(6 * THOU, 250.0), "180 degrees out"),
        (polar(6 * THOU, -70.0), "mirrored"),
        ((0.0, 0.0), "not seated"),
        (polar(3 * THOU, 70.0), "one dowel only"),
        (polar(6 * THOU, 160.0), "not turned to the mark"),
        (polar(10 * THOU, 70.0), "wrong size"),
    ],
)
def test_each_mistake_is_named(shift, cause):
    comparison = outcome(shift)
    assert comparison.finding.cause == cause
    assert comparison.difference.within == (cause == "as planned")
    assert sum(e.probability for e in comparison.explanations) == pytest.approx(1.0)


def test_what_cannot_be_told_is_said():
    comparison = outcome(polar(4.4 * THOU, 70.0), sd=4.0 * THOU)
    assert comparison.finding.cause == "cannot be told"
    assert "sweep once more" in comparison.finding.words


def test_without_a_plan_only_the_shift_is_told():
    left = (FOUND[0], FOUND[1] + 5 * THOU)
    comparison = compare(sweep(FOUND), sweep(left), None)
    assert comparison.planned is None and comparison.measured.amount == pytest.approx(5 * THOU)
    assert comparison.measured.clock == "12:00"
