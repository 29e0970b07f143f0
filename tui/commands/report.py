"""`coaxly report JOB`: the pages that are handed to the customer and kept by the shop."""

import argparse
from pathlib import Path
from typing import Any

from .. import output
from ..entry.keyring import known_keys
from ..entry.preferences import load_preferences
from ..errors import FINDING, FINE
from ..job.folder.snapshot import look
from ..job.steps.audit import BAD
from ..plain.asking import settle
from ..plain.named import job_named, say_edited, say_limit
from ..report.content import Style
from ..report.facts import Facts, doubts, gather
from ..report.write import Made, check, write_report
from ..say.job.audits import audit_object
from ..say.job.jobwords import job_object
from ..say.objects import comparison_object, result_object


def run(arguments: argparse.Namespace) -> int:
    """Write the report and say where; exit code 1 where a recording of the job is not what it was."""
    target = Path(arguments.out).expanduser() if arguments.out else None
    check(target)
    preferences = load_preferences()
    job = job_named(arguments, arguments.job)
    facts = gather(job, known_keys(), preferences.kit)
    style = Style(arguments.unit_shown, preferences.decimal, arguments.paper or preferences.paper)
    say_edited(job)
    say_limit(facts.ruling, job, style.unit)
    settle(doubts(facts), style.unit, anyway=arguments.anyway)
    made = write_report(facts, style, target, arguments.operator)
    front = made.content.front
    lines = [f"{front.title}: {front.verdict}", *front.sentences, f"Report: {made.path}"]
    if arguments.json:
        output.json_object(_object(facts, made, style.unit))  # for which the job is looked at once more
    else:
        output.text(lines)
    amiss = [each for each in facts.recordings if each.audit.state in BAD or not each.noted]
    broken = [each for each in facts.unproved if each.state != "unsealed"]  # a crash leaves lines unsealed
    return FINDING if amiss or broken or facts.journal.state in BAD else FINE


def _object(facts: Facts, made: Made, unit: str) -> dict[str, Any]:
    """The facts as the other commands print them, and where they stand on paper now."""
    sweeps = {name: getattr(facts, name) for name in ("found", "left", "face_found", "face_left")}
    return {
        "report": {
            "path": str(made.path),
            "format": made.form,
            "paper": made.content.paper,
            "state": made.content.front.state,
            "words": [made.content.front.verdict, *made.content.front.sentences],
            **{name: swept and result_object(swept.result, unit) for name, swept in sweeps.items()},
            "verify": facts.comparison and comparison_object(facts.comparison, unit),
            "audit": [{**audit_object(each.audit), "as_noted": each.noted} for each in facts.recordings],
        },
        "job": job_object(look(facts.job.job), unit),
    }
