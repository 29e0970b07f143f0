"""What a shop owner is told to do, and that it follows from what was found."""

import dataclasses

import numpy as np
import pytest
from making import RECORDINGS

from coaxly.entry.foundlist import load_found
from coaxly.fitter.shop.changes import Change, changes
from coaxly.fitter.shop.ledger import Found, ledger
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.say.shop.advice import finding_lines, findings, one_of_each
from coaxly.say.shop.ledgerwords import ledger_lines


def change(kind, explains, day=737000.0, family="west"):
    return Change(
        "housing", family, kind, day if kind == "step" else None, (0.1, 0.0), 0.001, explains, (9, 9)
    )


@pytest.fixture(scope="module")
def made():
    jobs = load_found(RECORDINGS / "made-shop.csv")
    found = ledger(jobs)
    return jobs, found, changes(jobs, found)


def test_the_made_shop_is_told_what_changed_who_differs_and_what_stands_out(made):
    told = findings(made[1], made[2], "thou")
    assert (
        "west are not what they were: since about 2026-06-06" in told[0].what and "7.0 thou" in told[0].what
    )
    assert "12 jobs before, 12 since" in told[0].why
    assert [("south" in each.what, "north" in each.what) for each in told[1:3]] == [
        (True, False),
        (False, True),
    ]
    assert len(told) == 4 and "63 % comes with single blocks" in told[3].what
    assert "Ranges of the two overlap" in told[3].why and "blame neither" in told[3].do
    assert all(each.do for each in told)


def test_dowels_to_have_at_hand_push_the_bore_back_to_the_crank(made):
    """North sits towards 4:52 of the average; with the mean of all that is (3.0, -3.1) thou: 10:32 is opposite."""
    north = next(each for each in findings(made[1], made[2], "thou") if "north are off" in each.what)
    assert "dowels of about 4.3 thou" in north.do and "high sides near 10:32" in north.do
    assert (
        "theirs and the " in north.do and "that the average engine here is off by come together" in north.do
    )


def test_what_else_a_change_may_be_is_said_where_that_fits_as_well():
    step, trend, near = change("step", 0.8), change("trend", 0.6), change("trend", 0.79)
    assert one_of_each([dataclasses.replace(step, other=trend), near]) == [
        (dataclasses.replace(step, other=trend), None),
        (near, None),
    ]
    assert one_of_each([dataclasses.replace(step, other=near)])[0][1] == near


def test_who_may_be_to_blame_as_well_is_said(made):
    both = dataclasses.replace(change("step", 0.8), also=("cast",))
    (told, *_) = findings(made[1], [both], "thou")
    assert "Blocks of family cast were in the very same jobs, and may be to blame as well" in told.why


def test_a_piece_that_does_not_belong_is_told_once_with_what_to_do():
    rng = np.random.default_rng(3)
    jobs = []
    for k in range(48):
        house = k % 12
        v = rng.normal(size=2) + (30.0 if house == 7 else 0.0)
        x, y = (v * THOU).tolist()
        jobs.append(Found("a", f"b{k}", f"f{house % 2}", f"h{house}", (x, y), ((1e-6, 0.0), (0.0, 1e-6))))
    told = [each.what for each in findings(ledger(jobs), [], "thou")]
    about = [what for what in told if "h7" in what]
    assert len(about) == 1 and about[0].startswith("Housing h7, family f1, does not belong with the others")
    assert "in each of its 4 jobs" in about[0] and "towards 1:" in about[0]


def test_where_measuring_is_most_of_it_that_is_what_to_mend():
    u2 = (4.0 * THOU) ** 2
    jobs = [
        Found("a", "", "h", "", (k % 3 * THOU, -(k % 2) * THOU), ((u2, 0.0), (0.0, u2)), None, "")
        for k in range(12)
    ]
    last = findings(ledger(jobs), [], "thou")[-1]
    assert "the measuring" in last.what and "coaxly study" in last.do


def test_findings_fit_a_terminal_of_eighty_columns_and_figures_are_there_too(made):
    jobs, found, moved = made
    assert max(map(len, finding_lines(findings(found, moved, "thou")))) <= 80
    lines = ledger_lines(jobs, found, moved, "mm")
    assert lines[0] == "LEDGER of 72 jobs, 2026-01-05 to 2026-10-16"
    assert any("mix what was before and since" in line for line in lines)


def shop(effect, jobs=3000, seed=1):
    """Many jobs of ten housing families, of which the first is off by so many thou."""
    rng = np.random.default_rng(seed)
    u2 = (0.3 * THOU) ** 2
    found = []
    for k in range(jobs):
        x, y = (rng.normal(size=2) * 4.0 * THOU).tolist()
        off = effect * THOU if k % 10 == 0 else 0.0
        found.append(Found("b", "", f"h{k % 10}", "", (x + off, y), ((u2, 0.0), (0.0, u2)), None, ""))
    return ledger(found)


def test_what_is_beyond_doubt_but_matters_to_nobody_is_no_finding():
    small, large = shop(0.8), shop(2.5)
    assert small.families[1].told  # 0.72 +- 0.55 thou of the average: true, and less than any dowel
    assert "No family and no single piece is off by 1.0 thou" in findings(small, [], "thou")[0].what
    assert "family h0 are off by themselves" in findings(large, [], "thou")[0].what


def test_the_farthest_of_many_is_not_blamed_for_being_the_farthest():
    """Of ten families among which nothing differs, one in twenty shops may blame one; each by itself, four in ten."""
    blamed = alone = 0
    for seed in range(40):
        found = shop(0.0, 120, seed)
        blamed += "No family" not in findings(found, [], "thou")[0].what
        alone += any(each.told for each in found.families)
    assert blamed <= 5 < alone
