"""Streaming least squares: CPU time a row against general-purpose peers, in one run.

    python tests/bench/leastsquares.py

Peers: padasip's FilterRLS (recursive least squares, one sample at a time), statsmodels RecursiveLS
(a batch), numpy.linalg.lstsq over everything so far (n = 10,000), one thread each. Medians of 9 turns; the
ratios are what to trust, absolute times are this machine's.
"""

import numpy as np
from peers import begin, peer, rounds

from coaxly.fitter.numeric.basis import harmonic_rows
from coaxly.fitter.numeric.leastsquares import LeastSquares

N = 10_000
ROWS = 1_000


def streamed(rows, p, *, solved=False):
    """Absorb the rows one by one, with the solution after each."""
    factor = LeastSquares(p)
    for row in rows[:p]:
        factor.absorb(row)
    absorb, ask = factor.absorb, factor.solution if solved else lambda: None
    for row in rows[p:]:
        absorb(row)
        ask()


def padasip_adapts(X, y, padasip):
    """The same by recursive least squares, whose every step holds a solution and an inverse."""
    rls = padasip.filters.FilterRLS(X.shape[1], mu=0.9999)
    for x, target in zip(X, y.tolist(), strict=True):
        rls.adapt(target, x)


def main() -> None:
    """Print the table."""
    begin()
    padasip, statsmodels = peer("padasip"), peer("statsmodels.api")
    rng = np.random.default_rng(1)
    print(f"{'p':>2} {'update':>7} {'+ solution':>10} {'padasip':>8} {'RecursiveLS':>11} {'lstsq':>7}"
          "   us a row; ratios to +solution: padasip, RecursiveLS, lstsq")  # fmt: skip
    for harmonics in (1, 2, 4, 6):
        X = harmonic_rows(rng.uniform(0, 360, N), harmonics)
        y = X.sum(axis=1) + rng.normal(size=N)
        p, few = X.shape[1], (X[:ROWS], y[:ROWS])
        rows = np.column_stack(few).tolist()
        spent = rounds(
            {
                "update": lambda p=p, rows=rows: streamed(rows, p),
                "solution": lambda p=p, rows=rows: streamed(rows, p, solved=True),
                "padasip": lambda few=few: padasip_adapts(*few, padasip),
                "recursive": lambda few=few: statsmodels.RecursiveLS(few[1], few[0]).fit(),
                "lstsq": lambda X=X, y=y: np.linalg.lstsq(X, y, rcond=None),
            }
        )
        us = {name: 1e6 * t / (1 if name == "lstsq" else ROWS) for name, t in spent.items()}
        print(
            f"{p:>2} {us['update']:>7.2f} {us['solution']:>10.2f} {us['padasip']:>8.2f} "
            f"{us['recursive']:>11.1f} {us['lstsq']:>7.0f}   {us['padasip'] / us['solution']:.1f}x "
            f"{us['recursive'] / us['solution']:.1f}x "
            f"{us['lstsq'] / us['solution']:.0f}x"
        )


if __name__ == "__main__":
    main()
