"""The error bars hold the truth, and injected faults are found: a smaller run of the benchmarks in
tests/bench with fixed seeds. The bounds are those of chance for so few sweeps, not the promise."""

import pytest
from bench.coverage import BEYOND, SCENARIOS, cover, shares
from bench.faults import KINDS, rates

SWEEPS = 120


@pytest.mark.parametrize("scenario", SCENARIOS, ids=lambda s: s.name)
def test_the_95_percent_region_holds_the_truth(scenario):
    vector, amount, wrong, _ = cover(scenario, SWEEPS, start=10_000)
    # Four standard deviations of a share of 0.95 in 120.
    assert vector >= 0.87 and amount >= 0.87
    assert wrong <= 0.05


@pytest.mark.parametrize("scenario", BEYOND, ids=lambda s: s.name)
def test_what_the_model_does_not_describe_is_covered_or_said(scenario):
    vector, amount, _, unseen, accused, _ = shares(scenario, 60, start=10_000)
    # Four standard deviations of a share of 0.95 in 60.
    assert (vector >= 0.84 and amount >= 0.84) or (scenario.told and max(unseen, accused) >= 0.9)


@pytest.mark.parametrize("stations", [8, 12, 0])
@pytest.mark.parametrize("kind", KINDS)
def test_faults_are_found_and_the_innocent_left_alone(kind, stations):
    if kind == "two" and stations == 8:
        pytest.skip("eight stations cannot spare two")
    found, accused, off = rates(kind, stations, 40)
    if kind == "clean":
        assert accused <= 0.1
    else:
        # A fault of a few thou among eight stations can hide; gross ones and denser sweeps show it.
        assert found >= (0.7 if stations == 8 and kind in ("notch", "burr", "knock") else 0.9)
    assert off < 0.5
