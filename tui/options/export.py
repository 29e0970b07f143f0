"""The options of `coaxly export`."""

import argparse

from .shown import add_shop, output
from .values import named


def add_export(command: argparse.ArgumentParser) -> None:
    """`coaxly export`."""
    command.description = f"{command.description}; lengths in mm"
    command.add_argument(
        "file", metavar="FILE|JOB", type=named, help="recording, or a job: all sweeps of its journal"
    )
    command.add_argument(
        "-o", "--out", metavar="FILE", required=True, help="x.csv, x.parquet (needs 'coaxly[table]'), or - "
        "for CSV on standard output; not over another",
    )  # fmt: skip
    command.add_argument("--what", choices=("stations", "readings"), default="stations",
                         help="a row each (default stations)")  # fmt: skip
    add_shop(command)
    command.add_argument(
        "--anyway", action="store_true", help="also what is not as it was recorded; the doubt is still said"
    )
    output(command, units=False)
