"""What each command gives, in a sentence, and one example of it; and which options are for every day."""

import argparse
import textwrap
from collections.abc import Mapping
from typing import Any, Final

TELLS: Final[Mapping[str, tuple[str, str]]] = {
    "demo": (
        "You see the whole job on the built-in engine: sweep, dowels, sweep again, verdict, report.",
        "demo --engine 3",
    ),
    "sweep": (
        "You turn the crank, the dial is read at each place, and you get run-out, direction and verdict. The "
        "recording stays.",
        "sweep --port /dev/ttyUSB0 --unit in --job van",
    ),
    "replay": (
        "You get the result of a recording again; of several of one housing a surer one.",
        "replay recordings/launch-found.jsonl",
    ),
    "audit": (
        "You learn of each recording whether it is what it was, and whether it gives the same result.",
        "audit recordings",
    ),
    "plan": (
        "You get the pairs of dowels to choose from, best first, and how that is set; of a face, the shims.",
        "plan recordings/launch-found.jsonl --kit 5thou,10thou --limit 5thou",
    ),
    "verify": (
        "You learn whether the dowels did what was planned, and if not, what was done and what cures it.",
        "verify recordings/launch-found.jsonl recordings/launch-left.jsonl --fitted 5thou@122",
    ),
    "nudge": (
        "You tap a housing without dowels into place while the dial says how far it still has to go.",
        "nudge van --port /dev/ttyUSB0",
    ),
    "study": (
        "You learn how well the shop measures, from repeated sweeps, and what to improve first.",
        "study --job van",
    ),
    "ledger": (
        "You learn which family of blocks or housings is to blame, and since when.",
        "ledger --csv recordings/made-shop.csv",
    ),
    "stock": (
        "You learn which dowel sizes to keep, and how many of each.",
        "stock --population 5thou --limit 5thou --engines 20/month",
    ),
    "ports": ("You see the serial ports of this machine, and which are taken.", "ports"),
    "listen": (
        "You get a profile of how an instrument talks, from what it says now.",
        "listen /dev/ttyUSB0 --out dial.toml",
    ),
    "key": ("You see, make or learn the keys that sign recordings.", "key --make"),
    "settings": ("You see each setting, its value, and whence it is.", "settings"),
    "help": ("You read a page of the manual, or what a command takes.", "help first-sweep"),
    "report": (
        "You get the pages of a job, for the customer and for the shop.",
        "report van -o van.pdf",
    ),
    "export": (
        "You get stations, or every reading, as a table for other programs.",
        "export recordings/launch-found.jsonl -o found.csv",
    ),
    "print": ("You get drawings at true scale: wheel, card, shims.", "print wheel --diameter 6in"),
    "print wheel": ("You get a degree wheel for flywheel or damper.", "print wheel --diameter 6in"),
    "print card": ("You get rings with the places of the dowels' marks.", "print card van --pin 16mm"),
    "print shims": ("You get the shims by bolt, with tags.", "print shims van"),
    "job": ("You keep the shop's jobs: one folder a housing, with the next step.", "job open van"),
    "job open": ("You begin a job; its number and folder are said.", 'job open "blue van" --limit 5thou'),
    "job list": ("You see the jobs, the newest work first.", "job list"),
    "job show": ("You see all that is known of a job, and its next step.", "job show van"),
    "job note": ("You keep a few words with a job.", 'job note van "new bearing ordered"'),
    "job photo": ("You copy a picture into a job; the report shows it.", "job photo van bore.jpg"),
    "job fitted": ("You say which dowels are really in.", "job fitted van 5thou@9:00"),
    "job shimmed": ("You say which shims are under the face.", "job shimmed van 2thou@0,5thou@60"),
    "job take": ("You take in a recording that the job does not go by yet.", "job take van found-2.jsonl"),
    "job changed": ("You agree to what was edited in job.toml by hand.", "job changed van"),
    "job close": ("You say that nothing more is to be done.", "job close van"),
    "job pack": ("You get a job in one file, to be carried elsewhere.", "job pack van -o van.zip"),
    "job unpack": ("You take in a packed job.", "job unpack van.zip"),
}

EVERYDAY: Final[Mapping[str, tuple[str, ...]]] = {
    "sweep": (
        "--port", "--unit", "--profile", "--job", "--stage", "--limit", "--feature", "--face-radius", "--rig",
        "--stations", "--auto", "--tir", "--high", "--csv", "--resume", "--headless", "--voice", "--in",
        "--sense", "--json",
    ),
    "plan": (
        "--kit", "--limit", "--tir", "--high", "--take", "--dowels", "--setting", "--fitted", "--in",
        "--anyway", "--json", "--bolts", "--shims",
    ),
    "verify": ("--fitted", "--kit", "--limit", "--dowels", "--setting", "--in", "--anyway", "--json"),
    "job open": ("--limit", "--kit", "--customer", "--face", "--dowels", "--technician", "--shop", "--json"),
}  # fmt: skip

_WIDTH: Final = 78


def tell(command: Any) -> None:
    """Put all of that into the help of a command that has its options."""
    called = command.prog.partition(" ")[2]
    given, example = TELLS[called]
    command.description = textwrap.fill(given, _WIDTH)
    command.epilog = f"For example:  coaxly {example}"
    if called in EVERYDAY:
        command.add_argument("--help-all", action=_HelpAll, nargs=0, help="all options")
        named = {name: action for action in command._actions for name in action.option_strings}
        command.everyday = [named[name] for name in (*EVERYDAY[called], "--help", "--help-all")]


class _HelpAll(argparse.Action):
    """All options, and out."""

    def __call__(self, parser: Any, namespace: argparse.Namespace, values: Any, option: Any = None) -> None:
        """Show them."""
        parser.everyday = []
        parser.print_help()
        parser.exit()
