"""Does the proof name what was done wrong? Random jobs, each swept, set with one mistake, and swept again.

    python tests/bench/proof.py [--jobs 100] [--right 1000] [--seed 0]

Found run-out 8-32 thou in any direction; kit 5/10/15 thou, the size nearest to half of it, high sides to where
the sweep says; dowel holes as in the planner's bench, 1 thou of clearance, set tight or free; dowels made with
0.3 thou of spread and set with 5 degrees. Each sweep has 8 stations that scatter by 0.4 thou, and is oval by up
to 1 thou. The housing is the planner's: rigid, on two round pins. Where it does not go on it is drawn home by
its bolts and takes the mean of what the dowels carry it by along the line of the holes; the right ones are set
until they go on. "not turned to the mark" is off it by 25 to 155 degrees, for beyond that it is half a turn out;
"not seated" is a housing that stays where it was.

A mistake can be told only if it changes what is measured: `measurable` is that the shift it gives, without any
scatter, lies outside of what measuring and setting explain 99 times in 100 of the planned one. The true one must
then be named, or be among those that cannot be told apart.
"""

import argparse
from collections import Counter
from dataclasses import dataclass

import numpy as np
from bench.planner import CLEARANCE, OFFSET_SD, PINS, SIZES, brought_home

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.dowels.bothways import Sweeps
from coaxly.fitter.dowels.causes import FINE
from coaxly.fitter.dowels.compare import Comparison, compare
from coaxly.fitter.dowels.kit import Kit
from coaxly.fitter.dowels.seating import MOST_TURN_DEG, Slips
from coaxly.fitter.dowels.setting import DowelSetting, carried
from coaxly.fitter.geometry import polar
from coaxly.fitter.units import MM_PER_THOU as THOU

MIRRORED = {
    "found swept the other way": (True, False),
    "left swept the other way": (False, True),
    "both swept the other way": (True, True),
}
MISTAKES = (
    "180 degrees out", "one half a turn out", "mirrored", "one mirrored", "not turned to the mark",
    "one dowel only", "wrong size", "not seated", *MIRRORED,
)  # fmt: skip
SETTING_SD = 5.0
TOLD_APART = 9.21
"""Square of the distance, in standard deviations, that holds 99 of 100 in the plane."""


@dataclass(frozen=True)
class Outcome:
    """What was really done, whether it can be told, and what the proof says of it."""

    truth: str
    measurable: bool
    said: Comparison

    @property
    def among(self):
        return {each.cause for each in self.said.finding.among}

    @property
    def named(self):
        return self.truth in self.among or (self.truth == "as planned" and "settled" in self.among)


def swept(rng, centre, mirrored):
    """The finding of a sweep round a bore; mirrored: the crank went the other way than was called out."""
    deg = np.arange(8) * 45.0
    rad = np.deg2rad(-deg if mirrored else deg)
    value = -centre[0] * np.sin(rad) - centre[1] * np.cos(rad)
    value += rng.uniform(0, 1) * THOU * np.cos(2 * rad - rng.uniform(0, 2 * np.pi))
    value += rng.normal(0, 0.4 * THOU, 8)
    fitter = Fitter(Setup())
    for k in range(8):
        fitter.add_station(deg[k], value[k : k + 1], np.array([float(k)]))
    return fitter.result().eccentricity


def misdone(rng, truth, size, deg):
    """Offsets and angles of the two dowels as the mistake has them."""
    offsets, at = np.array([size, size]), np.array([deg, deg])
    one = rng.integers(2)
    if truth == "180 degrees out":
        at += 180.0
    elif truth == "one half a turn out":
        at[one] += 180.0
    elif truth == "mirrored":
        at = -at
    elif truth == "one mirrored":
        at[one] = -at[one]
    elif truth == "not turned to the mark":
        at += rng.choice((-1.0, 1.0)) * rng.uniform(25.0, 155.0)
    elif truth == "one dowel only":
        offsets[one] = 0.0
    elif truth == "wrong size":
        offsets[:] = rng.choice([other for other in SIZES if other != size])
    elif truth == "not seated":
        offsets[:] = 0.0
    return offsets, at


def end(centre, offsets, deg, way):
    """Where the bore comes to lie, and whether the housing went on by itself."""
    start = np.deg2rad(deg)
    bind, at, to = brought_home(centre, offsets, start, np.ones(2) if way == "free" else np.zeros(2))
    turned = np.abs(at - start).max()
    if abs(bind) <= CLEARANCE + 1e-9 and turned <= np.deg2rad(MOST_TURN_DEG):
        return to, True
    return brought_home(centre, offsets, start, np.zeros(2))[2], False


def job(rng, truth):
    """One job, from the sweep as found to the proof."""
    way = ("tight", "free")[rng.integers(2)]
    centre = np.array(polar(rng.uniform(4, 16) * THOU, rng.uniform(0, 360)))
    turned = MIRRORED.get(truth, (False, False))
    found = swept(rng, centre, turned[0])
    size = min(SIZES, key=lambda d: abs(d - found.amount))
    plan = DowelSetting((size, size), (found.move_deg, found.move_deg))
    offsets, at = misdone(rng, truth, size, found.move_deg)
    while True:
        made = offsets + np.where(offsets > 0.0, rng.normal(0, OFFSET_SD, 2), 0.0)
        to, on = end(centre, made, at + rng.normal(0, SETTING_SD, 2), way)
        if on or truth != "as planned":
            break
    sweeps = Sweeps.of(found, swept(rng, to, turned[1]))
    slips = Slips(OFFSET_SD, SETTING_SD, CLEARANCE, way)
    said = compare(sweeps, plan, PINS, Kit.of(SIZES), slips)
    return Outcome(truth, _measurable(sweeps, plan, centre, end(centre, offsets, at, way)[0], turned), said)


def _measurable(sweeps, plan, centre, to, turned):
    over = [np.array([-1.0, 1.0]) if each else np.ones(2) for each in turned]
    planned = end(centre, np.array(plan.offsets), np.array(plan.degrees), "tight")[0] - centre
    gap = over[1] * to - over[0] * centre - planned
    spread = sweeps.shift.covariance + carried([plan], PINS.influence(), OFFSET_SD, SETTING_SD)[1][0]
    return float(gap @ np.linalg.solve(spread, gap)) > TOLD_APART


def outcomes(jobs, seed, right=None):
    """So many with each mistake, and so many right ones (None: as many)."""
    rng = np.random.default_rng(seed)
    whole = ["as planned"] * (jobs if right is None else right) + [
        each for each in MISTAKES for _ in range(jobs)
    ]
    return [job(rng, truth) for truth in whole]


def accused(found):
    """Of the right ones, those where the proof leaves no room for it that all was done right."""
    right = [each for each in found if each.truth == "as planned"]
    return sum(not each.among & set(FINE) for each in right) / len(right)


def main() -> None:
    """A line for each: how many can be told, how many are named (alone), and what the others are taken for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--jobs", type=int, default=100, help="so many with each mistake")
    parser.add_argument("--right", type=int, default=1000, help="so many without any")
    parser.add_argument("--seed", type=int, default=0)
    asked = parser.parse_args()
    found = outcomes(asked.jobs, asked.seed, asked.right)
    told = [each for each in found if each.truth != "as planned" and each.measurable]
    for truth in ("as planned", *MISTAKES):
        of = [each for each in found if each.truth == truth and (each.measurable or truth == "as planned")]
        alone = sum(each.named and each.among <= {truth, *FINE[:2]} & each.among for each in of)
        other = Counter(" / ".join(sorted(each.among)) for each in of if not each.named).most_common(3)
        print(f"{truth:<27}{len(of):>6}  named {100 * sum(e.named for e in of) / len(of):5.1f} %"
              f"  alone {100 * alone / len(of):5.1f} %   else {other}")  # fmt: skip
    print(f"right ones accused: {100 * accused(found):.2f} %")
    print(f"mistakes that can be told, named or among: {100 * sum(e.named for e in told) / len(told):.1f} %")


if __name__ == "__main__":
    main()
