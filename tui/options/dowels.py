"""The options of commands that choose dowels and shims, and prove them."""

import argparse
from typing import Any

from coaxly.fitter import Setup

from ..job.folder.details import Details
from .keys import add_keys, kits, setting, tolerance
from .shown import add_shop, anyway, output
from .sweep import add_rig, add_two_numbers
from .values import named, positive


def add_plan(command: argparse.ArgumentParser) -> None:
    """`coaxly plan`."""
    command.add_argument(
        "file", metavar="FILE|JOB", type=named, nargs="?",
        help="recording of the housing as found, or a job; none: from two numbers",
    )  # fmt: skip
    add_two_numbers(command)
    command.add_argument("--take", type=int, metavar="N", help="of a job: note that option N was chosen")
    add_shop(command)
    add_rig(command)
    _dowels(command)
    add_keys(command, Setup, "limit")
    face = command.add_argument_group("of a face")
    add_keys(face, Details, "bolts", "shims", "face-radius", "depth", "pilot", "register-clearance")
    face.add_argument("--bore", metavar="FILE", help="recording of the bore, for what the two do together")
    anyway(command)
    output(command)


def add_verify(command: argparse.ArgumentParser) -> None:
    """`coaxly verify`."""
    command.add_argument(
        "found", metavar="FOUND|JOB", type=named, help="recording before, or a job, which knows both"
    )
    command.add_argument("left", metavar="LEFT", type=named, nargs="?", help="recording after")
    add_shop(command)
    add_rig(command)
    _dowels(command)
    add_keys(command, Setup, "limit")
    anyway(command)
    output(command)


class _Together(argparse.Action):
    """An option that is given more than once: kits that are at hand together."""

    def __call__(
        self, parser: argparse.ArgumentParser, namespace: argparse.Namespace, values: Any, option: Any = None
    ) -> None:
        """Add one to those given before."""
        before = getattr(namespace, self.dest)
        setattr(namespace, self.dest, values if before is None else values.together([before, values]))


def _dowels(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--kit", type=kits, action=_Together, metavar="OFFSETS", help="5thou,10thou,15thou, or TOML files; "
        "given twice: both are at hand",
    )  # fmt: skip
    add_keys(command, Details, "hole", "dowels")
    command.add_argument(
        "--fitted",
        type=setting,
        metavar="DOWELS",
        help="now in place, from behind: 5thou@165, or 10thou@28,5thou@70; none",
    )
    command.add_argument("--pair", choices=("parallel", "split", "any"), help="any, if --dowels are given")
    command.add_argument(
        "--hole-clearance",
        type=tolerance,
        metavar="LENGTH",
        help="clearance of the holes: the bind that they allow (1thou)",
    )
    command.add_argument(
        "--setting",
        choices=("tight", "free"),
        help="tight: dowels stay where their marks were put; free: they are turned until the housing slides "
        "home, then locked (as the kit says, else tight)",
    )
    command.add_argument(
        "--rotation-limit", type=positive, metavar="DEG", help="how far the housing may turn (0.11)"
    )
