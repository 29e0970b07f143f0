"""Injected faults: how often they are found, and how often a clean sweep is accused.

    python tests/bench/faults.py [--sweeps 1000]

Each sweep is of a housing of its own (offset 2-9 thou, oval by up to 0.6 thou, readings scatter by
0.3 thou), 8 or 12 stations with a closing reading, or an encoder turn; the fault sits at random.
"""

import argparse
import os
from concurrent.futures import ProcessPoolExecutor
from functools import partial

import numpy as np

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.units import MM_PER_THOU as THOU


def surface(rng, deg):
    """Readings of a housing without faults, about 40 thou on the dial, and its vector."""
    amount, towards = rng.uniform(2, 9) * THOU, rng.uniform(0, 360)
    x, y = amount * np.sin(np.deg2rad(towards)), amount * np.cos(np.deg2rad(towards))
    rad = np.deg2rad(deg)
    value = rng.uniform(20, 40) * THOU - x * np.sin(rad) - y * np.cos(rad)
    value += rng.uniform(0, 0.6) * THOU * np.cos(2 * rad - rng.uniform(0, 6))
    return value, np.array([x, y])


def clean(rng, value):
    return None


def hole(rng, value):
    at = rng.integers(1, len(value) - 1)
    value[at] -= rng.uniform(15, 60) * THOU
    return at


def notch(rng, value):
    at = rng.integers(1, len(value) - 1)
    value[at] -= rng.uniform(4, 8) * THOU
    return at


def burr(rng, value):
    at = rng.integers(1, len(value) - 1)
    value[at] += rng.uniform(4, 8) * THOU
    return at


def two(rng, value):
    at = rng.choice(np.arange(1, len(value) - 1), 2, replace=False)
    value[at] += rng.uniform(3, 8, 2) * rng.choice([-1.0, 1.0], 2) * THOU
    return set(at.tolist())


def sign(rng, value):
    at = rng.integers(1, len(value) - 1)
    value[at] = -value[at]
    return at


def digit(rng, value):
    at = rng.integers(1, len(value) - 1)
    value[at] *= rng.choice([10.0, 0.1])
    return at


def unit(rng, value):
    at = rng.integers(1, len(value) - 1)
    value[at] *= 25.4
    return at


def knock(rng, value):
    at = rng.integers(2, len(value) - 2)
    value[at:] += rng.choice([-1.0, 1.0]) * rng.uniform(4, 8) * THOU
    return ("step", at)


KINDS = {f.__name__: f for f in (clean, hole, notch, burr, sign, digit, unit, two, knock)}


def one(kind, stations, seed):
    """(found where it is, anything said at all, off the true vector in mm)."""
    rng = np.random.default_rng(seed)
    encoder = stations == 0
    deg = np.linspace(0, 365, 3650) if encoder else np.append(np.arange(stations) * 360.0 / stations, 360.0)
    value, truth = surface(rng, deg)
    noisy = value + rng.normal(0, 0.3 * THOU, len(value))
    fitter = Fitter(Setup(closing=not encoder))
    if encoder:
        sectors = noisy.reshape(73, 50)
        where = KINDS[kind](rng, lumps := np.zeros(73) + 30 * THOU)
        fitter.add_track(deg, (sectors + (lumps - 30 * THOU)[:, None]).ravel(), deg / 100.0)
    else:
        where = KINDS[kind](rng, noisy)
        for k, (at, reading) in enumerate(zip(deg, noisy, strict=True)):
            fitter.add_station(at % 360.0, np.array([reading]), np.array([float(k)]))
    result = fitter.result()
    said = bool(result.checks.outliers or result.checks.step)
    off = float(np.hypot(*(np.array(result.eccentricity.vector) - truth)))
    if where is None:
        return False, said, off
    step = 5.0 if encoder else 360.0 / stations
    if isinstance(where, tuple):
        found = (
            result.checks.step is not None
            and abs(result.checks.step.before_deg - where[1] * step % 360) < 8.0
        )
    else:
        places = where if isinstance(where, set) else {where}
        named = [o.deg for o in result.checks.outliers]
        found = all(any(abs((deg - at * step + 180) % 360 - 180) < 6.0 for deg in named) for at in places)
    return found, said, off


def rates(kind, stations, sweeps, pool=None):
    """Shares found and accused, median distance from the truth in thou."""
    each = partial(one, kind, stations)
    outcomes = np.array(
        list(pool.map(each, range(sweeps), chunksize=50) if pool else map(each, range(sweeps))), float
    )
    return float(outcomes[:, 0].mean()), float(outcomes[:, 1].mean()), float(np.median(outcomes[:, 2])) / THOU


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sweeps", type=int, default=1000)
    sweeps = parser.parse_args().sweeps
    print(f"{sweeps} sweeps each; found where it is / anything accused / median error of the vector")
    print(f"{'fault':<8}" + "".join(f"{name:>28}" for name in ("8 stations", "12 stations", "encoder turn")))
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for kind in KINDS:
            row = f"{kind:<8}"
            for stations in (8, 12, 0):
                found, said, off = rates(kind, stations, sweeps, pool)
                row += f"{100 * found:>10.1f} %{100 * said:>6.1f} %{off:>8.2f}"
            print(row, flush=True)


if __name__ == "__main__":
    main()
