"""The bar that is promised for the next station, against the one that comes with it.

    python tests/bench/promised.py [--sweeps 100] [--only WORD]

Sweeps of the worlds of anysweep.py, one after another. For each kind and each number of stations: median half-width
of the run-out, thou, with so many; and the median of what came over what had been promised.
"""

import argparse

import numpy as np
from anysweep import KINDS, THOU, World

from coaxly.fitter import Fitter, Setup, TooFewStations
from coaxly.fitter.analysis import outlook


def come_and_promised(world):
    """Half-widths of the run-out, thou, with each number of stations: as it came, and as it was promised."""
    deg, value, found, promised = world.deg[0] % 360.0, world.values[0], {}, np.nan
    fitter = Fitter(Setup(resolution_mm=world.step))
    for k, (at, read) in enumerate(zip(deg, value, strict=True)):
        fitter.add_station(float(at), np.array([read]), np.array([4.0 * k]))
        try:
            now = outlook(fitter.setup, fitter.stations(), deg[k + 1 : k + 2])
        except TooFewStations:
            continue
        found[k + 1] = (2.0 * now.eccentricity.u95_amount / THOU, promised)
        promised = 2.0 * now.after[0] / THOU if now.after else np.nan
    return found


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sweeps", type=int, default=100)
    parser.add_argument("--only", default="8")
    arguments = parser.parse_args()
    print(f"{arguments.sweeps} sweeps each, seeds 0 to {arguments.sweeps - 1}")
    for kind in (each for each in KINDS if arguments.only in each.name and each.files == 1):
        found = [come_and_promised(World(kind, seed)) for seed in range(arguments.sweeps)]
        print(kind.name)
        for n in sorted(set().union(*found)):
            come, promised = np.array([each[n] for each in found if n in each]).T
            told = come[~np.isnan(promised)] / promised[~np.isnan(promised)]
            ratio = f"{np.median(told):6.2f}" if len(told) else ""
            print(f"{n:>4} stations {np.median(come):8.2f} {ratio}")


if __name__ == "__main__":
    main()
