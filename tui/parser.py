"""The command line. Nothing heavy is imported here: `--help` must answer at once."""

import argparse
import re
from collections.abc import Sequence
from typing import Any, Final, NoReturn

from coaxly.fitter import Setup
from coaxly.fitter.keys import length

from . import output
from .entry.keys import nearest
from .entry.rigging import Rigging
from .errors import MISUSE
from .job.folder.details import Details
from .options.export import add_export
from .options.jobs import add_job, add_report, add_shop
from .options.keys import add_keys, given_unit, reader
from .options.print import add_print
from .options.shop import add_fleet, add_shops
from .options.sweep import add_rig, add_sweep
from .options.values import kits, named, positive, roles, setting
from .version import __version__

_FREE_TEXT: Final = ("--job", "--stage", "--operator")
"""Options that take a person's own words, whatever they begin with."""


class Parser(argparse.ArgumentParser):
    """A parser that answers a mistake with one sentence, and says where there is more."""

    def __init__(self, *words: Any, **named: Any) -> None:
        """As usual, but nothing is taken for what it only begins like."""
        super().__init__(*words, **{"allow_abbrev": False, **named})

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """As usual, but an option that nobody knows is refused by the command that was to have it."""
        found, unknown = super().parse_known_args(args, namespace)
        if unknown:
            known = [name for action in self._actions for name in action.option_strings]
            near = next(filter(None, (nearest(word.partition("=")[0], known) for word in unknown)), "")
            meant = f"; is {near} meant?" if near else ""
            self.error(f"unrecognized arguments: {' '.join(unknown)}{meant}")
        return found, unknown

    def _print_message(self, message: str, file: Any = None) -> None:
        """Help and version: argparse keeps it to itself where they cannot be written."""
        if message:
            output.prepared(message)

    def error(self, message: str) -> NoReturn:
        """Say it, and end as every mistake of the asker ends."""
        said = message.removeprefix("argument ").strip().rstrip(".")
        if choice := re.search(r"invalid choice: '([^']*)' \(choose from (.*)\)", said):
            near = nearest(choice[1], re.findall(r"'([^']*)'", choice[2]))
            said += f"; is {near} meant?" if near else ""
        said = re.sub(r"(\S{200})\S+", r"\1...", said)
        output.error(f"{said}. Options: {self.prog} --help")
        raise SystemExit(MISUSE)


def straightened(argv: Sequence[str]) -> list[str]:
    """The command line with values that begin with a minus tied to their option, so that
    `--limit -5thou` is a limit below nothing and not an option nobody knows."""
    found: list[str] = []
    for word in argv:
        before = found[-1] if found else ""
        number = re.match(r"-\.?\d", word) is not None
        words = before in _FREE_TEXT and re.match(r"-[^-]", word) is not None and word != "-h"
        if before.startswith("--") and "=" not in before and before != "--" and (number or words):
            found[-1] = f"{before}={word}"
        else:
            found.append(word)
    return found


def build() -> argparse.ArgumentParser:
    """The parser of every command."""
    parser = Parser(
        prog="coaxly",
        description="How far a clutch housing (bell housing) is off the crank, which dowels centre it, "
        "and whether they did. Without a command, on a terminal: the shop's jobs, and the next step of each.",
        epilog="Lengths carry a unit: 5thou, .005in, 0.127mm, 127um. Angles are degrees clockwise from "
        "12 o'clock, seen from behind the engine. In place of a file that is read, - is standard input.",
    )
    parser.add_argument("--version", action="version", version=f"coaxly {__version__}")
    add_shop(parser, dest="bench_shop")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")
    _demo(commands)
    add_sweep(commands, _output)
    for add in (
        _replay,
        _audit,
        _plan,
        _verify,
        _nudge,
        _ports,
        _listen,
        _key,
        _settings,
    ):
        add(commands)
    add_shops(commands, _output)
    add_job(commands, _output)
    add_report(commands, _output)
    add_print(commands, _output)
    add_export(commands, _output)
    for told in commands._choices_actions:
        commands.choices[told.dest].description = told.help
    return parser


Commands = Any  # argparse keeps the type of its sub-parsers to itself


def _demo(commands: Commands) -> None:
    command = commands.add_parser(
        "demo",
        help="the whole job on the built-in engine: sweep, choose dowels, set them, sweep again, verdict",
    )
    command.add_argument("--engine", type=int, default=1, metavar="N",
                         help="which invented engine (default 1)")  # fmt: skip
    command.add_argument(
        "--speed", type=positive, metavar="X", help="times as fast as life (1 on a screen, 20 without)"
    )
    command.add_argument(
        "--keep", metavar="DIR", help="folder for its shop, to look around in; must be empty"
    )
    _output(command, live=True)


def _replay(commands: Commands) -> None:
    command = commands.add_parser("replay", help="put a recording through the same pipeline again")
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
    _anyway(command)
    _output(command, live=False)


def _plan(commands: Commands) -> None:
    command = commands.add_parser(
        "plan", help="which dowels to fit and which way to turn them, or which shims under a face"
    )
    command.add_argument(
        "file", metavar="FILE|JOB", type=named, help="recording of the housing as found, or a job"
    )
    command.add_argument("--take", type=int, metavar="N", help="of a job: note that option N was chosen")
    add_shop(command)
    add_rig(command)
    _dowels(command)
    add_keys(command, Setup, "limit")
    face = command.add_argument_group("of a face")
    add_keys(face, Details, "bolts", "shims", "face-radius", "depth", "pilot", "register-clearance")
    face.add_argument("--bore", metavar="FILE", help="recording of the bore, for what the two do together")
    _anyway(command)
    _output(command, live=False)


def _verify(commands: Commands) -> None:
    command = commands.add_parser("verify", help="did the dowels do what was planned?")
    command.add_argument(
        "found", metavar="FOUND|JOB", type=named, help="recording before, or a job, which knows both"
    )
    command.add_argument("left", metavar="LEFT", type=named, nargs="?", help="recording after")
    add_shop(command)
    add_rig(command)
    _dowels(command)
    add_keys(command, Setup, "limit")
    _anyway(command)
    _output(command, live=False)


def _nudge(commands: Commands) -> None:
    command = commands.add_parser(
        "nudge", help="tap a housing without dowels into place while the dial says how far it is to go"
    )
    command.add_argument(
        "file", metavar="FILE|JOB", nargs="?", help="its last sweep, or a job, which knows it"
    )
    add_shop(command)
    add_keys(command, Rigging, "port", "profile", "unit")
    command.add_argument("--second", metavar="PORT", help="a second one, a quarter turn on (clockwise from "
                         "behind): the crank stays parked")  # fmt: skip
    command.add_argument(
        "--tolerance",
        type=reader(length(0.0, 5.0)),
        metavar="LENGTH",
        help="within which it says STOP (0.2thou)",
    )
    command.add_argument("--operator", default="", help="who taps (default: the job's technician)")
    command.add_argument(
        "--engine", type=int, metavar="N", help="no hardware: tap the built-in engine of this number"
    )
    command.add_argument("--speed", type=positive, metavar="X", help="with --engine: times as fast as life")
    _anyway(command)
    _output(command, live=True)


def _anyway(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--anyway",
        action="store_true",
        help="use the files although what they say of their stage, job, limit, setup or seals does not fit; "
        "the doubt is still said",
    )


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
        type=reader(length(0.0, 5.0)),
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


def _audit(commands: Commands) -> None:
    command = commands.add_parser(
        "audit", help="are recordings what they were, and do they still give the same result?"
    )
    command.add_argument("paths", metavar="PATH", nargs="+", help="recordings, or folders of them")
    command.add_argument(
        "--allow-unsealed", action="store_true", help="no seals, or no end yet, are no finding (exit code 0)"
    )
    command.add_argument(
        "--signed", action="store_true", help="what no known key has signed is a finding (exit code 1)"
    )
    add_fleet(command)
    _output(command, live=False, units=False)


def _key(commands: Commands) -> None:
    command = commands.add_parser(
        "key", help="the key that signs what this workshop records, and the keys it knows"
    )
    command.add_argument("--make", action="store_true", help="make this workshop's key, once")
    command.add_argument("--know", metavar="KEY", help="a public key of somebody else, with --name")
    command.add_argument("--name", metavar="NAME", help="whose key it is")
    _output(command, live=False, units=False)


def _listen(commands: Commands) -> None:
    command = commands.add_parser(
        "listen", help="find out how an instrument talks, and write a profile of it"
    )
    command.add_argument("port", metavar="PORT", help="device or pyserial URL")
    command.add_argument("--seconds", type=positive, default=2.0, metavar="S", help="for each line setting")
    command.add_argument("--baud", type=int, metavar="B", help="only this speed")
    command.add_argument("-o", "--out", metavar="FILE.toml", help="profile to write; must not exist")
    command.add_argument("--unit", choices=("mm", "in"), help="unit of the dial, where its lines do not say")
    command.add_argument(
        "--fields",
        type=roles,
        metavar="ROLES",
        help="what each number of a line is: clock,value or angle,value",
    )
    _output(command, live=False, units=False)


def _settings(commands: Commands) -> None:
    command = commands.add_parser("settings", help="what is set for this user, its value, and whence")
    add_shop(command)
    _output(command, live=False, units=False)


def _ports(commands: Commands) -> None:
    command = commands.add_parser("ports", help="the serial ports of this machine")
    _output(command, live=False, units=False)


def _output(command: argparse.ArgumentParser, *, live: bool, units: bool = True) -> None:
    command.add_argument("--json", action="store_true", help="one JSON object on standard output")
    if units:
        # A default that is text is read as if it were given, once it is known that none was: only then are
        # the settings looked at, and what is wrong in them is said before anything is begun.
        text = "unit of the lengths shown: thou, in, mm, um (default: the setting 'unit', else thou)"
        command.add_argument(
            "--in", dest="unit_shown", type=given_unit, default="", metavar="UNIT", help=text
        )
    if live:
        command.add_argument(
            "--headless", action="store_true",
            help="plain lines; operator lines on standard input: 'station 45', empty for the next, "
            "'undo', 'done'",
        )  # fmt: skip
