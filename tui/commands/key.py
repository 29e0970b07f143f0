"""`coaxly key`: the key that signs what this workshop records, and the keys it knows."""

import argparse

from coaxly.logger.recording.signing import WorkshopKey, mark

from .. import output
from ..entry.keyring import OWN, know, known_keys, own_key, own_path
from ..errors import FINE, UsageError


def run(arguments: argparse.Namespace) -> int:
    """Make a key, remember one, or show those there are."""
    if (arguments.know is None) != (arguments.name is None):
        raise UsageError("--know and --name belong together: whose key is it?")
    if arguments.make:
        WorkshopKey.make(own_path())
    if arguments.know is not None:
        know(arguments.name, arguments.know.strip().lower())
    own = own_key()
    names = known_keys()
    if own is None:
        lines = ["no key here: recordings are sealed but not signed. 'coaxly key --make' makes one"]
    else:
        lines = [
            f"mark {mark(own.key)}  public key {own.key}",
            f"kept in {own_path()}: keep a copy where nobody else can read it",
            "finished recordings are signed with it from now on; others know it by "
            f"'coaxly key --know {own.key} --name \"...\"'",
        ]
    lines += [f"knows {name}: mark {mark(key)}" for key, name in names.items() if name != OWN]
    keys = [{"name": name, "key": key, "mark": mark(key)} for key, name in names.items()]
    answer = {"own": own.key if own else None, "file": str(own_path()), "known": keys}
    output.answer(answer, lines, as_json=arguments.json)
    return FINE
