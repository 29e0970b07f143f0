"""The droop of a dial's arm, from a bar to the engine."""

import numpy as np
import pytest

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.sag import sag_of
from coaxly.fitter.units import MM_PER_THOU as THOU

DEG = np.arange(9) * 45.0 % 360.0


def on_the_bar(shown, **setup):
    fitter = Fitter(Setup.from_header({"surface": "outside", "hidden_form_mm": 0.0, **setup}, "sag"))
    for k, (at, value) in enumerate(zip(DEG, shown, strict=True)):
        fitter.add_station(at, np.array([value]), np.array([5.0 * k]))
    return fitter.result()


def hanging(sag, deg=DEG):
    """A dial on an arm above a level bar, its tip on the bar: what it reads as the bar is turned.

    The arm carries its dial along u(th) and lets it hang `sag` below; at the top that is towards the bar.
    """
    return -sag * np.array([np.dot((0.0, -1.0), (np.sin(t), np.cos(t))) for t in np.deg2rad(deg)])


def test_a_bar_reads_twice_the_sag_low_at_the_bottom():
    """Pump alignment handbook, worked example: a bar whose sag is 3 mils reads minus 6 at the bottom."""
    shown = hanging(3.0 * THOU)
    assert shown[4] - shown[0] == pytest.approx(-6.0 * THOU)
    sag = sag_of(on_the_bar(shown))
    assert sag.amount == pytest.approx(3.0 * THOU, abs=1e-9)
    assert sag.bottom == pytest.approx(-6.0 * THOU)
    assert not sag.odd and sag.u95 < 0.3 * THOU


@pytest.mark.parametrize("surface", ["inside", "outside"])
def test_the_sag_of_the_bar_takes_the_sag_out_on_the_engine(surface):
    sag = sag_of(on_the_bar(hanging(0.08)))
    # On an engine whose surface is true the dial reads weight alone: nearer to the wall below in a bore.
    shown = hanging(0.08) if surface == "outside" else -hanging(0.08)
    fitter = Fitter(
        Setup.from_header(
            {"surface": surface, "sag_mm": sag.amount, "sag_sd_mm": sag.u95 / 1.96, "rig": "bench"}
        )
    )
    for k, (at, value) in enumerate(zip(DEG, shown, strict=True)):
        fitter.add_station(at, np.array([value]), np.array([5.0 * k]))
    found = fitter.result()
    assert found.eccentricity.amount == pytest.approx(0.0, abs=1e-9)
    line = next(line for line in found.budget if line.source == "rig sag (bench)")
    assert line.value == pytest.approx(sag.u95 / 1.96 / np.sqrt(2.0))


def test_what_is_not_weight_is_odd():
    assert sag_of(on_the_bar(hanging(0.05) + 0.03 * np.sin(np.deg2rad(DEG)))).odd
    assert sag_of(on_the_bar(-hanging(0.05))).odd
    assert not sag_of(on_the_bar(0.0 * DEG + 0.1)).odd


def test_a_sag_sweep_speaks_of_no_housing():
    rng = np.random.default_rng(3)
    found = on_the_bar(hanging(0.0) + rng.normal(0.0, 0.002, len(DEG)))
    assert not {remark.kind for remark in found.remarks} & {"not_detected", "form", "rest", "zero"}
