"""`coaxly export FILE|JOB`: stations or readings as a table."""

import argparse
from pathlib import Path

from .. import output
from ..errors import FINE, UsageError
from ..job.folder.snapshot import Snapshot
from ..job.recorded.columns import Columns, joined, named, reading_columns, station_columns
from ..job.recorded.consistency import tampered
from ..job.recorded.pipeline import replay
from ..plain.asking import settle
from ..plain.named import job_perhaps
from ..report.tables import check_table, csv_text, write_table
from ..say.smallwords import counted

STANDARD_OUTPUT = "-"


def run(arguments: argparse.Namespace) -> int:
    """Write the table, and say where."""
    piped = arguments.out == STANDARD_OUTPUT
    if piped and arguments.json:
        raise UsageError("-o - puts the table itself on standard output: leave --json out, or name a file")
    target = Path(arguments.out).expanduser()
    if not piped:
        check_table(target)
    job = job_perhaps(arguments, arguments.file)
    paths = [Path(arguments.file)] if job is None else _sweeps(job)
    settle([doubt for path in paths for doubt in tampered(str(path))], "mm", anyway=arguments.anyway)
    table = joined([_table(path, arguments.what) for path in paths])
    if piped:
        output.prepared(csv_text(table))
        return FINE
    write_table(table, target)
    length = len(table["file"])
    about = {"path": str(target), "what": arguments.what, "rows": length, "columns": list(table)}
    said = f"{counted(length, arguments.what[:-1])} of {counted(len(paths), 'recording')}: {target}"
    output.answer({"export": about}, [said], as_json=arguments.json)
    return FINE


def _sweeps(known: Snapshot) -> list[Path]:
    """The recordings that the job's journal knows; others are named. Raises UsageError for none."""
    for path in known.job.recordings():
        if path.name not in known.sweeps:
            output.message(f"! {path.name} is no finished sweep of the job, and not in the table")
    if not known.sweeps:
        raise UsageError(f"{known.title}: nothing was swept yet: coaxly sweep --job {known.called}")
    return [known.file(name) for name in known.sweeps]


def _table(path: Path, what: str) -> Columns:
    """One recording; whose it is stands in every row. What of it could not be read is said."""
    if what == "readings":
        columns, pipeline = reading_columns(path)
    else:
        pipeline = replay(path)
        columns = station_columns([pipeline])[0]
    for trouble in filter(None, (pipeline.damage, pipeline.torn)):
        output.message(f"! {path}: {trouble}")
    header = pipeline.header
    about = {"file": path.name, "job": header.job, "stage": header.stage, "feature": header.feature}
    return named(columns, about)
