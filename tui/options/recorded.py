"""The options of commands that look at recordings."""

import argparse

from coaxly.fitter import Setup

from .keys import add_keys
from .shop import add_fleet
from .shown import add_shop, anyway, output
from .sweep import add_rig
from .values import named, positive


def add_replay(command: argparse.ArgumentParser) -> None:
    """`coaxly replay`."""
    command.add_argument(
        "files",
        metavar="FILE",
        type=named,
        nargs="+",
        help="recording; several of one housing give one result",
    )
    command.add_argument("--screen", action="store_true", help="watch it on the screen")
    add_shop(command)
    add_rig(command)
    command.add_argument("--speed", type=positive, metavar="X", help="with --screen: times as fast as life")
    add_keys(command, Setup, "limit")
    anyway(command)
    output(command)


def add_audit(command: argparse.ArgumentParser) -> None:
    """`coaxly audit`."""
    command.add_argument("paths", metavar="PATH", nargs="+", help="recordings, or folders of them")
    command.add_argument(
        "--allow-unsealed", action="store_true", help="no seals, or no end yet, are no finding (exit code 0)"
    )
    command.add_argument(
        "--signed", action="store_true", help="what no known key has signed is a finding (exit code 1)"
    )
    add_fleet(command)
    output(command, units=False)


def add_export(command: argparse.ArgumentParser) -> None:
    """`coaxly export`."""
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
