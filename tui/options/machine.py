"""The options of commands about this machine: ports, instruments, keys, settings."""

import argparse
from collections.abc import Callable
from typing import Any, Final

from .shown import add_shop, output
from .values import escaped, factor, positive, roles, typed

_SECONDS: Final = 2.0


def add_ports(command: argparse.ArgumentParser) -> None:
    """`coaxly ports`."""
    output(command, units=False)


def add_listen(command: argparse.ArgumentParser) -> None:
    """`coaxly listen`."""
    command.add_argument("port", metavar="PORT", help="device or pyserial URL")
    command.add_argument(
        "--seconds", type=positive, default=_SECONDS, metavar="S", help="for each line setting"
    )
    command.add_argument("--baud", type=int, metavar="B", help="only this speed")
    command.add_argument("-o", "--out", metavar="FILE.toml", help="profile to write; must not exist")
    command.add_argument("--unit", choices=("mm", "in"), help="unit of the dial, where its lines do not say")
    command.add_argument(
        "--fields",
        type=roles,
        metavar="ROLES",
        help="what each number of a line is: clock,value or angle,value",
    )
    command.add_argument(
        "--scale", type=factor, metavar="F", help="how much of the unit one count is, where lines hold counts"
    )
    command.add_argument(
        "--request",
        type=escaped,
        metavar="TEXT",
        help=r"what it waits for, with \r, \n or \x05, such as 'R\r'",
    )
    command.add_argument(
        "--profile",
        metavar="NAME",
        help="say of this profile, a name or a TOML file, what it makes of each line",
    )
    command.add_argument(
        "--encoder",
        action="store_true",
        help="it is an encoder: asks for a turn of the crank, which gives counts a turn, direction and wrap",
    )
    command.add_argument("--parity", choices=("N", "E", "O", "M", "S"), help="only this parity")
    command.add_argument(
        "--terminator",
        type=escaped,
        metavar="TEXT",
        help=r"what ends its lines, where that is unusual, such as '\x03'",
    )
    output(command, units=False)


def said_to_listen(arguments: argparse.Namespace) -> list[str]:
    """What was said beside the port, as it is typed again."""
    written: dict[str, Callable[[Any], str]] = {
        "seconds": "{:g}".format, "baud": str, "parity": str, "terminator": typed, "request": typed,
        "unit": str, "fields": ",".join, "scale": "{:g}".format,
    }  # fmt: skip
    said = {name: getattr(arguments, name) for name in written}
    return [
        word
        for name, value in said.items()
        if value is not None and (name, value) != ("seconds", _SECONDS)
        for word in (f"--{name}", written[name](value))
    ] + ["--encoder"] * arguments.encoder


def add_key(command: argparse.ArgumentParser) -> None:
    """`coaxly key`."""
    command.add_argument("--make", action="store_true", help="make this workshop's key, once")
    command.add_argument("--know", metavar="KEY", help="a public key of somebody else, with --name")
    command.add_argument("--name", metavar="NAME", help="whose key it is")
    output(command, units=False)


def add_settings(command: argparse.ArgumentParser) -> None:
    """`coaxly settings`."""
    command.add_argument(
        "--forget-study", action="store_true", help="drop what 'study --keep' kept for the shop"
    )
    add_shop(command)
    output(command, units=False)


def add_help(command: argparse.ArgumentParser) -> None:
    """`coaxly help`."""
    command.add_argument("topic", metavar="TOPIC", nargs="*", help="a page or a command; none: all pages")
    output(command, units=False)
