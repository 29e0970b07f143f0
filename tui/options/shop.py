"""The command line of what a shop learns."""

import argparse

from coaxly.fitter import Setup

from ..job.folder.details import Details
from .keys import add_keys, kit, length
from .shown import add_shop, output
from .values import rate, share


def add_study(command: argparse.ArgumentParser) -> None:
    """`coaxly study`."""
    command.add_argument(
        "files",
        metavar="FILE",
        nargs="*",
        help="recordings (their job, stage and operator count); a + between them: the dial was mounted anew",
    )
    command.add_argument("--job", metavar="JOB", nargs="+", default=[], help="all bore sweeps of these jobs")
    add_keys(command, Setup, "limit")
    command.add_argument(
        "--keep", action="store_true", help="count on it in the budgets of the shop's sweeps from now on"
    )
    add_shop(command)
    add_fleet(command)
    output(command)


def add_ledger(command: argparse.ArgumentParser) -> None:
    """`coaxly ledger`."""
    _found_jobs(command)
    command.add_argument("-o", "--out", metavar="FILE", help="page with pictures to write: .html or .pdf")
    add_fleet(command)
    output(command)


def _found_jobs(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--csv",
        metavar="FILE",
        help="jobs of a table in place of the shop's, one a line: block_family, housing_family, unit, and "
        "tir with high_deg or x, y; if known block, housing, u95, date, fitted_x, fitted_y, job",
    )
    command.add_argument("--jobs", action="store_true", help="beside --csv: the shop's jobs too")
    add_shop(command)


def add_fleet(command: argparse.ArgumentParser) -> None:
    """By whom many files are read."""
    command.add_argument(
        "--dask", metavar="ADDRESS", help="have the files read by a cluster, which sees them under the same "
        "names (tcp://host:8786; needs 'coaxly[fleet]'); one that you trust: it reads your files, what it "
        "answers is believed, and nothing on the way is signed",
    )  # fmt: skip


def add_stock(command: argparse.ArgumentParser) -> None:
    """`coaxly stock`."""
    command.add_argument("--sizes", type=int, metavar="N", help="how many (else while one more still helps)")
    command.add_argument("--pair", choices=("parallel", "any"), default="parallel",
                         help="any: the two dowels may be unlike; simulated, needs --dowels")  # fmt: skip
    _found_jobs(command)
    add_fleet(command)
    command.add_argument(
        "--population", type=length, metavar="LENGTH", help="or the standard deviation of x and of y as found"
    )
    add_keys(command, Setup, "limit")
    command.add_argument("--kit", type=kit, metavar="OFFSETS", help="sizes to choose from (0.5 to 20 thou)")
    add_keys(command, Details, "dowels")
    command.add_argument("--hole-clearance", type=length, metavar="LENGTH", help="bind they allow (1thou)")
    command.add_argument("--setting", choices=("tight", "free"), default="tight", help="as for plan (tight)")
    command.add_argument("--engines", type=rate, default=20.0, metavar="N", help="how many: 20/month, 5/week")
    command.add_argument(
        "--risk", type=share, default=0.05, metavar="R", help="of running out of any size: 5%%"
    )
    output(command)
