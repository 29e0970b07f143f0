"""A sign that stands apart and a counter that starts anew below nought are seen for what they are; what only comes
and goes beside a number is not."""

import math

import pytest

from coaxly.logger.line.coded import coded
from coaxly.logger.line.lines import kinds_of

PUSHED = [0.2345 + 0.9 * math.sin(0.21 * k) for k in range(90)]


def seen(line, moved=PUSHED):
    kind, *_ = kinds_of({"plunger": [line(k, mm) for k, mm in enumerate(moved)]})
    return coded(kind, len(kind.fields()) - 1)


@pytest.mark.parametrize(
    "line",
    [
        lambda k, mm: f"{'NP'[mm > 0]}{abs(mm):.3f}",
        lambda k, mm: f"{int(mm < 0)},{abs(mm):.3f}",
        lambda k, mm: f"{'PLUS' if mm > 0 else 'MINUS'} {abs(mm):.3f} mm",
    ],
    ids=["letter", "figure", "word"],
)
def test_what_changes_where_the_number_touches_nought_is_its_sign(line):
    assert seen(line) == "sign"
    assert seen(line, [*PUSHED[:40], *PUSHED[60:]]) == "sign", "lines were lost"


@pytest.mark.parametrize(
    "line",
    [
        lambda k, mm: f"{'DS'[k % 2]}{abs(mm):.3f}",
        lambda k, mm: f"{'AB'[k // 7 % 2]}{abs(mm):.3f}",
        lambda k, mm: f"{'LG'[mm > 0.5]}{abs(mm):.3f}",
        lambda k, mm: f"{'NP'[mm > 0]}{mm:+.3f}",
        lambda k, mm: f"P{abs(mm):.3f}",
    ],
    ids=["at rest or not", "now and then", "tolerance", "beside a sign", "never"],
)
def test_what_comes_and_goes_otherwise_is_no_sign(line):
    assert seen(line) is None


@pytest.mark.parametrize("end", [2**16, 10**5, 10**6])
def test_a_counter_that_starts_anew_below_nought_is_seen(end):
    assert seen(lambda k, mm: f"{round(1000 * mm) % end}") == "wraps"


def test_counts_with_a_sign_or_above_nought_are_plain():
    assert seen(lambda k, mm: f"{round(1000 * mm)}") is None
    assert seen(lambda k, mm: f"{round(1000 * mm) + 2000}") is None
