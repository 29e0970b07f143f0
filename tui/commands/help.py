"""`coaxly help [TOPIC]`: a page of the manual, or what a command takes."""

import argparse

from .. import output
from ..entry.keys import nearest
from ..errors import FINE, UsageError
from ..parser import COMMANDS, build
from ..say.manual import contents, page, topics


def run(arguments: argparse.Namespace) -> int:
    """Show it; without a topic, what there is."""
    words = arguments.topic
    if words and words[0] in COMMANDS and words[0] not in topics():
        build().parse_args([*words, "--help"])
    if words and words[0] not in topics() and (near := nearest(words[0], [*topics(), *COMMANDS])):
        raise UsageError(f"no page and no command is called {words[0][:40]!r}: is {near} meant?")
    if len(words) > 1:
        raise UsageError(f"one page at a time: coaxly help {words[0]}")
    shown = page(words[0]) if words else contents()
    if arguments.json:
        output.json_object({"topics": topics(), "topic": words[0] if words else "", "markdown": shown})
    else:
        output.page(shown)
    return FINE
