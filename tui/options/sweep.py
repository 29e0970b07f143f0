"""The options of `coaxly sweep`: ports, stations, and how the indicator sits."""

import argparse
from collections.abc import Callable
from typing import Any

from .jobs import add_shop
from .values import angle, length, lengths, limit, not_negative, positive


def add_sweep(commands: Any, output: Callable[..., None]) -> None:
    """The command and its options; `output` adds those that every command has."""
    command = commands.add_parser("sweep", help="sweep a housing with an indicator on a serial port")
    command.add_argument("--port", metavar="PORT", help="device or pyserial URL of the indicator")
    command.add_argument("--profile", default="stream-decimal", help="how it talks: a name or a TOML file")
    command.add_argument("--unit", choices=("mm", "in", "thou", "um"),
                         help="of the dial, if not the profile's; thou, um: of typed numbers")  # fmt: skip
    command.add_argument("--csv", metavar="FILE", help="an old paper: a table with columns angle, reading "
                         "and perhaps unit (or reading_thou ...) instead of a dial")  # fmt: skip
    command.add_argument("--unit-sure", action="store_true", default=None,
                         help="the unit was tried with a gauge: a small swing is no doubt of it")  # fmt: skip
    command.add_argument("--angle", choices=("entered", "combined", "encoder"), default="entered")
    command.add_argument("--encoder", metavar="PORT", help="port of the encoder, with --angle encoder")
    command.add_argument("--encoder-profile", default="encoder-degrees")
    for option, text in (
        ("counts-per-turn", "of an encoder that sends counts, not degrees"),
        ("ratio", "crank turns for one turn of the encoder (friction wheel)"),
    ):
        command.add_argument(f"--{option}", type=positive, metavar="N", help=text)
    command.add_argument(
        "--wrap", type=not_negative, metavar="N", help="where its counter starts anew (counts; 0: never)"
    )
    command.add_argument("--direction", type=int, choices=(1, -1), help="-1: it counts against the crank")
    command.add_argument(
        "--opposite", metavar="PORT", help="second indicator, half a turn away: cancels end float of a face"
    )
    command.add_argument("--stations", type=int, default=8, metavar="N", help="how many (default 8)")
    command.add_argument("--no-closing", action="store_true", help="do not end at the first station again")
    command.add_argument("--auto", action="store_true", help="take each station when the dial is steady")
    command.add_argument("--out", metavar="FILE", help="recording to write (default: by job and stage)")
    command.add_argument("--resume", metavar="FILE", help="go on with a recording that was broken off")
    command.add_argument(
        "--job", default="", help="a job of the shop, which then takes the recording; else a name, kept in it"
    )
    add_shop(command)
    command.add_argument("--stage", default="found", help="found, left, or a word of yours")
    command.add_argument("--operator", default="")
    command.add_argument("--voice", action="store_true", default=None,
                         help="speak instructions and verdict through the system's voice")  # fmt: skip
    _rig(command.add_argument_group("how the indicator sits"))
    output(command, live=True)


def add_rig(command: Any) -> None:
    """Which rig."""
    command.add_argument("--rig", metavar="NAME", help="the dial and its mount, as measured before by "
                         "--feature sag and steps: a name, or a .toml file")  # fmt: skip


def _rig(rig: argparse._ArgumentGroup) -> None:
    features = ("bore", "face", "pilot", "flywheel", "sag", "steps")
    rig.add_argument("--feature", choices=features, default="bore",
                     help="housing's bore or face; pilot bore or flywheel face, which turn under a dial on "
                     "the block; the arm's sag on a bar; the dial on gauge steps (bore)")  # fmt: skip
    add_rig(rig)
    rig.add_argument("--surface", choices=("inside", "outside"), default="inside")
    rig.add_argument("--polarity", type=int, choices=(1, -1), default=1, help="-1: falls when pushed in")
    rig.add_argument("--view", choices=("rear", "front"), default="rear", help="where angles are read from")
    rig.add_argument("--sense", choices=("cw", "ccw"), default="cw", help="which way they count")
    rig.add_argument("--zero", type=angle, default=0.0, metavar="DEG", help="where the scale's 0 is")
    rig.add_argument("--crank", choices=("level", "upright"), default="level", help="engine on end: upright")
    rig.add_argument("--tip-angle", type=angle, default=0.0, metavar="DEG", help="of a lever indicator")
    for option, text in (
        ("sag", "droop of the arm, from a sag sweep"),
        ("bearing-clearance", "of the main bearings, by lifting the crank"),
        ("radius", "of the bore"),
        ("tip-radius", "of the indicator's ball tip"),
        ("face-radius", "at which the dial runs on a face"),
        ("resolution", "smallest step of the indicator"),
        ("mpe", "maximum permissible error of the indicator"),
        ("steady", "band within which the dial counts as steady"),
        ("hysteresis", "the most by which the dial reads differently in and out (0.1thou)"),
        ("wander", "by how much it may drift unseen in a sweep, as a standard deviation (0.1thou)"),
        ("steps-error", "permissible error of a gauge step (0.05thou)"),
        ("repeatability", "standard deviation of x or y between your whole sweeps, from a study"),
    ):
        rig.add_argument(f"--{option}", type=length, metavar="LENGTH", help=text)
    for option, text in (
        ("zero-sd", "how well 12 o'clock is known, as a standard deviation (1; 0: measured)"),
        ("lost-motion", "the most by which the angle lags behind the crank (0)"),
        ("engine-tilt", "how far the engine's own 12 o'clock leans from plumb, clockwise from behind"),
    ):
        rig.add_argument(f"--{option}", type=angle, metavar="DEG", help=text)
    rig.add_argument(
        "--limit", type=limit, metavar="LENGTH", help="permitted run-out (TIR), or sae00 ... sae3 (5thou)"
    )
    for option, text in (
        ("dwell", "how long a station is read (0.5 s)"),
        ("delay", "how late the dial is, where the crank does not stop"),
        ("delay-sd", "how well that is known, as a standard deviation (a tenth of it)"),
    ):
        rig.add_argument(f"--{option}", type=positive, metavar="S", help=text)
    rig.add_argument("--steps", type=lengths, metavar="LENGTHS", help="gauge steps: 0mm,0.25mm,0.5mm,1mm")
    rig.add_argument("--rounds", type=int, default=2, metavar="N", help="times up and down the steps (2)")
