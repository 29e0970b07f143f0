"""What commands have in common: which shop, how they answer, and what they are not to refuse."""

import argparse


def add_shop(command: argparse.ArgumentParser, dest: str = "shop") -> None:
    """Which shop."""
    text = "folder of the shop's jobs (else COAXLY_SHOP, the setting 'shop', or Coaxly in your documents)"
    command.add_argument("--shop", metavar="DIR", dest=dest, help=text)


def output(command: argparse.ArgumentParser, *, live: bool = False, units: bool = True) -> None:
    """How the answer is given. live: something is swept meanwhile; units: there are lengths in it."""
    command.add_argument("--json", action="store_true", help="one JSON object on standard output")
    if units:
        # A default that is text is read as if it were given, once it is known that none was: only then are
        # the settings looked at, and what is wrong in them is said before anything is begun.
        text = "unit of the lengths shown: thou, in, mm, um (default: the setting 'unit', else thou)"
        command.add_argument(
            "--in", dest="unit_shown", type=_given_unit, default="", metavar="UNIT", help=text
        )
    if live:
        command.add_argument(
            "--headless", action="store_true",
            help="plain lines; operator lines on standard input: 'station 45', empty for the next, "
            "'undo', 'done'",
        )  # fmt: skip


def anyway(command: argparse.ArgumentParser) -> None:
    """That doubts are said, and not gone by."""
    command.add_argument(
        "--anyway",
        action="store_true",
        help="use the files although what they say of their stage, job, limit, setup or seals does not fit; "
        "the doubt is still said",
    )


def _given_unit(text: str) -> str:
    """The unit of lengths shown, for argparse; "": as it is set. Raises UsageError for settings that cannot
    be meant."""
    from coaxly.fitter.keys import keys_of

    from ..entry.preferences import Preferences, load_preferences
    from .keys import reader

    return str(reader(keys_of(Preferences)["unit"].kind)(text)) if text else load_preferences().unit
