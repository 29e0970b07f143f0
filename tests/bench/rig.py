"""Are sag and a dial's errors recovered within their stated uncertainty as often as is stated, 95 times in 100?

Every world draws its own sag, errors, hysteresis, wander, steps and hands. Run by hand:
PYTHONPATH=tests/helpers python tests/bench/rig.py [CHECKS]
"""

import sys

import numpy as np

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.dial import check_dial, ways
from coaxly.fitter.numeric.quantiles import plane_factor
from coaxly.fitter.sag import sag_of
from coaxly.fitter.units import MM_PER_THOU as THOU

CHECKS = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
STEPS = np.array([0.0, 2.0, 5.0, 10.0, 20.0, 30.0, 50.0]) * THOU


def show(value, grid):
    """As a display of such steps shows it."""
    return np.round(value / grid) * grid if grid else value


def sag_held(rng, stations, noise, grid, closing=True):
    """Whether one sweep on the bar held the sag that it was made with, and the nothing to the side."""
    sag = rng.uniform(0.2, 6.0) * THOU
    deg = np.arange(stations) * 360.0 / stations
    deg = np.append(deg, 0.0) if closing else deg
    true = np.deg2rad(deg + rng.normal(0.0, 1.0))  # a 12 o'clock by eye
    lag = rng.uniform(0.0, 0.1) * THOU / 2.0
    wander = np.append(0.0, np.cumsum(rng.normal(0.0, 0.1 * THOU / np.sqrt(len(deg) - 1), len(deg) - 1)))
    clean = sag * np.cos(true) + lag * np.sign(-np.sin(true)) + wander
    keys = {"surface": "outside", "hidden_form_mm": 0.0, "closing": closing, "resolution_mm": grid}
    fitter = Fitter(Setup.from_header(keys, "sag"))
    for k, (at, value) in enumerate(zip(deg, clean, strict=True)):
        shown = show(value + rng.normal(0.0, noise), grid)
        fitter.add_station(at, np.array([shown]), np.array([8.0 * k]))
    found = sag_of(fitter.result())
    return abs(found.amount - sag) <= found.u95, abs(found.sideways) <= found.sideways_u95, found.odd


def dial_held(rng, turns, noise, grid, mpe):
    """Whether each error of one check, less that of the first step, and the hysteresis were held."""
    nominal = np.tile(np.concatenate([STEPS, STEPS[::-1]]), turns)
    lengths = STEPS + rng.uniform(-mpe, mpe, len(STEPS))
    true = np.tile(np.concatenate([lengths, lengths[::-1]]), turns)
    slope, wave, phase = rng.normal(0.0, 0.002), rng.normal(0.0, 0.2 * THOU), rng.uniform(0.0, 6.0)

    def error(length):
        return slope * length + wave * np.sin(4.0 * length + phase)

    gap = rng.uniform(0.0, 0.3) * THOU
    anew = np.repeat(rng.normal(0.0, 1.0, turns), 2 * len(STEPS))
    shown = show(
        anew
        + true
        + error(true)
        + gap * np.array(ways(nominal.tolist())) / 2.0
        + rng.normal(0.0, noise, len(true)),
        grid,
    )
    keys = {"steps_mm": nominal.tolist(), "steps_mpe_mm": mpe, "resolution_mm": grid}
    fitter = Fitter(Setup.from_header(keys, "steps"))
    for k, value in enumerate(shown):
        fitter.add_station(float(k), np.array([value]), np.array([5.0 * k]))
    found = check_dial(fitter.setup, fitter.stations())
    truth = error(STEPS) - error(STEPS[0])
    steps = [abs(s.error - t) <= s.u95 for s, t in zip(found.steps[1:], truth[1:], strict=True)]
    return np.mean(steps), abs(found.hysteresis - gap) <= found.hysteresis_u95, abs(found.calibration_sd)


def with_rig(rng, noise):
    """Whether a sweep of a bore, made with a rig that was measured beforehand, held its vector: the arm's true
    sag, the dial's true errors and the steps' lengths are drawn anew, and known only as they were found."""
    sag, mpe = rng.uniform(0.5, 6.0) * THOU, 0.05 * THOU
    slope, wave, phase = rng.normal(0.0, 0.01), rng.normal(0.0, 0.2 * THOU), rng.uniform(0.0, 6.0)

    def error(length):
        return slope * length + wave * np.sin(4.0 * length + phase)

    deg = np.append(np.arange(8) * 45.0, 0.0)
    bar = Fitter(Setup.from_header({"surface": "outside", "hidden_form_mm": 0.0, "closing": True}, "sag"))
    for k, (at, droop) in enumerate(
        zip(deg, sag * np.cos(np.deg2rad(deg + rng.normal(0.0, 1.0))), strict=True)
    ):
        bar.add_station(at, np.array([droop + rng.normal(0.0, noise)]), np.array([8.0 * k]))
    found = sag_of(bar.result())
    nominal = np.tile(np.concatenate([STEPS, STEPS[::-1]]), 2)
    lengths = STEPS + rng.uniform(-mpe, mpe, len(STEPS))
    true = np.tile(np.concatenate([lengths, lengths[::-1]]), 2)
    steps = Fitter(Setup.from_header({"steps_mm": nominal.tolist(), "steps_mpe_mm": mpe}, "steps"))
    for k, length in enumerate(true):
        steps.add_station(
            float(k), np.array([length + error(length) + rng.normal(0.0, noise)]), np.array([float(k)])
        )
    dial = check_dial(steps.setup, steps.stations())
    rig = {
        "rig": "bench",
        "sag_mm": found.amount,
        "sag_sd_mm": found.u95 / 1.96,
        "calibration": [list(pair) for pair in dial.table],
        "calibration_sd_mm": dial.calibration_sd,
        "closing": True,
    }
    centre = rng.normal(0.0, 5.0 * THOU, 2)
    rad = np.deg2rad(deg + rng.normal(0.0, 1.0))
    travel = 25.0 * THOU - centre[0] * np.sin(rad) - centre[1] * np.cos(rad) - sag * np.cos(rad)
    bore = Fitter(Setup.from_header(rig))
    for k, (at, value) in enumerate(zip(deg, travel + error(travel), strict=True)):
        bore.add_station(at, np.array([value + rng.normal(0.0, noise)]), np.array([8.0 * k]))
    ecc = bore.result().eccentricity
    off, covariance = np.array(ecc.vector) - centre, np.array(ecc.covariance)
    held = off @ np.linalg.solve(covariance, off) <= plane_factor(0.95, ecc.freedom or np.inf) ** 2
    return held, abs(ecc.amount - np.hypot(*centre)) <= ecc.u95_amount


def main():
    print(
        f"sag on a bar, {CHECKS} sweeps each: within its +- / nothing sideways within its +- / called odd, %"
    )
    for name, options in {
        "8 stations and closing, noise .15 thou": (8, 0.15 * THOU, 0.0),
        "the same, shown in .0001 in": (8, 0.1 * THOU, 0.1 * THOU),
        "the same, shown in .0005 in": (8, 0.1 * THOU, 0.5 * THOU),
        "12 stations and closing": (12, 0.15 * THOU, 0.0),
        "4 stations and closing": (4, 0.15 * THOU, 0.0),
        "8 stations, none closing": (8, 0.15 * THOU, 0.0, False),
    }.items():
        rng = np.random.default_rng(2)
        held = np.mean([sag_held(rng, *options) for _ in range(CHECKS)], axis=0)
        print(f"  {name:<42} {100 * held[0]:5.1f} {100 * held[1]:5.1f} {100 * held[2]:5.1f}")
    print(f"dial against steps, {CHECKS} checks each: errors within their +- / hysteresis within its +-, %")
    for name, options in {
        "once up and down, noise .05 thou": (1, 0.05 * THOU, 0.0, 0.05 * THOU),
        "twice": (2, 0.05 * THOU, 0.0, 0.05 * THOU),
        "thrice, perfect steps": (3, 0.05 * THOU, 0.0, 0.0),
        "twice, steps good to .2 thou only": (2, 0.05 * THOU, 0.0, 0.2 * THOU),
        "twice, shown in .0001 in": (2, 0.05 * THOU, 0.1 * THOU, 0.05 * THOU),
        "twice, shown in .0005 in": (2, 0.05 * THOU, 0.5 * THOU, 0.05 * THOU),
    }.items():
        rng = np.random.default_rng(3)
        held = np.mean([dial_held(rng, *options)[:2] for _ in range(CHECKS)], axis=0)
        print(f"  {name:<42} {100 * held[0]:5.1f} {100 * held[1]:5.1f}")
    print(f"bores swept with a rig that was measured so, {CHECKS} each: vector / amount within its +-, %")
    for name, noise in {"noise .05 thou": 0.05 * THOU, "noise .2 thou": 0.2 * THOU}.items():
        rng = np.random.default_rng(4)
        held = np.mean([with_rig(rng, noise) for _ in range(CHECKS)], axis=0)
        print(f"  {name:<42} {100 * held[0]:5.1f} {100 * held[1]:5.1f}")


if __name__ == "__main__":
    main()
