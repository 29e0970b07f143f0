"""The options of `coaxly print`."""

import argparse

from ..job.folder.details import Details
from .keys import add_keys, kit, length, lengths, setting
from .shown import add_shop, output


def add_print(command: argparse.ArgumentParser) -> None:
    """`coaxly print`."""
    whats = command.add_subparsers(dest="what", metavar="WHAT", required=True)

    def add(name: str, said: str) -> argparse.ArgumentParser:
        one: argparse.ArgumentParser = whats.add_parser(name, help=said, description=said)
        one.add_argument(
            "-o", "--out", metavar="FILE", help="FILE.pdf, or FILE.svg (a file a page); not over another"
        )
        one.add_argument("--paper", choices=("a4", "letter"), help="(default: the setting 'paper', else a4)")
        add_shop(one)
        output(one)
        return one

    _wheel(add("wheel", "a degree wheel for flywheel or damper"))
    _card(add("card", "a ring for each dowel, with the place of its mark from the line through the holes"))
    _shims(add("shims", "the shims under each bolt, seen from behind, and tags to cut out"))


def _wheel(wheel: argparse.ArgumentParser) -> None:
    wheel.add_argument(
        "--diameter", type=lengths, required=True, metavar="LENGTHS", help="of its edge; several: 6in,8in"
    )
    wheel.add_argument(
        "--hole", type=length, metavar="LENGTH", help="to be cut out in its middle, in diameter"
    )
    wheel.add_argument(
        "--view", choices=("rear", "front"), default="rear", help="the end it is read from (rear)"
    )
    wheel.add_argument(
        "--fixed", action="store_true", help="it stands, a mark goes round; else it turns under a pointer"
    )
    wheel.add_argument("--stations", type=int, default=8, metavar="N", help="places to be marked (8)")


def _card(card: argparse.ArgumentParser) -> None:
    card.add_argument(
        "job", metavar="JOB", nargs="?", help="takes what was chosen or fitted, kit and holes from it"
    )
    card.add_argument(
        "--fitted", type=setting, metavar="DOWELS", help="else: 5thou@165, or 10thou@28,5thou@70"
    )
    add_keys(card, Details, "dowels")
    card.add_argument("--kit", type=kit, metavar="FILE", help="a kit that says pin and mark")
    card.add_argument(
        "--pin", type=length, metavar="LENGTH", help="diameter of the dowel, where no kit says it"
    )


def _shims(shims: argparse.ArgumentParser) -> None:
    shims.add_argument("file", metavar="FILE|JOB", help="recording of the face, or a job")
    add_keys(shims, Details, "bolts", "shims", "face-radius")
