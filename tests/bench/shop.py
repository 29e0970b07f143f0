"""How true the ledger is, in made shops of 60 jobs.

    PYTHONPATH=tests/helpers nice -n 15 .venv/bin/python tests/bench/shop.py [SHOPS] [once|few] [FIRST]
    PYTHONPATH=tests/helpers nice -n 15 .venv/bin/python tests/bench/shop.py 10000 many

Blocks scatter 4 thou, single housings 2, measuring 0.3; three housing families whose effects lie 0 to 4
thou apart; once with every piece met only once, once with four housings of each family on many blocks.
How often intervals hold the truth; how far the families' effects are from the Cramer-Rao bound, as they
scatter and as they claim; then what is planted, in as many shops each: a batch 10 thou off from the half
on, wear of 15 thou over the time, an odd housing 20 thou off; and the alarms where nothing was.
"many" takes so many jobs of one shop apart, and says how long that takes.
"""

import sys
import time
from collections import Counter
from dataclasses import dataclass, field, replace

import numpy as np

from coaxly.fitter.numeric.quantiles import plane_factor
from coaxly.fitter.shop.changes import changes
from coaxly.fitter.shop.ledger import TOGETHER, Found, Ledger, ledger
from coaxly.fitter.units import MM_PER_THOU

EFFECTS = {"R1": (0.0, 0.0), "R2": (3.0, -1.0), "R3": (-1.0, 4.0)}
MEAN = np.mean(list(EFFECTS.values()), axis=0)
U2 = (0.3 * MM_PER_THOU) ** 2
JOBS = 60


def made(seed: int, *, once: bool) -> list[Found]:
    """A shop of 60 jobs, a day each."""
    rng = np.random.default_rng(seed)
    housings: dict[tuple[str, str], np.ndarray] = {}
    jobs = []
    for k in range(JOBS):
        family = list(EFFECTS)[k % 3]
        name = f"h{k}" if once else f"h{rng.integers(4)}"
        own = housings.setdefault((family, name), rng.normal(size=2) * 2.0)
        v = EFFECTS[family] + own + rng.normal(size=2) * 4.0 + rng.normal(size=2) * 0.3
        x, y = (v * MM_PER_THOU).tolist()
        jobs.append(Found("K", f"b{k}", family, name, (x, y), ((U2, 0.0), (0.0, U2)), float(k)))
    return jobs


def moved(job: Found, thou: float) -> Found:
    """A job whose bore was found so much farther right."""
    return replace(job, vector=(job.vector[0] + thou * MM_PER_THOU, job.vector[1]))


@dataclass
class Tally:
    """What was counted. held: intervals of effects. covered: those of each component. errors, claimed, bound:
    squares of effects' errors, of their claimed and of their least standard error."""

    held: list[bool] = field(default_factory=list)
    covered: list[list[bool]] = field(default_factory=list)
    errors: list[float] = field(default_factory=list)
    claimed: list[float] = field(default_factory=list)
    bound: list[float] = field(default_factory=list)
    told: Counter[str] = field(default_factory=Counter)

    def effects(self, found: Ledger, truth: list[float]) -> None:
        """Count a shop in which nothing was planted."""
        at = found.fitted.model.mean([sd * MM_PER_THOU for sd in truth])
        pick = np.kron([-1.0 / 3.0, -1.0 / 3.0], np.eye(2))  # R1 less the average of the three
        least = np.trace(pick @ at.covariance[-4:, -4:] @ pick.T) / 2.0
        for family in (f for f in found.families if f.side == "housing"):
            assert family.effect and family.covariance and family.freedom
            off = np.array(family.effect) - (np.array(EFFECTS[family.name]) - MEAN) * MM_PER_THOU
            size = off @ np.linalg.solve(np.array(family.covariance), off)
            self.held.append(bool(size <= plane_factor(0.95, family.freedom) ** 2))
            if family.name == "R1":
                self.errors.append(float(off @ off) / 2.0)
                self.claimed.append(float(np.trace(family.covariance)) / 2.0)
                self.bound.append(float(least))
        sizes = zip(found.components, truth, strict=True)
        self.covered.append([bool(c.low <= sd * MM_PER_THOU <= c.high) for c, sd in sizes])

    def planted(self, jobs: list[Found], found: Ledger, *, once: bool) -> None:
        """Plant a batch, wear and an odd housing, each in a shop of its own."""
        self.told["alarm"] += bool(changes(jobs, found))
        self.told["odd alarm"] += bool(found.odd)
        batch = [
            moved(job, 10.0) if job.housing_family == "R2" and k >= 30 else job for k, job in enumerate(jobs)
        ]
        self._change("batch", "step", batch)
        wear = [
            moved(job, 15.0 * k / JOBS) if job.housing_family == "R2" else job for k, job in enumerate(jobs)
        ]
        self._change("wear", "trend", wear)
        one = jobs[7]
        odd = [
            moved(job, 20.0)
            if (job.housing_family, job.housing) == (one.housing_family, one.housing)
            else job
            for job in jobs
        ]
        named = ledger(odd).odd
        if once:
            self.told["odd"] += any(one.block == each.name for each in named)
        else:
            self.told["odd"] += any(
                (each.side, each.family, each.name) == ("housing", one.housing_family, one.housing)
                for each in named
            )

    def _change(self, name: str, kind: str, jobs: list[Found]) -> None:
        seen = changes(jobs, ledger(jobs))
        self.told[name] += any(change.family == "R2" for change in seen)
        self.told[f"{name} as such"] += any((c.family, c.kind) == ("R2", kind) for c in seen)
        self.told[f"{name} twice"] += len(seen) > 1


def run(first: int, shops: int, *, once: bool) -> None:
    """Print the table of one design."""
    truth = [float(np.hypot(4.0, 2.0))] if once else [4.0, 2.0]
    tally, start = Tally(), time.process_time()
    for seed in range(first, first + shops):
        jobs = made(seed, once=once)
        found = ledger(jobs)
        assert found.together == once == (found.components[0].name == TOGETHER)
        tally.effects(found, truth)
        tally.planted(jobs, found, once=once)
    took = (time.process_time() - start) / (4 * shops)
    bound = np.sqrt(np.mean(tally.bound))
    shares = " and ".join(f"{100 * share:.1f} %" for share in np.mean(tally.covered, axis=0))
    told = {name: 100 * count / shops for name, count in tally.told.items()}
    print(
        f"{'every piece once' if once else 'a few housings on many blocks'}: {shops} shops, {took:.3f} s each"
    )
    print(f"  intervals hold: effects {100 * np.mean(tally.held):.1f} %, components {shares}")
    print(
        f"  standard error over Cramer-Rao bound: scattered {np.sqrt(np.mean(tally.errors)) / bound:.3f}, "
        f"claimed {np.sqrt(np.mean(tally.claimed)) / bound:.3f}"
    )
    for name in ("batch", "wear"):
        print(
            f"  {name} found {told[name]:.1f} %, as such {told[f'{name} as such']:.1f} %, "
            f"told twice {told[f'{name} twice']:.1f} %"
        )
    print(f"  false alarms: changes {told['alarm']:.1f} %, odd pieces {told['odd alarm']:.1f} %")
    print(f"  odd housing named {told['odd']:.1f} %", flush=True)


def crowd(jobs: int, blocks: int, housings: int, *, circles: bool) -> list[Found]:
    """So many jobs of one shop, blocks and housings met at random; sweeps of an even or an uneven accuracy."""
    rng = np.random.default_rng(1)
    block, housing = rng.normal(size=(blocks, 2)) * 4.0, rng.normal(size=(housings, 2)) * 2.0
    family = rng.normal(size=(6, 2)) * 2.0
    listed = []
    for k in range(jobs):
        b, h = int(rng.integers(blocks)), int(rng.integers(housings))
        x, y = ((family[h % 6] + block[b] + housing[h] + rng.normal(size=2) * 0.3) * MM_PER_THOU).tolist()
        longer, slant = (1.0, 0.0) if circles else (float(rng.uniform(0.8, 1.2)), 0.1)
        known = ((U2 * longer, slant * U2), (slant * U2, U2 / longer))
        listed.append(Found(f"K{b % 3}", f"b{b}", f"R{h % 6}", f"h{h}", (x, y), known, float(k)))
    return listed


def many(jobs: int) -> None:
    """Print how long shops of many jobs take."""
    for blocks, housings in ((9 * jobs // 10, 300), (9 * jobs // 10, 8 * jobs // 10)):
        for circles in (True, False):
            listed = crowd(jobs, blocks, housings, circles=circles)
            start = time.process_time()
            found = ledger(listed)
            took, start = time.process_time() - start, time.process_time()
            told = changes(listed, found)
            sds = ", ".join(f"{c.sd / MM_PER_THOU:.2f}" for c in found.components)
            print(
                f"{jobs} jobs, {blocks} blocks, {housings} housings, {'circles' if circles else 'ellipses'}: "
                f"{took:.1f} s, changes {time.process_time() - start:.1f} s ({len(told)}); scatter {sds} thou",
                flush=True,
            )


if __name__ == "__main__":
    number = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    which = sys.argv[2] if len(sys.argv) > 2 else "both"
    begin = int(sys.argv[3]) if len(sys.argv) > 3 else 0
    if which == "many":
        many(number)
    for name in ("once", "few"):
        if which in (name, "both"):
            run(begin, number, once=name == "once")
