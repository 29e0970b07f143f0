"""Does the plan go on and end inside the limit? Random housings, measured, planned and set with errors.

    python tests/bench/planner.py [--housings 2000] [--setting-sd 5] [--settings 10]

Kit 5/10/15 thou, dowel holes at (-5.5,-1) and (5.5,-1) in with 1 thou of clearance, limit 5 thou TIR;
found TIR 5-30 thou in any direction, 8 stations, oval by up to 1 thou, readings scatter by 0.4 thou,
dowels are set with 5 degrees and made with 0.3 thou of spread. The judge is a rigid housing on two
round pins with play, without any small-angle shortcut (`judged`). Both ways of setting, against the
rule of thumb: half of largest less smallest, high side at the highest station, nearest size. Then: of
plans that promise so much, how many keep it; and of those that were advised, how many made it worse.
"""

import argparse
import math
import os
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.analysis import corrected
from coaxly.fitter.dowels.kit import Kit
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.plan import Measured, Workshop, plan
from coaxly.fitter.dowels.seating import MOST_TURN_DEG
from coaxly.fitter.geometry import polar
from coaxly.fitter.units import MM_PER_INCH as INCH
from coaxly.fitter.units import MM_PER_THOU as THOU

SIZES = (5 * THOU, 10 * THOU, 15 * THOU)
PINS = Pins((-5.5 * INCH, -1 * INCH), (5.5 * INCH, -1 * INCH))
LIMIT = 5 * THOU
CLEARANCE = 1 * THOU
OFFSET_SD = 0.3 * THOU
WAYS = ("tight", "free")


def _carried(centre, offsets, radians):
    """What the two pins are off the holes' distance by, and where the bore's centre comes to lie: the holes'
    middle goes to the middle between the pins and their line along that of the pins."""
    holes = np.array([PINS.first, PINS.second])
    pins = holes + offsets[:, None] * np.column_stack([np.sin(radians), np.cos(radians)])
    line, before = pins[1] - pins[0], holes[1] - holes[0]
    turn = math.atan2(line[1], line[0]) - math.atan2(before[1], before[0])
    cos, sin = math.cos(turn), math.sin(turn)
    arm = np.asarray(centre) - holes.mean(axis=0)
    end = pins.mean(axis=0) + np.array([cos * arm[0] - sin * arm[1], sin * arm[0] + cos * arm[1]])
    return math.hypot(*line) - math.hypot(*before), end


def judged(centre, offsets, degrees, way):
    """TIR in mm of a housing on pins as they are, or inf where it does not go on. With "free" both pins
    are turned until it does."""
    if not len(offsets):
        return 2.0 * math.hypot(*centre)
    start, turns = np.deg2rad(degrees), np.ones(2) if way == "free" else np.zeros(2)
    bind, at, end = brought_home(centre, np.asarray(offsets), start, turns)
    fits = abs(bind) <= CLEARANCE + 1e-9 and np.abs(at - start).max() <= math.radians(MOST_TURN_DEG)
    return 2.0 * math.hypot(*end) if fits else math.inf


def brought_home(centre, offsets, at, turns):
    """Bind, angles (radians) and the bore's centre once the pins that turn (1, 0 for one that does not) were
    turned by the least rotation, found by Newton steps on the true distance, until the housing goes on."""
    bind, end = _carried(centre, offsets, at)
    for _ in range(200 if turns.any() else 0):
        over = bind - min(max(bind, -CLEARANCE), CLEARANCE)
        if abs(over) < 1e-9:
            break
        step = 1e-4
        slopes = (
            np.array([(_carried(centre, offsets, at + step * e)[0] - bind) / step for e in np.eye(2)]) * turns
        )
        size = float(slopes @ slopes)
        at = at + np.clip(-over * slopes / max(size, 1e-12), -0.05, 0.05)
        bind, end = _carried(centre, offsets, at)
    return bind, at, end


def _set(rng, centre, offsets, degrees, way, setting_sd):
    """The same with dowels made and set by people; TIR in thou."""
    if not len(offsets):
        return 2.0 * math.hypot(*centre) / THOU
    made = np.asarray(offsets) + rng.normal(0, OFFSET_SD, 2)
    return judged(centre, made, np.asarray(degrees) + rng.normal(0, setting_sd, 2), way) / THOU


def _measured(rng, centre):
    deg = np.arange(8) * 45.0
    rad = np.deg2rad(deg)
    value = -centre[0] * np.sin(rad) - centre[1] * np.cos(rad)
    value += rng.uniform(0, 1) * THOU * np.cos(2 * rad - rng.uniform(0, 2 * math.pi))
    value += rng.normal(0, 0.4 * THOU, 8)
    fitter = Fitter(Setup(limit_mm=LIMIT))
    for k in range(8):
        fitter.add_station(deg[k], value[k : k + 1], np.array([float(k)]))
    measured = Measured.of(fitter.setup, fitter.result(), corrected(fitter.setup, fitter.stations()), LIMIT)
    return deg, value, measured


def one(seed, setting_sd=5.0, settings=1):
    """Rows (way, plan, promise of going on and ending inside, TIR left in thou or inf, TIR found): the rule
    of thumb, then the best parallel pair, the split pair of least run-out, the best split pair, and the
    best of all."""
    rng = np.random.default_rng(seed)
    centre = np.array(polar(rng.uniform(5, 30) * THOU / 2, rng.uniform(0, 360)))
    deg, value, measured = _measured(rng, centre)
    half = (value.max() - value.min()) / 2.0
    nearest = min((0.0, *SIZES), key=lambda d: (abs(d - half), d))
    high = float(deg[int(np.argmax(value))])
    found = 2.0 * math.hypot(*centre) / THOU
    rows = []
    for way in WAYS:
        left = _set(rng, centre, (nearest,) * 2 if nearest else (), (high, high), way, setting_sd)
        rows.append((way, "rule of thumb", math.nan, left, found))
        shop = Workshop(Kit.of(SIZES), PINS, clearance=CLEARANCE, setting_sd=setting_sd, way=way, pair="any")
        for name, option in _chosen(plan(measured, shop)).items():
            offsets, degrees = [d.offset for d in option.dowels], [d.deg for d in option.dowels]
            for _ in range(settings):
                left = _set(rng, centre, offsets, degrees, way, setting_sd)
                rows.append((way, name, option.probability, left, found))
    return rows


def _chosen(options):
    """What a mechanic takes who looks at parallel pairs only, at split pairs only, or at all; best first."""
    splits = [option for option in options if option.pair != "parallel"]
    return {
        "parallel": next(option for option in options if option.pair != "split"),
        "split": splits[0],
        "split, least run-out": min(splits, key=lambda option: option.predicted.tir_fitted),
        "any": options[0],
    }


def outcomes(housings, pool=None, start=0, setting_sd=5.0, settings=1):
    """All rows of `one` for so many housings, each plan set so many times."""
    each = range(start, start + housings), [setting_sd] * housings, [settings] * housings
    many = pool.map(one, *each, chunksize=20) if pool else map(one, *each)
    return [row for rows in many for row in rows]


def shares(rows, way, name):
    """Of one plan: share that went on, share that went on and ended inside, median TIR of those that did."""
    left = np.array([row[3] for row in rows if row[:2] == (way, name)])
    on = np.isfinite(left)
    return on.mean(), (left <= LIMIT / THOU).mean(), np.median(left[on]) if on.any() else math.nan


def main() -> None:
    """Print the shares, and the calibration of the promises."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--housings", type=int, default=2000)
    parser.add_argument("--setting-sd", type=float, default=5.0)
    parser.add_argument("--settings", type=int, default=10, help="how often each plan is set")
    parser.add_argument("--workers", type=int, default=os.cpu_count())
    asked = parser.parse_args()
    with ProcessPoolExecutor(asked.workers) as pool:
        rows = outcomes(asked.housings, pool, setting_sd=asked.setting_sd, settings=asked.settings)
    for way in WAYS:
        for name in ("rule of thumb", "parallel", "split, least run-out", "split", "any"):
            on, inside, median = shares(rows, way, name)
            print(f"{way:<6}{name:<22} goes on {100 * on:5.1f} %   goes on and ends inside {100 * inside:5.1f} %"
                  f"   median TIR {median:.1f} thou")  # fmt: skip
    planned = [row for row in rows if row[1] != "rule of thumb"]
    promised, kept = (np.array([row[k] for row in planned]) for k in (2, 3))
    print("promised              plans   kept")
    for low, high in ((0, 0.5), (0.5, 0.8), (0.8, 0.9), (0.9, 0.97), (0.97, 1.01)):
        which = (promised >= low) & (promised < high)
        if which.any():
            mean, share = promised[which].mean(), (kept[which] <= LIMIT / THOU).mean()
            print(f"{100 * low:3.0f}-{100 * min(high, 1):3.0f} % (mean {100 * mean:5.1f})"
                  f"{which.sum():>8}   {100 * share:5.1f} %")  # fmt: skip
    best = [row for row in rows if row[1] == "any"]
    worse = sum(row[3] > row[4] + 0.05 for row in best if math.isfinite(row[3]))
    print(f"advised and on, but worse than found: {worse} of {len(best)}")


if __name__ == "__main__":
    main()
