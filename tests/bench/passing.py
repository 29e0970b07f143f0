"""Sweeps that do not stop, as they come: `anysweep` for a crank with an encoder.

    python tests/bench/passing.py [--sweeps 200] [--only WORD] [--against FOLDER]

Form in every bore, drift, noise free and tied over many samples, a turn or three, there and back, arcs, together
with a sweep that stops; `time` is the processor's for a result, ms, the median. The other columns are those of
`anysweep`.
"""

import math
import time
from dataclasses import dataclass

import numpy as np

if __package__:
    from . import worlds
    from .anysweep import ORDERS, RADIUS, THOU, Kind, World, distance, entered, form_sd, tabulate
else:
    import worlds
    from anysweep import ORDERS, RADIUS, THOU, Kind, World, distance, entered, form_sd, tabulate

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.analysis import analyse_together

PACE = 60.0
"""Degrees a second."""


@dataclass(frozen=True)
class Passing:
    """One kind of sweep. tie: over how many samples neighbours are tied. Lengths in thou; delay in s."""

    name: str
    turns: tuple[float, float] = (1.0, 3.0)
    samples: tuple[int, int] = (500, 3000)
    back: bool = False
    noise: tuple[float, float] = (0.05, 0.5)
    tie: tuple[float, ...] = (0.0,)
    amount: tuple[float, float] = (0.0, 6.0)
    form: tuple[float, ...] = (0.5, 1.0, 1.0, 1.5)
    drift: float = 0.5
    play: float = 0.1
    delay: tuple[float, float] = (0.0, 0.0)
    known_delay: bool = True
    step: tuple[float, ...] = (0.02, 0.05, 0.1)
    knock: tuple[float, float] | None = None
    burr: tuple[float, float] | None = None
    files: int = 1
    stops: bool = False
    heavy: float = 0.0

    def world(self, seed: int) -> "Passed":
        """One of them."""
        return Passed(self, seed)


ANY = (0.0, 5.0, 40.0, 150.0)
KINDS = [
    Passing("free"),
    Passing("tied over 5", tie=(5.0,)),
    Passing("tied over 40", tie=(40.0,)),
    Passing("tied over 150", tie=(150.0,)),
    Passing("one turn", turns=(1.0, 1.0), tie=ANY),
    Passing("three turns", turns=(3.0, 3.0), tie=ANY),
    Passing("three turns, noise .05-.1", turns=(3.0, 3.0), tie=ANY, noise=(0.05, 0.1)),
    Passing("near the limit, one turn", turns=(1.0, 1.0), tie=ANY, amount=(1.5, 3.5)),
    Passing("one turn, noise 2", turns=(1.0, 1.0), tie=ANY, noise=(1.0, 2.0)),
    Passing("heavy tails", heavy=1.0),
    Passing("drift 2", drift=2.0, tie=ANY),
    Passing("there and back, play to .5", back=True, turns=(1.0, 1.5), tie=ANY, play=0.5),
    Passing("there and back, late", back=True, turns=(1.0, 1.5), tie=(0.0, 5.0, 40.0), delay=(0.05, 0.3), known_delay=False),
    Passing("arc of 160-240 deg", turns=(0.45, 0.67), tie=ANY),
    Passing("arc of 240-340 deg", turns=(0.67, 0.95), tie=ANY),
    Passing("display of .5", step=(0.5,), tie=ANY),
    Passing("with a sweep that stops", turns=(1.0, 1.5), tie=ANY, stops=True),
    Passing("2 files", turns=(1.0, 1.5), tie=ANY, files=2),
    Passing("knock 1-4", tie=ANY, knock=(1.0, 4.0)),
    Passing("knock 4-10", tie=ANY, knock=(4.0, 10.0)),
    Passing("burr 2-20", tie=ANY, burr=(2.0, 20.0)),
]  # fmt: skip
STOPS = Kind("beside", stations=(8, 12), places=("equal",), way=("closing",), heavy=0.0)


class Passed(World):
    """What is true of one sweep that did not stop, or of several of one housing."""

    def __init__(self, kind: Passing, seed: int) -> None:
        self.kind = kind
        rng = self.rng = self._bore(kind, seed)
        self.noise = math.exp(rng.uniform(*np.log(kind.noise))) * THOU
        self.step = rng.choice(kind.step) * THOU
        self.tie = rng.choice(kind.tie)
        self.faults = set()
        self.deg = [self._way() for _ in range(kind.files)]
        self.values = [self._passed(deg) for deg in self.deg]
        self.beside = None
        if kind.stops:
            self.beside = World(STOPS, seed, (self.centre, self.form, self.noise))
        self.took = 0.0

    def _way(self):
        kind, rng = self.kind, self.rng
        n, turns, start = rng.integers(*kind.samples), rng.uniform(*kind.turns), rng.uniform(0.0, 360.0)
        way = start + 360.0 * turns * np.arange(n) / n
        return np.concatenate([way, way[::-1]]) if kind.back else way

    def _passed(self, deg):
        kind, rng, n = self.kind, self.rng, len(deg)
        s = np.linspace(0.0, 1.0, n)
        t = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(deg)))]) / PACE
        met = np.interp(t - rng.uniform(*kind.delay), np.append(-1.0, t), np.append(deg[0] - PACE, deg))
        value = (
            RADIUS
            + rng.uniform(0.2, 1.0)
            - distance(self.centre, np.deg2rad(met + rng.normal(0.0, 1.0)), self.form)
        )
        value -= np.sign(np.gradient(value) + 1e-12) * rng.uniform(0, kind.play) / 2.0 * THOU
        if kind.heavy:
            value += self.noise * rng.standard_t(3, n) / math.sqrt(3.0)
        else:
            value += worlds.coloured(rng, n, self.noise, self.tie)
        value += rng.normal() * kind.drift * THOU * (s if rng.random() < 0.6 else 1.0 - np.exp(-4.0 * s))
        if kind.knock:
            at = int(rng.uniform(0.1, 0.9) * n)
            value[at:] += rng.choice([-1, 1]) * rng.uniform(*kind.knock) * THOU
            self.faults.add(("step", t[at] / 4.0))
        if kind.burr:
            at = deg[int(rng.integers(n))] % 360.0
            near = np.abs(np.remainder(deg - at + 180.0, 360.0) - 180.0) < 2.5
            value[near] += rng.choice([-1, 1]) * rng.uniform(*kind.burr) * THOU
            self.faults.add(("burr", at))
        return np.round(value / self.step) * self.step

    def result(self):
        """What the fitter makes of it."""
        fitters = []
        known = {"delay_sd_s": 0.0} if self.kind.known_delay else {}
        for deg, value in zip(self.deg, self.values, strict=True):
            fitter = Fitter(Setup.from_header({"resolution_mm": self.step, **known}))
            t = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(deg)))]) / PACE
            fitter.add_track(deg, value, t)
            fitters.append(fitter)
        if self.beside:
            fitters += entered(self.beside)
        start = time.process_time()
        found = analyse_together([(f.setup, f.stations()) for f in fitters], sum(f.samples for f in fitters))
        self.took = 1e3 * (time.process_time() - start)
        return found

    def oracle(self):
        """Half-width of the amount for who knows every variance, of the sweeps that do not stop, mm."""
        information = np.zeros((2 + 2 * len(ORDERS), 2 + 2 * len(ORDERS)))
        sizes = np.repeat([form_sd(self.scale, k) for k in ORDERS], 2)
        information[2:, 2:] = np.diag(1.0 / sizes**2)
        phi = math.exp(-1.0 / self.tie) if self.tie else 0.0
        for deg in self.deg:
            rad, s = np.deg2rad(deg), np.linspace(0.0, 1.0, len(deg))
            shared = [-np.sin(rad), -np.cos(rad)]
            shared += [f(k * rad) for k in ORDERS for f in (np.cos, np.sin)]
            own = [np.ones(len(deg)), s, 1.0 - np.exp(-4.0 * s)]
            table = np.column_stack([*shared, *own])
            table[1:] = (table[1:] - phi * table[:-1]) / math.sqrt(1.0 - phi * phi)
            table = table / math.hypot(self.noise, self.step / math.sqrt(12.0))
            whole = table.T @ table
            p = len(shared)
            drift = (self.kind.drift * THOU) ** 2
            mine = whole[p:, p:] + np.diag([0.0, 1.0 / (0.6 * drift), 1.0 / (0.4 * drift)])
            information += whole[:p, :p] - whole[:p, p:] @ np.linalg.solve(mine, whole[p:, :p])
        covariance = np.linalg.inv(information)[:2, :2]
        along = self.centre / max(math.hypot(*self.centre), 1e-12)
        return 1.96 * math.sqrt(along @ covariance @ along)

    def named(self, result):
        """What of the faults was found, and whether anything was that is none."""
        found = set()
        for kind, where in self.faults:
            step = result.checks.step
            if kind == "step" and step is not None and abs(step.t / 4.0 - where) < 0.25 / 4.0:
                found.add((kind, where))
            near = [o for o in result.checks.outliers if abs(math.remainder(o.deg - where, 360.0)) < 8.0]
            if kind == "burr" and near:
                found.add((kind, where))
        others = (result.checks.step is not None) + len(result.checks.outliers)
        burr = any(kind == "burr" for kind, _ in self.faults)
        return others > (6 if burr else len(found)), bool(self.faults) and found == self.faults


if __name__ == "__main__":
    tabulate(KINDS, __file__, __doc__)
