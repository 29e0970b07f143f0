"""`coaxly audit PATH...`: are old recordings what they were, and do they still say the same?"""

import argparse
import os
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import partial
from pathlib import Path

from .. import output
from ..audit import BAD, OPEN, Audit, audit, recordings_in
from ..errors import UsageError
from ..keyring import known_keys

_FEW = 8
"""So few files are quicker done here than in other processes."""


def run(arguments: argparse.Namespace) -> int:
    """Audit every recording; exit code 1 if anything is not as it was, or not proved to be."""
    paths = recordings_in([Path(name) for name in arguments.paths])
    if not paths:
        raise UsageError("no recordings (*.jsonl) there")
    found = list(output.progress(_audited(paths, known_keys()), len(paths), "auditing"))
    if arguments.signed:
        found = [_demanding(each) for each in found]
    wrong = BAD if arguments.allow_unsealed else (*OPEN, *BAD)
    bad = [each for each in found if each.state in wrong]
    if arguments.json:
        output.json_object({"recordings": [each.to_dict() for each in found], "bad": len(bad)})
    else:
        lines = [f"{each.state:<10} {each.path}{_whose(each)}: {each.what}" for each in found]
        counts = ", ".join(
            f"{sum(each.state == state for each in found)} {state}"
            for state in ("ok", *OPEN, *BAD)
            if any(each.state == state for each in found)
        )
        output.text([*lines, f"{len(found)} recordings: {counts}"])
    return 1 if bad else 0


def _demanding(each: Audit) -> Audit:
    """The same, but what no known key has signed does not pass."""
    if each.state != "ok" or each.signer:
        return each
    return replace(each, state="unsigned", what=f"no key that is known here has signed it; {each.what}")


def _whose(each: Audit) -> str:
    """Job and stage of the header, which its seals bind; a file's name they do not."""
    words = ", as ".join(word for word in (each.job, each.stage) if word)
    return f" ({words})" if words else ""


def _audited(paths: list[Path], known: dict[str, str]) -> Iterator[Audit]:
    cores = os.cpu_count() or 1
    if len(paths) <= _FEW or cores == 1:
        yield from (audit(path, known) for path in paths)
        return
    with ProcessPoolExecutor(min(cores, len(paths))) as pool:
        yield from pool.map(partial(audit, known=known), paths, chunksize=4)
