"""How often a study's intervals hold the truth.

    PYTHONPATH=tests/helpers nice -n 15 .venv/bin/python tests/bench/study.py [STUDIES]

Vectors of made studies: two housings, people who each mount the dial twice and sweep three times; with all
causes, with people who are all alike, with mountings that are all alike, and with a third of the sweeps
missing. Where there is no such scatter, the interval must reach down to nothing.
"""

import sys
import time

import numpy as np

from coaxly.fitter.shop.study import Repeat, study

TRUE = {"people": 0.2, "mountings": 0.3, "residual": 0.1}
CASES = {
    "all causes": ({}, 5, 0.0),
    "people alike": ({"people": 0.0}, 5, 0.0),
    "mountings alike": ({"mountings": 0.0}, 5, 0.0),
    "three people": ({}, 3, 0.0),
    "a third missing": ({}, 5, 1.0 / 3.0),
}


def made(seed: int, sizes: dict[str, float], people: int, missing: float) -> list[Repeat]:
    """The sweeps of one study."""
    rng = np.random.default_rng(seed)
    minds = rng.normal(size=(people, 2)) * sizes["people"]
    listed = []
    for house in range(2):
        for person in range(people):
            for mounting in range(2):
                put = minds[person] + rng.normal(size=2) * sizes["mountings"]
                for k in range(3):
                    x, y = (put + rng.normal(size=2) * sizes["residual"]).tolist()
                    if rng.random() >= missing:
                        name = f"{house}{person}{mounting}{k}"
                        listed.append(Repeat(f"{house}", f"{person}", f"{mounting}", (x, y), name=name))
    return listed


def run(studies: int) -> None:
    """Print the table."""
    for name, (other, people, missing) in CASES.items():
        sizes, start = {**TRUE, **other}, time.process_time()
        held: dict[str, list[bool]] = {key: [] for key in sizes}
        named = 0
        for seed in range(studies):
            found = study(made(seed, sizes, people, missing))
            for one in found.components:
                held[one.name].append(one.low <= sizes[one.name] <= one.high)
            named += found.worst is not None
        shares = ", ".join(f"{key} {100 * np.mean(each):.1f} %" for key, each in held.items())
        took = (time.process_time() - start) / studies
        print(
            f"{name}: intervals hold {shares}; a sweep accused {100 * named / studies:.1f} %; {took:.3f} s",
            flush=True,
        )


if __name__ == "__main__":
    run(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
