"""The sweeps of jobs that repeat each other: between two of them nobody moved the housing."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from ..folder.journal import Fitted, Shimmed, Sweep
from ..folder.snapshot import Snapshot


@dataclass(frozen=True, slots=True)
class Sweeping:
    """One sweep of a study.

    name: what it is called when it does not belong.
    mounting: of the dial, by number or name.
    housing: which housing and how it sat, "" where only the recording says.
    """

    path: Path
    name: str
    mounting: str
    housing: str = ""


def of_jobs(jobs: Sequence[Snapshot]) -> list[Sweeping]:
    """Sweeps of their bores. What was fitted or shimmed moves the housing, which is another one from there
    on; the dial is taken to have stayed where it was. Raises UsageError."""
    sweeps = []
    for known in jobs:
        part = 1
        for record in known.records:
            if isinstance(record, Fitted | Shimmed):
                part += 1
            elif isinstance(record, Sweep) and record.feature == "bore":
                name = f"{known.folder}/{record.file}"
                sweeps.append(Sweeping(known.file(record.file), name, "1", f"{known.path.resolve()}:{part}"))
    return sweeps
