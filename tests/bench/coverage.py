"""Do the error bars hold the truth? Simulated sweeps of known housings, many of each kind.

    python tests/bench/coverage.py [--sweeps 2000] [--only WORD] [--usual]

Prints, for each scenario: the share of sweeps whose 95 % region holds the true vector, whose
95 % interval holds the true amount, the share in which "inside" was said of a housing that is
outside, the share that was told of what such a sweep cannot see ("unseen"; of a zero that is off, that
it hangs on it) or that something is wrong with it ("accused"), and the median half-width of the amount.
Without --usual nothing happens that a sweep cannot see, though the defaults allow for it, so that the
shares lie a little high. The second group are worlds that the model does not describe: there either the region holds, or the sweep
must be told.
tests/fitter/certainty/test_coverage.py runs a smaller share with the same code.
"""

import argparse
import math
import os
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np

if __package__:
    from . import worlds
else:
    import worlds

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.analysis import analyse_together
from coaxly.fitter.numeric.quantiles import plane_factor
from coaxly.fitter.units import MM_PER_THOU as THOU

evenly, arc, encoder, coloured = worlds.evenly, worlds.arc, worlds.encoder, worlds.coloured


@dataclass(frozen=True)
class Scenario:
    """One kind of sweep. Lengths in mm. Each sweep draws its own housing."""

    name: str
    angles: Callable[[np.random.Generator], np.ndarray] = lambda rng: np.arange(8) * 45.0
    amount: tuple[float, float] = (2 * THOU, 9 * THOU)
    noise: float = 0.3 * THOU
    ovality: float = 0.0  # of the amount, at most
    lobes: float = 0.0
    step: float = 0.0
    drift: float = 0.0
    sag: float = 0.0
    angle_sd: float = 0.0
    bad: float = 0.0
    continuous: bool = False
    colour: float = 0.0
    closing: bool = False
    files: int = 1  # sweeps of the same housing, put together
    second_bad: float = 0.0  # a second bad station, at least two from the first
    knock: float = 0.0
    setup: dict = field(default_factory=dict)
    # Beyond the model: (lobes, least, greatest amplitude); (shape, size) of a drift; a zero that is off
    # (deg; as a standard deviation); a scale that is off; what the plunger does.
    form: tuple[int, float, float] | None = None
    wander: tuple[Callable, float] | None = None
    zero: float = 0.0
    zero_sd: float = 0.0
    follow: Callable | None = None
    shop: float = 0.0  # what whole sweeps differ by, sd of a component
    usual: bool = False  # the zero, drift, lag and finer form that the defaults allow for
    delay: tuple[float, float] | None = None  # s: of the dial behind the encoder, at 60 degrees a second
    rest: int = 0  # readings at rest before and after turning
    told: bool = False  # the region need not hold, but the sweep must be told


SCENARIOS = [
    Scenario("4 stations", evenly(4)),
    Scenario("8 stations"),
    Scenario("8 stations, closing reading, drift", closing=True, drift=1.0 * THOU),
    Scenario("12 stations", evenly(12)),
    Scenario("8 stations, two turns", evenly(8, 2), drift=0.5 * THOU),
    Scenario("8 stations, oval up to the offset", ovality=1.0),
    Scenario("12 stations, oval and three-lobed", evenly(12), ovality=1.0, lobes=0.5 * THOU),
    Scenario("8 stations, steps of 0.0005 in", noise=0.15 * THOU, step=0.0127, setup={"resolution_mm": 0.0127}),
    Scenario("8 stations, steps of 0.01 mm", noise=0.002, step=0.01, setup={"resolution_mm": 0.01}),
    Scenario("8 stations, sag known to a tenth", sag=2 * THOU, setup={"sag_mm": 2 * THOU}),
    Scenario("8 stations, angles to 2 deg", noise=0.1 * THOU, angle_sd=2.0, setup={"angle_sd_deg": 2.0}),
    Scenario("8 stations, next to no offset", amount=(0.0, 0.6 * THOU)),
    Scenario("8 stations, no offset at all", amount=(0.0, 0.0)),
    Scenario("8 stations, around the limit", amount=(2.0 * THOU, 3.2 * THOU), noise=0.4 * THOU),
    Scenario("12 stations, one bad", evenly(12), bad=6 * THOU),
    Scenario("9 stations over 200 deg, usual form", arc(9, 200.0), ovality=-1.0),
    Scenario("9 stations over 120 deg, usual form", arc(9, 120.0), ovality=-1.0),
    Scenario("encoder, one turn", encoder(3600), continuous=True, noise=2 * THOU, ovality=0.5, lobes=0.4 * THOU,
             setup=worlds.STILL),
    Scenario("encoder, one turn, tied neighbours", encoder(3600), continuous=True, noise=0.3 * THOU, colour=60.0,
             ovality=0.5, setup=worlds.STILL),
    Scenario("encoder, three turns, drift", encoder(7200, 1080.0), continuous=True, noise=1.0 * THOU, colour=30.0,
             drift=1.0 * THOU),
    Scenario("encoder over 220 deg, usual form", encoder(2200, 220.0), continuous=True, noise=0.5 * THOU, colour=20.0, ovality=-1.0),
    Scenario("2 files of 8 stations, closing", closing=True, drift=0.5 * THOU, files=2),
    Scenario("4 files of 8 stations, closing", closing=True, drift=0.5 * THOU, files=4),
    Scenario("2 files of 16 stations, closing", evenly(16), closing=True, drift=0.5 * THOU, files=2),
    Scenario("3 files of 8 stations, sag to a tenth", closing=True, files=3, sag=4 * THOU, setup={"sag_mm": 4 * THOU}),
    Scenario("2 files, encoder turns, tied neighbours", encoder(3600), continuous=True, colour=60.0, files=2,
             setup=worlds.STILL),
    Scenario("12 stations, two bad", evenly(12), closing=True, bad=5 * THOU, second_bad=5 * THOU),
]  # fmt: skip

LINEAR, OUT_AND_BACK, SETTLING = worlds.linear, worlds.out_and_back, worlds.settling
LATE = (0.05, 0.3)
AR = 9.5  # a correlation of .9 between stations

BEYOND = [
    Scenario("6 stations, 5 lobes", evenly(6), form=(5, 0.3 * THOU, 0.6 * THOU), told=True),
    Scenario("8 stations, 7 lobes", evenly(8), form=(7, 0.3 * THOU, 0.6 * THOU), told=True),
    Scenario("4 stations, 3 lobes", evenly(4), form=(3, 0.3 * THOU, 0.6 * THOU), told=True),
    Scenario("12 stations, 7 lobes", evenly(12), form=(7, 0.3 * THOU, 0.6 * THOU)),
    Scenario("8 + 8 stations half a station on, 7 lobes", worlds.half_a_station_on(8),
             form=(7, 0.3 * THOU, 0.6 * THOU)),
    Scenario("6 + 6 stations half a station on, 5 lobes", worlds.half_a_station_on(6),
             form=(5, 0.3 * THOU, 0.6 * THOU)),
    Scenario("drift, 2 thou, no closing", wander=(LINEAR, 2 * THOU), told=True),
    Scenario("drift out and back, 1.5 thou, closing", closing=True, wander=(OUT_AND_BACK, 1.5 * THOU), told=True),
    Scenario("drift settling, 2 thou, closing", closing=True, wander=(SETTLING, 2 * THOU), told=True),
    Scenario("drift, 2 thou, first station thrice", worlds.revisited(8), closing=True, wander=(LINEAR, 2 * THOU)),
    Scenario("out and back, 1.5 thou, first station thrice", worlds.revisited(8), closing=True,
             wander=(OUT_AND_BACK, 1.5 * THOU)),
    # Three readings of one place cannot tell how a drift bends: of this one the closing reading warns.
    Scenario("settling, 2 thou, first station thrice", worlds.revisited(8), closing=True,
             wander=(SETTLING, 2 * THOU), told=True),
    Scenario("drift, 2 thou, two turns", evenly(8, 2), wander=(LINEAR, 2 * THOU)),
    Scenario("out and back, 1.5 thou, two turns", evenly(8, 2), wander=(OUT_AND_BACK, 1.5 * THOU)),
    Scenario("settling, 2 thou, two turns", evenly(8, 2), wander=(SETTLING, 2 * THOU)),
    Scenario("out and back, 1.5 thou, there and back", worlds.there_and_back(8), wander=(OUT_AND_BACK, 1.5 * THOU), told=True),
    Scenario("zero by eye, 2 deg", zero_sd=2.0, setup={"zero_sd_deg": 2.0}),
    Scenario("zero off by 10 deg", zero=10.0, told=True),
    Scenario("zero off by 10 deg, said to be", zero_sd=10.0, setup={"zero_sd_deg": 10.0}),
    Scenario("encoder, zero off by 1.5 deg", encoder(3600), continuous=True, zero=1.5, told=True),
    Scenario("encoder, lost motion 1.5 deg, stated", encoder(3600), continuous=True, zero=1.5,
             setup={"lost_motion_deg": 1.5}),
    Scenario("encoder, usual zero, drift and lag", encoder(3600), continuous=True, zero_sd=1.0,
             wander=(worlds.walk, 0.1 * THOU), follow=worlds.play(0.05 * THOU)),
    Scenario("encoder, late dial, one way", encoder(3600), continuous=True, delay=LATE),
    Scenario("encoder, late dial, one way, at rest before and after", encoder(3600), continuous=True, delay=LATE,
             rest=300),
    Scenario("encoder, late dial, there and back", worlds.encoder_and_back(3600), continuous=True, delay=LATE),
    Scenario("encoder, late dial, there and back, at rest", worlds.encoder_and_back(3600), continuous=True,
             delay=LATE, rest=300),
    Scenario("encoder, late dial, stated", encoder(3600), continuous=True, delay=(0.2, 0.2),
             setup={"delay_s": 0.2}),
    Scenario("noise tied from station to station, 12", evenly(12), colour=AR, told=True),
    Scenario("noise tied from station to station, 12 + 12", evenly(12, 2), colour=AR, told=True),
    Scenario("plunger sticks, 1 thou", follow=worlds.stick(1 * THOU), noise=0.1 * THOU, told=True),
    Scenario("plunger sticks, 1 thou, there and back", worlds.there_and_back(8), follow=worlds.stick(1 * THOU),
             noise=0.1 * THOU),
    Scenario("encoder, plunger sticks, 1 thou", encoder(3600), continuous=True, follow=worlds.stick(1 * THOU),
             noise=0.1 * THOU, told=True),
    Scenario("dial lags, 0.5 thou", follow=worlds.play(0.5 * THOU), told=True),
    Scenario("dial lags, 0.5 thou, stated", follow=worlds.play(0.5 * THOU), setup={"hysteresis_mm": 0.5 * THOU}),
    Scenario("dial lags, 0.5 thou, there and back", worlds.there_and_back(8), follow=worlds.play(0.5 * THOU)),
    Scenario("encoder, dial lags, 0.5 thou", encoder(3600), continuous=True, follow=worlds.play(0.5 * THOU),
             told=True),
    Scenario("shop repeats to 0.3 thou", noise=0.1 * THOU, shop=0.3 * THOU,
             setup={"repeatability_mm": 0.3 * THOU, "repeatability_freedom": 20}),
]  # fmt: skip


def sweep(scenario: Scenario, seed: int):
    """One simulated sweep, or several put together: (result, true vector)."""
    rng = np.random.default_rng(seed)
    amount = rng.uniform(*scenario.amount)
    towards = rng.uniform(0.0, 2.0 * math.pi)
    x, y = amount * math.sin(towards), amount * math.cos(towards)
    form = _form(scenario, amount, rng)
    # The droop is that of the one rig; everything else is new in each sweep.
    sag = scenario.sag * (1.0 + 0.1 * rng.normal())
    fitters = [_one(scenario, (x, y), form, sag, rng) for _ in range(scenario.files)]
    if len(fitters) == 1:
        return fitters[0].result(), np.array([x, y])
    samples = sum(fitter.samples for fitter in fitters)
    return analyse_together([(f.setup, f.stations()) for f in fitters], samples), np.array([x, y])


def _form(scenario: Scenario, amount: float, rng: np.random.Generator) -> list[tuple[int, float, float]]:
    """The housing's own departure from a circle: (lobes, cosine, sine) each."""
    form = []
    if scenario.ovality > 0.0:
        form.append((2, rng.uniform(0.0, scenario.ovality) * amount, rng.uniform(0, 2 * math.pi)))
    if scenario.lobes:
        form.append((3, rng.uniform(0.0, scenario.lobes), rng.uniform(0, 2 * math.pi)))
    form = [(k, size * math.cos(at), size * math.sin(at)) for k, size, at in form]
    if scenario.ovality < 0.0:
        form += [
            (k, *rng.normal(0.0, sd, 2).tolist())
            for k, sd in ((2, 0.5 * THOU), (3, 0.25 * THOU), (4, 0.15 * THOU))
        ]
    if scenario.form:
        k, least, greatest = scenario.form
        size, at = rng.uniform(least, greatest), rng.uniform(0, 2 * math.pi)
        form.append((k, size * math.cos(at), size * math.sin(at)))
    if scenario.usual:
        form += [(k, *rng.normal(0.0, 0.5 * THOU * (2 / k) ** 2, 2).tolist()) for k in range(5, 10)]
    return form


def _one(scenario: Scenario, truth, form, sag: float, rng: np.random.Generator) -> Fitter:
    deg = scenario.angles(rng)
    if scenario.closing and abs(math.remainder(deg[-1] - deg[0], 360.0)) > 1.0:
        deg = np.append(deg, deg[0] + 360.0)
    t = np.arange(len(deg), dtype=float) / (1000.0 if scenario.continuous else 1.0)
    if scenario.delay:
        t = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(deg)))]) / 60.0
        pause = np.full(scenario.rest, 1.0)
        deg = np.concatenate([pause * deg[0], deg, pause * deg[-1]])
        step = t[1] - t[0]
        t = np.arange(len(deg)) * step
        # Not at rest before: it was turning already.
        path, times = np.append(deg[0] - 60.0 * (scenario.rest == 0), deg), np.append(-1.0, t)
    met = np.interp(t - rng.uniform(*scenario.delay), times, path) if scenario.delay else deg
    true = np.deg2rad(met + rng.normal(0.0, scenario.angle_sd, len(deg)))
    true += np.deg2rad(scenario.zero + scenario.zero_sd * rng.normal())
    follow = scenario.follow
    if scenario.usual:
        true += np.deg2rad(Setup().zero_sd_deg * rng.normal())
        follow = worlds.play(rng.uniform(0.0, Setup().hysteresis_mm))

    def surface(rad):
        shown = 1.0 - truth[0] * np.sin(rad) - truth[1] * np.cos(rad)
        for k, a, b in form:
            shown = shown + a * np.cos(k * rad) + b * np.sin(k * rad)
        return shown

    if follow:
        value = worlds.along_the_way(lambda d: surface(np.deg2rad(d)), np.rad2deg(true), follow)
    else:
        value = surface(true)
    span = np.linspace(0.0, 1.0, len(deg))
    value += rng.normal(0.0, scenario.drift) * span
    if scenario.usual:
        value += Setup().drift_mm * worlds.walk(span, rng)
    if scenario.wander:
        shape, size = scenario.wander
        value += rng.choice([-1.0, 1.0]) * size * shape(span, rng)
    value -= sag * np.cos(np.deg2rad(deg))
    value += coloured(rng, len(deg), scenario.noise, scenario.colour)
    if scenario.shop:
        ex, ey = rng.normal(0.0, scenario.shop, 2)
        value -= ex * np.sin(true) + ey * np.cos(true)
    if scenario.bad:
        at = rng.integers(len(deg))
        value[at] += scenario.bad * rng.choice([-1.0, 1.0])
        if scenario.second_bad:
            other = (at + rng.integers(2, len(deg) - 1)) % len(deg)
            value[other] += scenario.second_bad * rng.choice([-1.0, 1.0])
    if scenario.knock:
        value[rng.integers(2, len(deg) - 1) :] += scenario.knock * rng.choice([-1.0, 1.0])
    if scenario.step:
        value = np.round(value / scenario.step) * scenario.step
    fitter = Fitter(Setup.from_header({"closing": scenario.closing, **scenario.setup}))
    if scenario.continuous:
        fitter.add_track(deg, value, t)
    else:
        for k in range(len(deg)):
            fitter.add_station(float(deg[k]), value[k : k + 1], t[k : k + 1])
    return fitter


def judge(scenario: Scenario, seed: int):
    """(vector held, amount held, wrongly inside, told what is unseen, accused, half-width)."""
    result, truth = sweep(scenario, seed)
    ecc = result.eccentricity
    off = np.array(ecc.vector) - truth
    freedom = math.inf if ecc.freedom is None else ecc.freedom
    covariance = np.array(ecc.covariance)
    distance = math.sqrt(max(float(off @ np.linalg.solve(covariance, off)), 0.0))
    length = float(np.hypot(*truth))
    wrong = result.decision.state == "inside" and 2.0 * length > result.decision.limit
    remarked = [remark.kind for remark in result.remarks]
    return (
        distance <= plane_factor(0.95, freedom),
        abs(ecc.amount - length) <= ecc.u95_amount,
        wrong,
        ("zero" if scenario.zero else "unseen") in remarked,
        any(remark.level == "warning" for remark in result.remarks),
        ecc.u95_amount,
    )


def shares(scenario: Scenario, sweeps: int, start: int = 0, pool: ProcessPoolExecutor | None = None):
    """Shares over many sweeps: vector, amount, wrongly inside, told, accused; median half-width (mm)."""
    each = partial(judge, scenario)
    seeds = range(start, start + sweeps)
    outcomes = np.array(
        list(map(each, seeds) if pool is None else pool.map(each, seeds, chunksize=50)), dtype=float
    )
    return (*outcomes[:, :5].mean(axis=0).tolist(), float(np.median(outcomes[:, 5])))


def cover(scenario: Scenario, sweeps: int, start: int = 0, pool: ProcessPoolExecutor | None = None):
    """Shares over many sweeps: vector, amount, wrongly inside; median half-width (mm)."""
    vector, amount, wrong, _, _, width = shares(scenario, sweeps, start, pool)
    return vector, amount, wrong, width


def _judge_at(place: int, usual: bool, seed: int):
    scenario = (SCENARIOS + BEYOND)[place]
    return judge(replace(scenario, usual=True) if usual else scenario, seed)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sweeps", type=int, default=2000)
    parser.add_argument("--only", default="")
    parser.add_argument("--beyond", action="store_true", help="only the worlds beyond the model")
    parser.add_argument("--within", action="store_true", help="only the worlds that it describes")
    parser.add_argument("--usual", action="store_true", help="with what the default allowances allow for")
    arguments = parser.parse_args()
    print(f"{arguments.sweeps} sweeps each; 95 % is promised, or, where marked *, to be told")
    print(
        f"{'scenario':<46}{'vector %':>9}{'amount %':>9}{'wrongly in %':>13}{'unseen %':>9}{'accused %':>10}"
        f"{'+- thou':>9}"
    )
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for place, scenario in enumerate(SCENARIOS + BEYOND):
            beyond = place >= len(SCENARIOS)
            if arguments.only not in scenario.name or (arguments.within if beyond else arguments.beyond):
                continue
            each = partial(_judge_at, place, arguments.usual)
            outcomes = np.array(list(pool.map(each, range(arguments.sweeps), chunksize=50)), dtype=float)
            vector, amount, wrong, unseen, accused, _ = 100.0 * outcomes.mean(axis=0)
            width = float(np.median(outcomes[:, 5])) / THOU
            name = scenario.name + (" *" if scenario.told else "")
            print(
                f"{name:<46}{vector:>9.1f}{amount:>9.1f}{wrong:>13.2f}{unseen:>9.1f}{accused:>10.1f}{width:>9.2f}",
                flush=True,
            )


if __name__ == "__main__":
    main()
