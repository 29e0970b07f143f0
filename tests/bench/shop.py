"""How often the ledger's intervals hold the truth, in made shops of 60 jobs.

    PYTHONPATH=. nice -n 15 .venv/bin/python tests/bench/shop.py [SHOPS]

Blocks scatter 4 thou, single housings 2, measuring 0.3; three housing families whose effects lie 0 to 4
thou apart; once with every piece met only once, once with four housings of each family on many blocks.
"""

import sys
import time

import numpy as np

from fitter.numeric.quantiles import plane_factor
from fitter.shop.changes import changes
from fitter.shop.ledger import Found, ledger
from fitter.units import MM_PER_THOU

EFFECTS = {"R1": (0.0, 0.0), "R2": (3.0, -1.0), "R3": (-1.0, 4.0)}
MEAN = np.mean(list(EFFECTS.values()), axis=0)
U2 = (0.3 * MM_PER_THOU) ** 2


def made(seed: int, *, once: bool, moved: float = 0.0) -> list[Found]:
    """A shop of 60 jobs; `moved`: by how many thou R2's later half lies off."""
    rng = np.random.default_rng(seed)
    housings: dict[tuple[str, str], np.ndarray] = {}
    jobs = []
    for k in range(60):
        family = list(EFFECTS)[k % 3]
        name = f"h{k}" if once else f"h{rng.integers(4)}"
        own = housings.setdefault((family, name), rng.normal(size=2) * 2.0)
        v = EFFECTS[family] + own + rng.normal(size=2) * 4.0 + rng.normal(size=2) * 0.3
        v = v + (np.array([moved, 0.0]) if family == "R2" and k >= 30 else 0.0)
        x, y = (v * MM_PER_THOU).tolist()
        jobs.append(Found("K", f"b{k}", family, name, (x, y), ((U2, 0.0), (0.0, U2)), float(k)))
    return jobs


def run(shops: int, *, once: bool) -> None:
    """Print the shares of intervals that hold the truth, and of changes that were told."""
    truth = [np.hypot(4.0, 2.0)] if once else [4.0, 2.0]
    held, covered = [], []
    alarms = seen = 0
    start = time.perf_counter()
    for seed in range(shops):
        jobs = made(seed, once=once)
        found = ledger(jobs)
        for family in (f for f in found.families if f.side == "housing"):
            assert family.effect and family.covariance and family.freedom
            off = np.array(family.effect) - (np.array(EFFECTS[family.name]) - MEAN) * MM_PER_THOU
            size = off @ np.linalg.solve(np.array(family.covariance), off)
            held.append(size <= plane_factor(0.95, family.freedom) ** 2)
        sizes = zip(found.components, truth, strict=True)
        covered.append([c.low <= sd * MM_PER_THOU <= c.high for c, sd in sizes])
        alarms += bool(changes(jobs, found))
        jobs = made(seed, once=once, moved=10.0)
        seen += any(change.family == "R2" for change in changes(jobs, ledger(jobs)))
    took = (time.perf_counter() - start) / (2 * shops)
    shares = ", ".join(f"{100 * share:.1f} %" for share in np.mean(covered, axis=0))
    print(
        f"{'every piece once' if once else 'a few housings on many blocks'}: {shops} shops, {took:.2f} s each"
    )
    print(f"  effects of families held {100 * np.mean(held):.1f} %, components {shares}")
    print(
        f"  a batch 10 thou off found {100 * seen / shops:.1f} %, false alarms {100 * alarms / shops:.1f} %"
    )


if __name__ == "__main__":
    number = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    for each in (True, False):
        run(number, once=each)
