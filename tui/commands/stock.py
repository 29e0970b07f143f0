"""`coaxly stock --sizes N`: which dowel sizes to keep, and how many of each."""

import argparse
from dataclasses import asdict

from fitter.dowels.limits import Limit
from fitter.shop.stock import Population, Stock, Work, to_keep
from fitter.units import MM_PER_THOU

from .. import output
from ..errors import FINE, UsageError
from ..say.shop import stock_lines
from .shopjobs import shop_found, taken_apart

_OFFERED = [0.5 * k * MM_PER_THOU for k in range(1, 41)]


def run(arguments: argparse.Namespace) -> int:
    """Print the best sets of 1 to N sizes, and the dowels to keep of the last."""
    population = _population(arguments)
    limit: Limit | None = arguments.limit
    work = Work(
        limit=limit.tir if limit is not None else 5.0 * MM_PER_THOU,
        way=arguments.setting,
        pins=arguments.dowels,
        clearance=arguments.hole_clearance if arguments.hole_clearance is not None else MM_PER_THOU,
    )
    offered = [size.offset for size in arguments.kit.sizes] if arguments.kit is not None else _OFFERED
    try:
        curve = Stock(population, work, offered).curve(arguments.sizes)
        keep = to_keep(curve[-1], arguments.engines, arguments.risk / 100.0)
    except ValueError as error:
        raise UsageError(str(error)) from error
    if arguments.json:
        output.json_object(
            {"curve": [asdict(choice) for choice in curve], "keep": [asdict(one) for one in keep]}
        )
    else:
        output.text(stock_lines(curve, keep, (arguments.engines, arguments.risk), arguments.unit_shown))
    return FINE


def _population(arguments: argparse.Namespace) -> Population:
    if arguments.population is not None:
        if arguments.csv is not None or arguments.jobs:
            raise UsageError("give --population or jobs that were found (--csv FILE, --jobs), not both")
        if arguments.population <= 0.0:
            raise UsageError("--population must be more than nothing")
        return Population.scattered(arguments.population)
    found = taken_apart(arguments, shop_found(arguments))
    if len(found.groups) > 1:
        raise UsageError(
            f"the families fall into {len(found.groups)} groups that no job connects: "
            "give the jobs of one group, or --population"
        )
    mean, covariance = found.population()
    (xx, xy), (yx, yy) = covariance.tolist()
    return Population((float(mean[0]), float(mean[1])), ((xx, xy), (yx, yy)))
