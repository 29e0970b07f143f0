"""`coaxly audit PATH...`: are old recordings what they were, and do they still say the same?"""

import argparse
import os
from collections import Counter
from dataclasses import replace
from functools import partial
from pathlib import Path

from .. import output
from ..entry.keyring import known_keys
from ..errors import UsageError
from ..job.folder.details import NAME as DETAILS
from ..job.many.parallel import each, seen_anywhere
from ..job.steps.audit import BAD, OPEN, Audit, audit, recordings_in, with_twins
from ..job.steps.beside import Point
from ..say.job.audits import audit_object, audit_words
from ..say.smallwords import counted


def run(arguments: argparse.Namespace) -> int:
    """Audit every recording; exit code 1 if anything is not as it was, or not proved to be."""
    named = [Path(name) for name in arguments.paths]
    for path in named:
        if not os.path.lexists(path):
            raise UsageError(f"{path} is not there: name a recording, a job's folder or a shop's")
    paths = recordings_in(named)
    if not paths:
        raise UsageError("no recordings (*.jsonl) there")
    paths = seen_anywhere(paths, arguments.dask)
    audits = each(partial(audit, known=known_keys()), paths, _lost, arguments.dask)
    found = with_twins(list(output.progress(audits, len(paths), "auditing")))
    if arguments.signed:
        found = [_demanding(one) for one in found]
    wrong = BAD if arguments.allow_unsealed else (*OPEN, *BAD)
    bad = [one for one in found if one.state in wrong]
    lines = [f"{one.state:<10} {one.path}{_whose(one)}: {audit_words(one)}" for one in found]
    states = Counter(one.state for one in found)
    counts = ", ".join(f"{states[state]} {state}" for state in ("ok", *OPEN, *BAD) if states[state])
    what = "file" if any(map(_is_journal, found)) else "recording"
    lines.append(f"{counted(len(found), what)}: {counts}")
    answer = {"recordings": [audit_object(one) for one in found], "bad": len(bad)}
    output.answer(answer, lines, as_json=arguments.json)
    return 1 if bad else 0


def _demanding(one: Audit) -> Audit:
    """The same, but what no known key has signed does not pass."""
    edited = any(point.kind == "edited" for point in one.points)  # by hand, which nobody signed
    if one.state != "ok" or (one.signer and not edited) or Path(one.path).name == DETAILS:
        return one  # nobody signs job.toml: what of it counts stands in the journal
    # A journal's own points say which lines nobody signed, and what was edited beside it.
    points = one.points if _is_journal(one) else (Point.that("unsigned"), *one.points)
    return replace(one, state="unsigned", points=points)


def _is_journal(one: Audit) -> bool:
    return any(point.kind == "journal" for point in one.points)


def _whose(one: Audit) -> str:
    """Job and stage of the header, which its seals bind; a file's name they do not."""
    words = ", ".join([one.job] * bool(one.job) + [f"as {one.stage}"] * bool(one.stage))
    return f" ({words})" if words else ""


def _lost(path: Path) -> Audit:
    return Audit(str(path), "failed", (Point.that("killed"),))
