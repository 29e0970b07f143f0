"""The options of `coaxly sweep`: ports, stations, and how the indicator sits."""

import argparse
from collections.abc import Callable
from typing import Any

from coaxly.fitter import Setup

from ..entry.rigging import Rigging
from .jobs import add_shop
from .keys import add_keys
from .values import direction, length


def add_sweep(commands: Any, output: Callable[..., None]) -> None:
    """The command and its options; `output` adds those that every command has."""
    text = "sweep a housing with an indicator on a serial port"
    command = commands.add_parser("sweep", help=text, description=text)
    command.add_argument("--csv", metavar="FILE", help="an old paper: a table with columns angle, reading "
                         "and perhaps unit (or reading_thou ...) instead of a dial")  # fmt: skip
    add_two_numbers(command)
    command.add_argument("-o", "--out", metavar="FILE", help="recording to write (default: by job and stage)")
    command.add_argument("--resume", metavar="FILE", help="go on with a recording that was broken off")
    command.add_argument(
        "--job", default="", help="a job of the shop, which then takes the recording; else a name, kept in it"
    )
    add_shop(command)
    command.add_argument("--stage", default="found", help="found, left, or a word of yours (default: found)")
    command.add_argument("--operator", default="", help="who sweeps (default: the job's technician)")
    command.add_argument("--voice", action="store_true", default=None,
                         help="speak instructions and verdict through the system's voice")  # fmt: skip
    command.add_argument("--rounds", type=int, default=2, metavar="N",
                         help="with --feature steps: times up and down (default: 2)")  # fmt: skip
    add_keys(command, Rigging)
    add_keys(command, Setup)
    output(command, live=True)


def add_two_numbers(command: Any) -> None:
    """What a plain dial said, in place of a sweep."""
    group = command.add_argument_group("from two numbers, in place of a dial on a serial port")
    group.add_argument("--tir", type=length, metavar="LENGTH", help="largest less smallest reading: 9thou")
    group.add_argument("--high", type=direction, metavar="PLACE", help="where the dial read highest, "
                       "from behind: 3:40, or degrees from 12")  # fmt: skip


def add_rig(command: argparse.ArgumentParser) -> None:
    """Which rig."""
    add_keys(command, Rigging, "rig")
