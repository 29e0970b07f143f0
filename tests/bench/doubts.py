"""Sweeps that did not measure the bore: how many are called inside, and how many healthy ones are doubted?

    PYTHONPATH=tests/helpers python tests/bench/doubts.py [--sweeps 200]

Bores by an exact ray, out of round as usual; true run-out of 6 to 12 thou where something is wrong, up to 4 where
nothing is; 4 to 16 stations, one turn or two, displays of .05 to .5 thou that flicker by up to two steps. Streamed: a
dial that sends all the time, else one reading a station. And what two sweeps, one after the other, tell of each other.
"""

import argparse
import os
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from functools import partial

import numpy as np
from doubtful import (
    LOST,
    RADIUS,
    World,
    bore,
    clipped,
    frozen,
    held,
    inches,
    keeping,
    lost_in,
    passed,
    reset,
    resting,
    shown,
    sound,
    swept,
    unturned,
)

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.clues.before import before_of, beside
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.fitter.withheld import doubted

FLICKER = 3


def world(rng, low, high, displays, flickers):
    """One of those of the bench."""
    return World(
        off=rng.uniform(low, high),
        form=float(rng.choice([0.5, 1.0, 1.5])),
        noise=float(np.exp(rng.uniform(np.log(0.03), np.log(0.3)))),
        display=float(rng.choice(displays)),
        flicker=int(rng.integers(0, flickers)),
        stations=int(rng.choice([4, 6, 8, 8, 8, 12, 16])),
        turns=int(rng.choice([1, 1, 1, 2])),
        closing=bool(rng.random() < 0.8),
    )


DISPLAYS = (0.05, 0.1, 0.2, 0.3937, 0.5)
FAULTS = {
    "tip off, low": lambda rng, n: clipped(rng.uniform(0.2, 0.65)),
    "stop, high": lambda rng, n: clipped(rng.uniform(0.2, 0.65), low=False),
    "hold": lambda rng, n: held(int(rng.integers(0, n - 1))),
    "digits held": lambda rng, n: (sound, frozen(int(rng.integers(0, n - 1)), rng.uniform(0.0, 0.9))),
    "largest kept": lambda rng, n: keeping,
    "not turned": lambda rng, n: unturned,
    "not turned, noise": lambda rng, n: resting(rng.uniform(0.0, 2.0)),
    "unit, smaller": lambda rng, n: inches(int(rng.integers(1, n - 2)), 1 / 25.4),
}
GOOD = {"good, .5 thou": (0.5,), "good, .01 mm": (0.3937,), "good, any": DISPLAYS}
ANGLES = {
    "counts as degrees": lambda deg: (deg - deg[0]) * 2400 / 360,
    "counts x 4": lambda deg: (deg - deg[0]) * 4,
    "2000 for 2400": lambda deg: (deg - deg[0]) * 2000 / 2400,
    "counts x 4096": lambda deg: (deg - deg[0]) * 4096,
    "counts x 2": lambda deg: (deg - deg[0]) * 2,
    "counts / 2": lambda deg: (deg - deg[0]) / 2,
    "reset": None,
    "good, in passing": lambda deg: deg,
}


PAIRS = {
    "tip not moved": ("face", 1, True),
    "tip moved": ("face", 1, False),
    "turned the other way": ("bore", -1, True),
    "swept again": ("bore", 1, True),
}
"""Two sweeps, one after the other. Feature of the first, way of the second, and whether its tip stands on the same
surface: of the second and the fourth nothing is to be said."""


def turn(rng, of, away, feature, way):
    """One of the two, a reading a station, as it came to what the next is compared with."""
    stops = of.stops
    value = RADIUS - away(way * stops) + rng.normal(0.0, of.noise, len(stops))
    value += rng.uniform(5.0, 30.0) + of.drift * rng.normal() * np.linspace(0.0, 1.0, len(stops))
    fitter = Fitter(Setup(feature=feature, closing=of.closing))
    for k, (stop, read) in enumerate(zip(stops, shown(rng, of, value), strict=True)):
        fitter.add_station(stop, np.array([read * THOU]), np.array([4.0 * k]))
    return fitter.setup, fitter.stations()


def pair(name, seed):
    """Whether something is said of the second of two sweeps by the first."""
    rng = np.random.default_rng([seed, len(name)])
    of = world(rng, 3.0, 6.0, DISPLAYS, 2)
    of = World(**{**vars(of), "stations": max(of.stations, 6)})
    feature, way, same = PAIRS[name]
    there = bore(rng, of.off, of.form)
    here = there if same else bore(rng, rng.uniform(3.0, 6.0), of.form)
    before = before_of("before", *turn(rng, of, there, feature, 1))
    return bool(beside(*turn(rng, of, here, "bore", way), before))


def one(name, streamed, seed):
    """(state, first doubt or "")."""
    rng = np.random.default_rng([seed, len(name), streamed])
    if name in ANGLES:
        low, high = (0.1, 2.0) if name.startswith("good") else (3.0, 6.0)
        angle = ANGLES[name] or reset(rng.uniform(40.0, 320.0))
        result = passed(rng, world(rng, low, high, DISPLAYS, 2), angle=angle)
    elif name in GOOD:
        of = world(rng, 0.1, 2.0, GOOD[name], 2)
        result = swept(rng, World(**{**vars(of), "streamed": streamed}))
    else:
        of = world(rng, 3.0, 6.0, DISPLAYS, FLICKER)
        fault = FAULTS[name](rng, len(of.stops))
        fault, display = fault if isinstance(fault, tuple) else (fault, shown)
        result = swept(rng, World(**{**vars(of), "streamed": streamed}), fault, display=display)
    return result.decision.state, (*doubted(result), "")[0]


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sweeps", type=int, default=200)
    sweeps = parser.parse_args().sweeps
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for name in PAIRS:
            said = sum(pool.map(partial(pair, name), range(sweeps), chunksize=10))
            print(f"{name:<22} said of {said:>4} of {sweeps}", flush=True)
        states = Counter(result.decision.state for result in pool.map(lost_in, range(len(LOST)), chunksize=5))
        print(f"the table of {len(LOST)}: {dict(states)}", flush=True)
        for name in (*GOOD, *FAULTS, *ANGLES):
            for streamed in (True, False)[: 1 if name in ANGLES else 2]:
                came = list(pool.map(partial(one, name, streamed), range(sweeps), chunksize=10))
                inside = sum(state == "inside" for state, _ in came)
                kinds = dict(Counter(kind for _, kind in came if kind))
                how = "streamed" if streamed else "typed"
                print(f"{name:<18} {how:<9} inside {inside:>4} of {sweeps}, in doubt {sum(kinds.values()):>4} {kinds}",
                      flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
