"""The options of commands that sweep: ports, stations, and how the indicator sits."""

import argparse

from coaxly.fitter import Setup

from ..entry.rigging import Rigging
from .keys import add_keys, direction, length, tolerance
from .shown import add_shop, anyway, output
from .values import positive


def add_sweep(command: argparse.ArgumentParser) -> None:
    """`coaxly sweep`."""
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


def add_two_numbers(command: argparse.ArgumentParser) -> None:
    """What a plain dial said, in place of a sweep."""
    group = command.add_argument_group("from two numbers, in place of a dial on a serial port")
    group.add_argument("--tir", type=length, metavar="LENGTH",
                       help="largest less smallest reading: 9thou")  # fmt: skip
    group.add_argument("--high", type=direction, metavar="PLACE", help="where the dial read highest, "
                       "from behind: 3:40, or degrees from 12: 110deg")  # fmt: skip


def add_nudge(command: argparse.ArgumentParser) -> None:
    """`coaxly nudge`."""
    command.add_argument(
        "file", metavar="FILE|JOB", nargs="?", help="its last sweep, or a job, which knows it"
    )
    add_shop(command)
    add_keys(command, Rigging, "port", "profile", "unit")
    command.add_argument("--second", metavar="PORT", help="a second one, a quarter turn on (clockwise from "
                         "behind): the crank stays parked")  # fmt: skip
    command.add_argument(
        "--tolerance",
        type=tolerance,
        metavar="LENGTH",
        help="within which it says STOP (0.2thou)",
    )
    command.add_argument("--operator", default="", help="who taps (default: the job's technician)")
    command.add_argument(
        "--engine", type=int, metavar="N", help="no hardware: tap the built-in engine of this number"
    )
    command.add_argument("--speed", type=positive, metavar="X", help="with --engine: times as fast as life")
    anyway(command)
    output(command, live=True)


def add_demo(command: argparse.ArgumentParser) -> None:
    """`coaxly demo`."""
    command.add_argument("--engine", type=int, default=1, metavar="N",
                         help="which invented engine (default 1)")  # fmt: skip
    command.add_argument(
        "--speed", type=positive, metavar="X", help="times as fast as life (1 on a screen, 20 without)"
    )
    command.add_argument(
        "--keep", metavar="DIR", help="folder for its shop, to look around in; must be empty"
    )
    output(command, live=True)


def add_rig(command: argparse.ArgumentParser) -> None:
    """Which rig."""
    add_keys(command, Rigging, "rig")
