"""How true the ledger is in small shops of 5 to 20 jobs, in which nothing is planted.

    nice .venv/bin/python tests/bench/smallshops.py [SHOPS]

Two housing families (three from 12 jobs on), blocks that scatter .5 to 6 thou and housings .2 to 4, sweeps of
.2 to .6 thou; every piece met once, or two housings of a family on many blocks. For each size: how often the
95 % region of a family's effect holds it, how often a piece is called odd, and how often with a chance below
a thousandth, which no more than one shop in a thousand should see.
"""

import sys

import numpy as np

from coaxly.fitter.numeric.quantiles import plane_factor
from coaxly.fitter.shop.ledger import Found, ledger
from coaxly.fitter.units import MM_PER_THOU

SIZES = (5, 6, 7, 9, 12, 20)


def made(rng: np.random.Generator, jobs: int, *, once: bool) -> tuple[list[Found], dict[str, np.ndarray]]:
    """A shop and its housing families' true effects, mm."""
    names = [f"R{k}" for k in range(2 if jobs < 12 else 3)]
    effects = {name: rng.normal(size=2) * 3.0 for name in names}
    block, housing = np.exp(rng.uniform(np.log([0.5, 0.2]), np.log([6.0, 4.0])))
    noise = rng.uniform(0.2, 0.6)
    own: dict[tuple[str, int], np.ndarray] = {}
    listed = []
    for k in range(jobs):
        family = names[k % len(names)]
        number = k if once else int(rng.integers(2))
        mine = own.setdefault((family, number), rng.normal(size=2) * housing)
        v = effects[family] + mine + rng.normal(size=2) * block + rng.normal(size=2) * noise
        x, y = (v * MM_PER_THOU).tolist()
        u2 = (noise * MM_PER_THOU) ** 2
        listed.append(Found("K", f"b{k}", family, f"h{number}", (x, y), ((u2, 0.0), (0.0, u2)), float(k)))
    middle = np.mean(list(effects.values()), axis=0)
    return listed, {name: (effect - middle) * MM_PER_THOU for name, effect in effects.items()}


def one(jobs: int, seed: int, *, once: bool) -> tuple[bool, bool, bool]:
    """One shop: whether the region holds, a piece is called odd, and with a chance below a thousandth."""
    listed, truth = made(np.random.default_rng([seed, jobs, once]), jobs, once=once)
    found = ledger(listed)
    family = next(each for each in found.families if each.side == "housing")
    assert family.effect is not None and family.covariance is not None and family.freedom is not None
    off = np.array(family.effect) - truth[family.name]
    far = float(off @ np.linalg.solve(np.array(family.covariance), off))
    held = far <= plane_factor(0.95, family.freedom) ** 2
    return held, bool(found.odd), any(odd.chance < 1e-3 for odd in found.odd)


if __name__ == "__main__":
    number = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    for once in (True, False):
        for jobs in SIZES:
            held, named, surely = np.mean([one(jobs, seed, once=once) for seed in range(number)], axis=0)
            print(
                f"{jobs:3d} jobs, {'every piece once' if once else 'two housings a family'}: effects held "
                f"{100 * held:.1f} %, odd piece named {100 * named:.1f} %, below .1 % {100 * surely:.2f} %",
                flush=True,
            )
