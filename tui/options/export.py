"""The options of `coaxly export`. Nothing heavy is imported here: `--help` must answer at once."""

from collections.abc import Callable
from typing import Any

from .jobs import add_shop
from .values import named


def add_export(commands: Any, output: Callable[..., None]) -> None:
    """`coaxly export`. output: adds the options of what is printed."""
    text = "stations or single readings as a table: CSV, or Parquet"
    command = commands.add_parser("export", help=text, description=f"{text}; lengths in mm")
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
    output(command, live=False, units=False)
