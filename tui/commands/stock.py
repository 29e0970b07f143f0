"""`coaxly stock`: which dowel sizes to keep, and how many of each."""

import argparse
from collections.abc import Sequence
from dataclasses import asdict, replace
from itertools import pairwise

from coaxly.fitter.dowels.kit import OFFSET_SD_MM
from coaxly.fitter.dowels.limits import Limit
from coaxly.fitter.geometry import matrix_of, vector_of
from coaxly.fitter.shop.keeping import keep_of_pairs
from coaxly.fitter.shop.parallelstock import Choice, Kept, Population, Stock, Work, to_keep
from coaxly.fitter.shop.splitstock import MixedChoice, MixedStock
from coaxly.fitter.units import MM_PER_THOU

from .. import output
from ..errors import FINE, UsageError
from ..plain.shopjobs import shop_found, taken_apart
from ..say.shop.stockwords import Asked, stock_lines

_FINE = [0.5 * k * MM_PER_THOU for k in range(1, 41)]
_COARSE = [k * MM_PER_THOU for k in range(1, 21)]
"""Sizes to choose from, where nobody says: every half thou for pairs alike, every thou for unlike ones, which
are simulated size by size."""

_USUAL_SIZES = 4


_Answer = tuple[list[Choice], list[MixedChoice], list[Kept], int]
"""The curves of pairs alike and unlike, what to keep, and of how many sizes."""


def run(arguments: argparse.Namespace) -> int:
    """Print the best sets of 1 to N sizes, and the dowels to keep."""
    if arguments.pair == "any" and arguments.dowels is None:
        raise UsageError('--pair any needs the holes, from behind: --dowels "-5.5in,-1in 5.5in,-1in"')
    population, measuring, jobs = _population(arguments)
    limit: Limit | None = arguments.limit
    work = Work(
        limit=limit.tir if limit is not None else 5.0 * MM_PER_THOU,
        size_sd=arguments.kit.offset_sd if arguments.kit is not None else OFFSET_SD_MM,
        measuring_sd=measuring,
        way=arguments.setting,
        pins=arguments.dowels,
        clearance=arguments.hole_clearance if arguments.hole_clearance is not None else MM_PER_THOU,
    )
    try:
        with output.busy("trying sizes"):
            curve, mixed, keep, sizes = _answered(arguments, population, work)
    except ValueError as error:
        raise UsageError(str(error)) from error
    plain = {"curve": _plain(curve), "keep": _plain(keep), "sizes": sizes}
    unlike = _plain(mixed) if mixed else None
    asked = Asked(arguments.engines, arguments.risk, work, jobs, sizes)
    lines = stock_lines(curve, mixed, keep, asked, arguments.unit_shown)
    output.answer({**plain, "unlike": unlike, "jobs": jobs}, lines, as_json=arguments.json)
    return FINE


def _answered(arguments: argparse.Namespace, population: Population, work: Work) -> _Answer:
    """The curves, and what to keep: of so many sizes as were asked for, else while one more still helps."""
    kit = sorted({size.offset for size in arguments.kit.sizes}) if arguments.kit is not None else None
    most = arguments.sizes
    if most is None:
        most = min(_USUAL_SIZES, len(kit) if kit else _USUAL_SIZES)
    curve = Stock(population, work, kit or _FINE).curve(most)
    mixed = MixedStock(population, work, kit or _COARSE).curve(most) if arguments.pair == "any" else []
    shares = [choice.inside for choice in mixed or curve]
    sizes = most if arguments.sizes is not None else enough(shares)
    if mixed:
        keep = keep_of_pairs(mixed[sizes - 1].pairs, arguments.engines, arguments.risk)
    else:
        keep = to_keep(curve[sizes - 1], arguments.engines, arguments.risk)
    return curve, mixed, keep, sizes


def enough(shares: Sequence[float], worth: float = 0.01) -> int:
    """How many sizes to keep, where 1, 2 ... leave these shares inside: until one more gains less."""
    gains = (after - before < worth for before, after in pairwise(shares))
    return next((k for k, small in enumerate(gains, 1) if small), len(shares))


def _plain(many: Sequence[Choice | MixedChoice | Kept]) -> list[dict[str, object]]:
    return [asdict(one) for one in many]


def _population(arguments: argparse.Namespace) -> tuple[Population, float, int]:
    """Engines to come, what measuring one scatters (mm), and the number of jobs they are judged by."""
    if arguments.population is not None:
        if arguments.csv is not None or arguments.jobs:
            raise UsageError("give --population or jobs that were found (--csv FILE, --jobs), not both")
        if arguments.population <= 0.0:
            raise UsageError("--population must be more than nothing")
        return Population.scattered(arguments.population), 0.0, 0
    found = taken_apart(arguments, shop_found(arguments))
    mean, covariance = found.population()
    population = Population(vector_of(mean), matrix_of(covariance))
    freedom = found.fitted.freedom_of(range(len(found.fitted.sds)))
    return replace(population, freedom=max(freedom, 3.0)), found.measuring, found.jobs
