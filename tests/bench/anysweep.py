"""Sweeps as they come: any layout, form in every bore, drift, a scattering dial, knocks and wild readings.

    python tests/bench/anysweep.py [--sweeps 300] [--only WORD] [--against FOLDER]

Each sweep draws its own world, and both fitters see the same ones (--against: the folder of another version, its
column second). Prints for each kind: the share of 95 % regions that hold the true vector and of 95 % intervals that
hold the true amount and the true direction; the median half-width of the amount as a multiple of that of an oracle who knows every variance, and
in thou; the root mean square error of a component, thou; verdicts given, and wrong ones of all; sweeps in which a fault was
named that was none, and those in which the fault that there was is named; those that are told that no place was read twice
and what that hides; the processor's time for a result, ms, the median.
"""

import argparse
import math
import os
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.analysis import analyse_together
from coaxly.fitter.numeric.quantiles import plane_factor

THOU = 0.0254
RADIUS = 139.7
ORDERS = range(2, 10)
USUAL = {2: 0.5, 3: 0.25, 4: 0.15}
"""Standard deviation of form's coefficients, thou; of more lobes .5 (2 / k)^2."""


@dataclass(frozen=True)
class Kind:
    """One kind of sweep; what is None is drawn anew for each. Lengths in thou."""

    name: str
    stations: tuple[int, ...] = (4, 6, 8, 12, 16)
    places: tuple[str, ...] = ("equal", "equal", "irregular", "arc")
    way: tuple[str, ...] = ("once", "closing", "closing", "twice", "back")
    noise: tuple[float, float] = (0.05, 0.6)
    heavy: float = 0.2
    amount: tuple[float, float] = (0.0, 6.0)
    form: tuple[float, ...] = (0.5, 1.0, 1.0, 1.5)
    oval: float = 0.0
    drift: float = 0.5
    angle_sd: float = 0.0
    play: float = 0.1
    files: int = 1
    knock: tuple[float, float] | None = None
    wild: tuple[float, float] | None = None
    wilds: int = 1
    declared: bool = True

    def world(self, seed: int) -> "World":
        """One of them."""
        return World(self, seed)


NEAR = (1.5, 3.5)
EIGHT = {"stations": (8,), "places": ("equal",), "way": ("closing",)}
KINDS = [
    Kind("any, nothing wrong"),
    Kind("8, closing", **EIGHT),
    Kind("8, closing, noise .1, near the limit", **EIGHT, noise=(0.1, 0.1), heavy=0.0, amount=NEAR),
    Kind("8, closing, noise .3, near the limit", **EIGHT, noise=(0.3, 0.3), heavy=0.0, amount=NEAR),
    Kind("8, closing not declared, drift 1", **EIGHT, drift=1.0, declared=False),
    Kind("8, once", stations=(8,), places=("equal",), way=("once",)),
    Kind("4", stations=(4,), places=("equal",), way=("once", "closing")),
    Kind("6", stations=(6,), places=("equal", "irregular"), way=("once", "closing")),
    Kind("12", stations=(12,), places=("equal",), way=("once", "closing")),
    Kind("16", stations=(16,), places=("equal",), way=("once", "closing")),
    Kind("irregular", places=("irregular",)),
    Kind("arc of 200 deg", stations=(6, 8, 12), places=("arc",)),
    Kind("8, two turns", stations=(8,), places=("equal",), way=("twice",), heavy=0.0),
    Kind("8, two turns, noise .05-.2", stations=(8,), places=("equal",), way=("twice",), heavy=0.0, noise=(0.05, 0.2)),
    Kind("8, there and back, noise .05-.2", stations=(8,), places=("equal",), way=("back",), heavy=0.0, noise=(0.05, 0.2)),
    Kind("heavy tails", heavy=1.0),
    Kind("drift 2", drift=2.0, way=("closing", "twice", "back")),
    Kind("oval to 3", oval=3.0),
    Kind("angles to 2 deg, told", angle_sd=2.0, noise=(0.05, 0.2)),
    Kind("2-4 files", stations=(6, 8, 12), files=3, way=("once", "closing")),
    Kind("knock 1-4, closing", stations=(8, 12), places=("equal",), way=("closing",), knock=(1.0, 4.0)),
    Kind("knock 4-10, closing", stations=(8, 12), places=("equal",), way=("closing",), knock=(4.0, 10.0)),
    Kind("knock 1-10, a place read twice", knock=(1.0, 10.0), stations=(8, 12, 16), way=("closing", "twice", "back")),
    Kind("knock 1-10, once", knock=(1.0, 10.0), stations=(8, 12, 16), way=("once",)),
    Kind("wild 2-30", wild=(2.0, 30.0), stations=(6, 8, 12, 16)),
    Kind("wild 2-30, 8 closing", **EIGHT, wild=(2.0, 30.0)),
    Kind("both", wild=(2.0, 30.0), knock=(2.0, 10.0), stations=(12, 16)),
    Kind("two wild of 12", wild=(3.0, 12.0), wilds=2, stations=(12,), places=("equal",), way=("once", "closing")),
]  # fmt: skip


def distance(centre, rad, form):
    """Exact distance from the crank's axis to a bore of radius R + form about its centre, by Newton on the ray."""
    x, y = np.sin(rad), np.cos(rad)
    d = RADIUS + centre[0] * x + centre[1] * y
    for _ in range(3):
        px, py = d * x - centre[0], d * y - centre[1]
        at, wall = np.arctan2(px, py), np.full(len(rad), RADIUS)
        for k, a, b in form:
            wall = wall + a * np.cos(k * at) + b * np.sin(k * at)
        d = d + wall - np.hypot(px, py)
    return d


def form_sd(scale, k):
    """Of each coefficient of form, mm."""
    return scale * USUAL.get(k, 0.5 * (2 / k) ** 2) * THOU


def order(kind, rng):
    """Angles in the order in which they are read, degrees, not wrapped."""
    n, places, way = rng.choice(kind.stations), rng.choice(kind.places), rng.choice(kind.way)
    if places == "equal":
        base = np.arange(n) * 360.0 / n
    elif places == "irregular":
        base = np.sort((np.arange(n) + rng.uniform(-0.35, 0.35, n)) * 360.0 / n)
        base -= base[0]
    else:
        base = np.linspace(0.0, 200.0, max(n, 6))
    if way == "twice":
        return np.concatenate([base, base + 360.0])
    if way == "back":
        return np.concatenate([base, base[::-1]])
    return np.append(base, base[0] + (360.0 if places != "arc" else 0.0)) if way == "closing" else base


class World:
    """What is true of one sweep or of several of one housing."""

    def __init__(self, kind: Kind, seed: int, housing=None) -> None:
        """housing: centre, form and noise of one that was swept otherwise as well."""
        self.kind = kind
        rng = self.rng = self._bore(kind, seed)
        self.form += [
            (
                2,
                *(
                    rng.uniform(0, kind.oval)
                    * THOU
                    * np.array([math.cos(a := rng.uniform(0, 6.28)), math.sin(a)])
                ),
            )
        ]
        self.noise = math.exp(rng.uniform(*np.log(kind.noise))) * THOU
        if housing:
            self.centre, self.form, self.noise = housing
        self.took = 0.0
        self.step = rng.choice([0.02, 0.05, 0.1, 0.5 if self.noise > 0.25 * THOU else 0.1]) * THOU
        self.deg = [order(kind, rng) for _ in range(1 if kind.files == 1 else rng.integers(2, 5))]
        self.faults = set()
        self.values = [self._read(deg) for deg in self.deg]

    def _bore(self, kind, seed):
        """Draw where it is and its form. Gives the generator that draws the rest."""
        rng = np.random.default_rng([seed, sum(map(ord, kind.name))])
        amount, towards = rng.uniform(*kind.amount) * THOU, rng.uniform(0, 2 * math.pi)
        self.centre = amount * np.array([math.sin(towards), math.cos(towards)])
        self.scale = rng.choice(kind.form)
        self.form = [(k, *rng.normal(0.0, form_sd(self.scale, k), 2)) for k in ORDERS]
        return rng

    def _read(self, deg):
        kind, rng, n = self.kind, self.rng, len(deg)
        s = np.linspace(0.0, 1.0, n)
        true = np.deg2rad(deg + rng.normal(0.0, 1.0) + rng.normal(0.0, kind.angle_sd, n))
        value = RADIUS + rng.uniform(0.2, 1.0) - distance(self.centre, true, self.form)
        rising = np.sign(np.diff(value, prepend=value[1]) + 1e-12)
        value -= rising * rng.uniform(0, kind.play) / 2.0 * THOU
        heavy = rng.random() < kind.heavy
        value += self.noise * (rng.standard_t(3, n) / math.sqrt(3.0) if heavy else rng.normal(size=n))
        value += rng.normal() * kind.drift * THOU * (s if rng.random() < 0.6 else 1.0 - np.exp(-4.0 * s))
        if kind.knock and n > 4:
            at = int(rng.integers(2, n - 1))
            value[at:] += rng.choice([-1, 1]) * rng.uniform(*kind.knock) * THOU
            self.faults.add(("step", at))
        if kind.wild:
            for at in rng.choice(n, kind.wilds, replace=False).tolist():
                value[at] += rng.choice([-1, 1]) * rng.uniform(*kind.wild) * THOU
                self.faults.add(("bad", round(float(deg[at]) % 360.0, 3)))
        return np.round(value / self.step) * self.step

    def result(self):
        """What the fitter makes of it."""
        fitters = entered(self)
        start = time.process_time()
        found = analyse_together([(f.setup, f.stations()) for f in fitters], sum(f.samples for f in fitters))
        self.took = 1e3 * (time.process_time() - start)
        return found

    def named(self, result):
        """Whether a fault was named that is none, and whether those that there are were."""
        step = result.checks.step
        named = {("bad", round(o.deg, 3)) for o in result.checks.outliers}
        if step is not None:
            places = [at for kind_, at in self.faults if kind_ == "step"]
            near = [p for p in places if any(abs(4.0 * p - 2.0 - step.t) < 6.1 for _ in self.deg)]
            named.add(("step", near[0] if near else -1))
        return bool(named - self.faults), bool(self.faults) and self.faults <= named

    def oracle(self):
        """Half-width of the amount for who knows every variance, mm."""
        blocks = []
        for i, deg in enumerate(self.deg):
            rad, s = np.deg2rad(deg), np.linspace(0.0, 1.0, len(deg))
            means = np.zeros((len(deg), len(self.deg)))
            means[:, i] = 1.0
            blocks.append((means, rad, s))
        flat = np.concatenate([np.column_stack([m, -np.sin(r), -np.cos(r)]) for m, r, _ in blocks])
        rad = np.concatenate([r for _, r, _ in blocks])
        V = np.eye(len(rad)) * (self.noise**2 + self.step**2 / 12.0)
        apart = rad[:, None] - rad[None, :]
        for k in ORDERS:
            V += (form_sd(self.scale, k) ** 2 + (k == 2) * (self.kind.oval * THOU) ** 2 / 6.0) * np.cos(
                k * apart
            )
        start = 0
        for _, _, s in blocks:
            rows = slice(start, start := start + len(s))
            q = 1.0 - np.exp(-4.0 * s)
            V[rows, rows] += (self.kind.drift * THOU) ** 2 * (0.6 * np.outer(s, s) + 0.4 * np.outer(q, q))
        if self.kind.angle_sd:
            slope = self.centre[0] * np.cos(rad) - self.centre[1] * np.sin(rad)
            V += np.diag((slope * math.radians(self.kind.angle_sd)) ** 2)
        covariance = np.linalg.inv(flat.T @ np.linalg.solve(V, flat))[-2:, -2:]
        along = self.centre / max(math.hypot(*self.centre), 1e-12)
        return 1.96 * math.sqrt(along @ covariance @ along)


def entered(world):
    """The sweeps of a world, stopped at."""
    fitters = []
    for deg, value in zip(world.deg, world.values, strict=True):
        closes = len(deg) > 1 and abs(math.remainder(deg[-1] - deg[0], 360.0)) < 1.0
        known = {"angle_sd_deg": world.kind.angle_sd} if world.kind.angle_sd else {}
        closing = bool(closes and world.kind.declared and deg[-1] != deg[-2])
        fitter = Fitter(Setup.from_header({"closing": closing, "resolution_mm": world.step, **known}))
        for k in range(len(deg)):
            fitter.add_station(float(deg[k] % 360.0), value[k : k + 1], np.array([4.0 * k]))
        fitters.append(fitter)
    return fitters


def judge(kind, seed):
    """One world: what its row is made of."""
    world = kind.world(seed)
    result = world.result()
    ecc, true = result.eccentricity, float(math.hypot(*world.centre))
    off = np.array(ecc.vector) - world.centre
    freedom = math.inf if ecc.freedom is None else ecc.freedom
    held = off @ np.linalg.solve(np.array(ecc.covariance), off) <= plane_factor(0.95, freedom) ** 2
    across = math.degrees(math.atan2(*ecc.vector) - math.atan2(*world.centre))
    state = result.decision.state
    return (
        held, abs(ecc.amount - true) <= ecc.u95_amount, abs(math.remainder(across, 360.0)) <= ecc.u95_deg,
        ecc.u95_amount / world.oracle(), ecc.u95_amount / THOU, float(off @ off) / 2.0 / THOU**2, state != "unsure",
        state != "unsure" and (state == "inside") != (2.0 * true <= result.decision.limit),
        *world.named(result), any(each.facts.get("closed") is False for each in result.remarks), world.took,
    )  # fmt: skip


def row(kind, sweeps, pool):
    """A line of the table."""
    table = np.array(list(pool.map(partial(judge, kind), range(sweeps), chunksize=20)), dtype=float)
    mean, half = 100 * table.mean(axis=0), np.median(table, axis=0)
    return [*mean[:3], half[3], half[4], math.sqrt(mean[5] / 100), *mean[6:11], half[11]]


HEAD = (
    "region",
    "amount",
    "towards",
    "width",
    "thou",
    "rms",
    "verdict",
    "wrong",
    "false",
    "named",
    "told",
    "time",
)


def tabulate(kinds, script, says) -> None:
    """Print the table of some kinds. script: what is run again with the other version."""
    parser = argparse.ArgumentParser(description=says)
    parser.add_argument("--sweeps", type=int, default=300)
    parser.add_argument("--only", default="")
    parser.add_argument("--against", default="", metavar="FOLDER")
    parser.add_argument("--jobs", type=int, default=os.cpu_count())
    arguments = parser.parse_args()
    other = None
    if arguments.against:
        sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))
        from source import linked

        folder = linked(Path(tempfile.mkdtemp()), Path(arguments.against))
        again = [a for a in sys.argv[1:] if a not in ("--against", arguments.against)]
        other = subprocess.Popen(
            [sys.executable, script, *again], stdout=subprocess.PIPE, text=True,
            env={**os.environ, "PYTHONPATH": str(folder)},
        )  # fmt: skip
    print(f"{arguments.sweeps} sweeps each, seeds 0 to {arguments.sweeps - 1}")
    print(f"{'':<38}" + "".join(f"{name:>9}" for name in HEAD))
    with ProcessPoolExecutor(arguments.jobs) as pool:
        for kind in kinds:
            if arguments.only in kind.name:
                cells = row(kind, arguments.sweeps, pool)
                print(f"{kind.name:<38}" + "".join(f"{cell:>9.2f}" for cell in cells), flush=True)
    if other is not None:
        print("against\n" + other.communicate()[0])


if __name__ == "__main__":
    tabulate(KINDS, __file__, __doc__)
