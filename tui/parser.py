"""The command line. What a command can be told is in `options/`, and loaded once that command is asked for.
Nothing heavy is imported here: `--help` must answer at once.
"""

import argparse
import re
from collections.abc import Callable, Sequence
from functools import cache, partial
from importlib import import_module
from typing import Any, Final, NoReturn

from . import output
from .errors import MISUSE
from .options.shown import add_shop
from .version import __version__

_COMMANDS: Final = {
    "demo": (
        "sweep",
        "the whole job on the built-in engine: sweep, choose dowels, set them, sweep again, verdict",
    ),
    "sweep": ("sweep", "sweep a housing with an indicator on a serial port"),
    "replay": ("recorded", "put a recording through the same pipeline again"),
    "audit": ("recorded", "are recordings what they were, and do they still give the same result?"),
    "plan": ("dowels", "which dowels to fit and which way to turn them, or which shims under a face"),
    "verify": ("dowels", "did the dowels do what was planned?"),
    "nudge": ("sweep", "tap a housing without dowels into place while the dial says how far it is to go"),
    "ports": ("machine", "the serial ports of this machine"),
    "listen": ("machine", "find out how an instrument talks, and write a profile of it"),
    "key": ("machine", "the key that signs what this workshop records, and the keys it knows"),
    "settings": ("machine", "what is set for this user, its value, and whence"),
    "help": ("machine", "the manual: its pages, one of them, or what a command takes"),
    "study": ("shop", "how well a shop measures, from repeated sweeps"),
    "ledger": ("shop", "what many jobs say of block families, housing families and single pieces"),
    "stock": ("shop", "which dowel sizes to keep, and how many of each"),
    "job": ("jobs", "the shop's jobs: open, list, show, note, what was fitted, pack"),
    "report": ("jobs", "pages of a job: the verdict for the customer, all that it rests on for the shop"),
    "print": (
        "print",
        "at true scale: a degree wheel, cards for setting dowels, or for shims under the bolts",
    ),
    "export": ("recorded", "stations or single readings as a table: CSV, or Parquet"),
}
"""Where in `options/` each has its own (add_NAME), and what it says of itself."""

COMMANDS: Final = tuple(_COMMANDS)


_FREE_TEXT: Final = ("--job", "--stage", "--operator")
"""Options that take a person's own words, whatever they begin with."""


class Parser(argparse.ArgumentParser):
    """A parser that answers a mistake with one sentence, and says where there is more."""

    def __init__(self, *words: Any, fill: Callable[[Any], None] | None = None, **named: Any) -> None:
        """As usual, but nothing is taken for what it only begins like. fill: adds options once they are asked
        for."""
        kept = {"allow_abbrev": False, "formatter_class": argparse.RawDescriptionHelpFormatter, **named}
        super().__init__(*words, **kept)
        self._fill, self._told = fill, False
        self.everyday: list[argparse.Action] = []

    def filled(self) -> "Parser":
        """The parser itself with all its options."""
        fill, self._fill = self._fill, None
        if fill is not None:
            fill(self)
        if not self._told and " " in self.prog:
            from .options.telling import tell

            self._told = True
            tell(self)
        return self

    def format_help(self) -> str:
        """What one gets and an example come first; what is seldom wanted is left to --help-all."""
        shown = self.everyday or [action for action in self._actions if action.option_strings]
        places = self._get_positional_actions()
        formatter = self._get_formatter()
        formatter.add_text(self.description)
        if " " in self.prog:
            formatter.add_text(self.epilog)
        formatter.add_usage(self.usage, [*shown, *places], [])
        parts = [(group.title, group._group_actions) for group in self._action_groups[1:]]
        if self.everyday:
            parts = [("options of every day", shown)]
        for title, actions in [("what it is given", places), *parts]:
            formatter.start_section(title)
            formatter.add_arguments(actions)
            formatter.end_section()
        if " " not in self.prog:
            formatter.add_text(self.epilog)
        left = sum(bool(action.option_strings) for action in self._actions) - len(shown)
        return formatter.format_help() + (f"\n{left} more options: {self.prog} --help-all\n" if left else "")

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """As usual, but an option that nobody knows is refused by the command that was to have it."""
        self.filled()
        found, unknown = super().parse_known_args(args, namespace)
        if unknown:
            from .entry.keys import nearest

            known = [name for action in self._actions for name in action.option_strings]
            near = next(filter(None, (nearest(word.partition("=")[0], known) for word in unknown)), "")
            self.error(f"{' '.join(unknown)} is not known here" + (f"; is {near} meant?" if near else ""))
        return found, unknown

    def _print_message(self, message: str, file: Any = None) -> None:
        """Help and version: argparse keeps it to itself where they cannot be written."""
        if message:
            output.prepared(message)

    def error(self, message: str) -> NoReturn:
        """Say it, and end as every mistake of the asker ends."""
        said = re.sub(r"(\S{200})\S+", r"\1...", plainly(message))
        output.error(f"{said}{'' if said.endswith('?') else '.'} Options: {self.prog} --help")
        raise SystemExit(MISUSE)


def plainly(message: str) -> str:
    """What argparse has to say, in words for people."""
    said = message.removeprefix("argument ").strip().rstrip(".")
    if choice := re.fullmatch(r"(\S+): invalid choice: '(.*)' \(choose from (.*)\)", said, re.DOTALL):
        from .entry.keys import unknown

        known = re.findall(r"'([^']*)'", choice[3])
        return f"{choice[1]}: {unknown(choice[2], known)}"
    if missing := re.fullmatch(r"the following arguments are required: (.*)", said):
        return f"{missing[1]} is missing"
    return re.sub(r": expected (one|at least one) argument$", " needs a value behind it", said)


class _Completion(argparse.Action):
    """What a shell needs to complete, and out."""

    def __call__(
        self, parser: argparse.ArgumentParser, namespace: argparse.Namespace, values: Any, option: Any = None
    ) -> None:
        """Print it; the library is only loaded for that."""
        import shtab

        due = [parser]
        while due:
            one = due.pop()
            assert isinstance(one, Parser)
            for action in one.filled()._actions:
                if isinstance(action.choices, dict):
                    due += action.choices.values()
        output.prepared(shtab.complete(parser, shell=values) + "\n")
        parser.exit()


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


@cache
def build() -> Parser:
    """The parser of every command. Made once: a parser keeps nothing of what it read, and argparse looks on
    the disk for a translation of each of its headings."""
    parser = Parser(
        prog="coaxly",
        formatter_class=argparse.HelpFormatter,
        description="How far a clutch housing (bell housing) is off the crank, which dowels centre it, "
        "and whether they did. Without a command, on a terminal: the shop's jobs, and the next step of each.",
        epilog="Lengths carry a unit: 5thou, .005in, 0.127mm, 127um. Angles are degrees clockwise from "
        "12 o'clock, seen from behind the engine. In place of a file that is read, - is standard input.",
    )
    parser.add_argument(
        "--completion",
        choices=("bash", "zsh", "tcsh"),
        action=_Completion,
        help="print what makes that shell complete commands and options (coaxly help screen)",
    )
    parser.add_argument("--version", action="version", version=f"coaxly {__version__}")
    add_shop(parser, dest="bench_shop")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")
    for name, (module, says) in _COMMANDS.items():
        commands.add_parser(name, help=says, description=says, fill=partial(_fill, module, name))
    return parser


def _fill(module: str, name: str, command: Parser) -> None:
    """Add the options of a command."""
    getattr(import_module(f".options.{module}", __package__), f"add_{name}")(command)
