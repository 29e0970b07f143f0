"""What `ledger`, `stock` and `study` share: the jobs of the shop and of a table, computed by many."""

import argparse
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from coaxly.fitter.shop.ledger import Ledger, ledger

from .. import output
from ..entry.foundlist import load_found
from ..errors import UsageError
from ..job.many.learned import OneShop, learned, one_shop
from ..job.many.parallel import each, seen_anywhere
from ..job.recorded.bore import Bore, bore_of, killed
from ..say.shop.ledgerwords import shop_lines
from .whichshop import shop_of, watched


def bores(arguments: argparse.Namespace) -> Callable[[Sequence[Path]], Iterator[Bore]]:
    """Reads many recordings: on every core, or by the cluster that was asked for."""

    def many(paths: Sequence[Path]) -> Iterator[Bore]:
        paths = seen_anywhere(paths, arguments.dask)
        return output.progress(each(bore_of, paths, killed, arguments.dask), len(paths), "reading")

    return many


def shop_found(arguments: argparse.Namespace) -> OneShop:
    """The jobs that were asked for: those of a table, of the shop, or both. Raises UsageError."""
    table = load_found(Path(arguments.csv)) if arguments.csv is not None else []
    shop = arguments.shop or arguments.bench_shop
    asked = arguments.jobs or shop is not None or arguments.csv is None
    if not asked:
        return one_shop([], table)
    shop = shop_of(arguments)
    found = one_shop(learned(shop, bores(arguments), watched), table)
    if not found.found:
        swept = f"none of its {len(found.left_out)} jobs can be counted" if found.left_out else "has no jobs"
        raise UsageError(
            f"the shop at {shop} {swept}: name another with --shop DIR, or a table with --csv FILE"
        )
    return found


def taken_apart(arguments: argparse.Namespace, found: OneShop) -> Ledger:
    """The ledger of some jobs. Raises UsageError where they are too few."""
    try:
        with output.busy("taking the jobs apart"):
            return ledger(found.found)
    except ValueError as error:
        left_out = "; ".join(line.strip(" !") for line in shop_lines(found) if "Not counted" in line)
        why = f". {left_out}" if left_out else ""
        raise UsageError(f"{arguments.csv or shop_of(arguments)}: {error}{why}") from error
