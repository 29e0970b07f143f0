"""Do as many engines end inside as `stock` says? Engines of a population, measured, planned by the planner from the
sizes that are kept, set by people, and judged as rigid housings on round pins (tests/bench/planner.py).

    PYTHONPATH=tests/helpers nice -n 15 .venv/bin/python tests/bench/stock.py [ENGINES]

x and y scatter by 5 thou; limit 5 thou TIR; holes 11 in apart with 1 thou of clearance; 5 degrees, 0.3 thou.
"""

import sys

import numpy as np
from bench.planner import CLEARANCE, LIMIT, OFFSET_SD, PINS, _measured, _set

from coaxly.fitter.dowels.kit import Kit
from coaxly.fitter.dowels.plan import Workshop, plan
from coaxly.fitter.shop.parallelstock import Population, Stock, Work
from coaxly.fitter.shop.splitstock import MixedStock
from coaxly.fitter.units import MM_PER_THOU as THOU

SETS = ((5,), (8,), (5, 10), (8, 15))
SCATTER = 5.0 * THOU
MEASURING = 0.4 * THOU * np.sqrt(2.0 / 8.0)


def kept(rng, centre, sizes, pair, way) -> bool:
    """Whether one engine went on and ended inside."""
    _, _, measured = _measured(rng, centre)
    shop = Workshop(Kit.of(sizes), PINS, clearance=CLEARANCE, way=way, pair=pair)
    best = max(plan(measured, shop), key=lambda option: option.probability)
    offsets, degrees = [d.offset for d in best.dowels], [d.deg for d in best.dowels]
    return _set(rng, centre, offsets, degrees, way, 5.0) <= LIMIT / THOU


def main(engines: int) -> None:
    population = Population.scattered(SCATTER)
    print(f"{'':<28}{'said':>8}{'kept':>8}   of {engines}")
    for way in ("tight", "free"):
        work = Work(LIMIT, size_sd=OFFSET_SD, measuring_sd=MEASURING, way=way, pins=PINS, clearance=CLEARANCE)
        for thou in SETS:
            sizes = [size * THOU for size in thou]
            said = {"parallel": Stock(population, work, sizes).of(sizes).inside,
                    "any": MixedStock(population, work, sizes, 1024).curve(len(sizes))[-1].inside}  # fmt: skip
            for pair, share in said.items():
                rng = np.random.default_rng(7)
                ended = [kept(rng, rng.normal(size=2) * SCATTER, sizes, pair, way) for _ in range(engines)]
                print(
                    f"{way:<6}{pair:<10}{thou!s:<12}{100 * share:8.1f}{100 * np.mean(ended):8.1f}",
                    flush=True,
                )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
