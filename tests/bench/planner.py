"""Does the plan end inside the limit? Random housings, measured, planned and set with errors.

    python tests/bench/planner.py [--housings 2000]

Kit 5/10/15 thou, dowel holes at (-5.5,-1) and (5.5,-1) in with 1 thou of clearance, limit 5 thou TIR;
found TIR 5-30 thou in any direction, 8 stations, oval by up to 1 thou, readings scatter by 0.4 thou,
dowels are set with 5 degrees and made with 0.3 thou of spread. Against the rule of thumb: half of
largest less smallest, high side at the highest station, nearest size. Then: of plans that promise so
much, how many keep it.
"""

import argparse
import math
import os
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from fitter import Fitter, Setup
from fitter.analysis import corrected
from fitter.dowels.kit import Kit
from fitter.dowels.pins import Pins
from fitter.dowels.plan import Measured, Workshop, plan
from fitter.geometry import polar
from fitter.units import MM_PER_INCH as INCH
from fitter.units import MM_PER_THOU as THOU

SIZES = (5 * THOU, 10 * THOU, 15 * THOU)
PINS = Pins((-5.5 * INCH, -1 * INCH), (5.5 * INCH, -1 * INCH))
LIMIT = 5 * THOU
NAMES = ("rule of thumb", "parallel pair", "split pair", "plainest that serves")


def set_dowels(rng, centre, offsets, degrees):
    """Where the bore ends up with dowels made and set by people."""
    if not offsets:
        return centre
    influence = PINS.influence()
    shift = sum(
        A @ np.array(polar(d + rng.normal(0, 0.3 * THOU), deg + rng.normal(0, 5.0)))
        for d, deg, A in zip(offsets, degrees, influence, strict=True)
    )
    return centre + shift


def one(seed):
    """TIR left (thou) by the rule of thumb, a parallel pair, a split pair and the better of the two;
    promises of the latter three."""
    rng = np.random.default_rng(seed)
    centre = np.array(polar(rng.uniform(5, 30) * THOU / 2, rng.uniform(0, 360)))
    deg = np.arange(8) * 45.0
    rad = np.deg2rad(deg)
    value = -centre[0] * np.sin(rad) - centre[1] * np.cos(rad)
    value += rng.uniform(0, 1) * THOU * np.cos(2 * rad - rng.uniform(0, 2 * math.pi))
    value += rng.normal(0, 0.4 * THOU, 8)
    half = (value.max() - value.min()) / 2.0
    nearest = min((0.0, *SIZES), key=lambda d: (abs(d - half), d))
    high = float(deg[int(np.argmax(value))])
    hand = set_dowels(rng, centre, (nearest,) * 2 if nearest else (), (high, high))
    fitter = Fitter(Setup(limit_mm=LIMIT))
    for k in range(8):
        fitter.add_station(deg[k], value[k : k + 1], np.array([float(k)]))
    result = fitter.result()
    measured = Measured.of(fitter.setup, result, corrected(fitter.setup, fitter.stations()), LIMIT)
    left, promised = [hand], []
    for pair in ("parallel", "split", "any"):
        option = plan(measured, Workshop(Kit.of(SIZES), PINS, clearance=1 * THOU, pair=pair))[0]
        promised.append(option.probability)
        left.append(
            set_dowels(rng, centre, [d.offset for d in option.dowels], [d.deg for d in option.dowels])
        )
    return [2.0 * float(np.hypot(*c)) / THOU for c in left] + promised


def outcomes(housings, pool=None, start=0):
    """Rows of `one`, shape (housings, 7)."""
    seeds = range(start, start + housings)
    return np.array(list(pool.map(one, seeds, chunksize=20) if pool else map(one, seeds)))


def main() -> None:
    """Print the shares, and the calibration of the promises."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--housings", type=int, default=2000)
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        rows = outcomes(parser.parse_args().housings, pool)
    for name, tir in zip(NAMES, rows[:, :4].T, strict=True):
        print(
            f"{name:<20} ends inside {100 * (tir <= 5).mean():5.1f} %   median TIR {np.median(tir):.1f} thou"
        )
    print("promised              housings   kept")
    promised, kept = rows[:, 4:].ravel(), rows[:, 1:4].ravel() <= 5
    for low, high in ((0, 0.5), (0.5, 0.7), (0.7, 0.8), (0.8, 0.9), (0.9, 0.95), (0.95, 0.99), (0.99, 1.01)):
        which = (promised >= low) & (promised < high)
        if which.any():
            mean = promised[which].mean()
            print(f"{100 * low:3.0f}-{100 * min(high, 1):3.0f} % (mean {100 * mean:5.1f})"
                  f"{which.sum():>8}   {100 * kept[which].mean():5.1f} %")  # fmt: skip


if __name__ == "__main__":
    main()
