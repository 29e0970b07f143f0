"""Streaming least squares: time a row against general-purpose peers, in one run.

    python tests/bench/leastsquares.py

Peers: numpy.linalg.lstsq over everything so far (n = 10,000), and statsmodels RecursiveLS (batch). The
ratios are what to trust; absolute times are this machine's.
"""

import time

import numpy as np
import statsmodels.api as sm

from fitter.basis import harmonic_rows
from fitter.leastsquares import LeastSquares

N = 10_000


def seconds(action, repeat=3):
    """Best of a few runs."""
    best = float("inf")
    for _ in range(repeat):
        start = time.perf_counter()
        action()
        best = min(best, time.perf_counter() - start)
    return best


def main() -> None:
    """Print the table."""
    rng = np.random.default_rng(1)
    print(
        f"{'p':>2} {'update':>9} {'+ solve':>9} {'lstsq all':>10} {'RecursiveLS':>12}   us a row; ratios to update+solve"
    )
    for harmonics in (1, 2, 4, 6):
        X = harmonic_rows(rng.uniform(0, 360, N), harmonics)
        y = X.sum(axis=1) + rng.normal(size=N)
        rows = np.column_stack([X, y, np.ones(N)]).tolist()
        p = X.shape[1]

        def update(p=p, rows=rows):
            LeastSquares(p).add_rows(rows)

        def update_and_solve(p=p, rows=rows):
            factor = LeastSquares(p)
            factor.add_rows(rows[:p])
            for row in rows[p:2000]:
                factor.add_rows([row])
                factor.solve()

        ours = 1e6 * seconds(update) / N
        solved = 1e6 * seconds(update_and_solve) / 2000
        batch = 1e6 * seconds(lambda X=X, y=y: np.linalg.lstsq(X, y, rcond=None))
        peer = 1e6 * seconds(lambda X=X, y=y: sm.RecursiveLS(y[:2000], X[:2000]).fit(), 1) / 2000
        print(
            f"{p:>2} {ours:>9.2f} {solved:>9.2f} {batch:>10.1f} {peer:>12.1f}   "
            f"lstsq {batch / solved:.0f}x, RecursiveLS {peer / solved:.1f}x"
        )


if __name__ == "__main__":
    main()
