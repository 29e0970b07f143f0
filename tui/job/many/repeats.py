"""The sweeps of jobs that repeat each other: between two of them nobody moved the housing."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from ..folder.journal import Sweep, moves
from ..folder.snapshot import Snapshot
from ..recorded.pipeline import replay

if TYPE_CHECKING:
    from coaxly.fitter.shop.usual import InShop


@dataclass(frozen=True, slots=True)
class Sweeping:
    """One sweep of a study.

    name: what it is called when it does not belong.
    mounting: of the dial, by number or name.
    housing: which housing and how it sat, "" where only the recording says. piece: the housing itself;
        family: of it, "" where nobody said.
    """

    path: Path
    name: str
    mounting: str
    housing: str = ""
    piece: str = ""
    family: str = ""


def of_jobs(jobs: Sequence[Snapshot]) -> list[Sweeping]:
    """Sweeps of their bores. What moves the housing makes it another one from there
    on; the dial is taken to have stayed where it was. Raises UsageError."""
    sweeps = []
    for known in jobs:
        part = 1
        for record in known.records:
            if moves(record):
                part += 1
            elif isinstance(record, Sweep) and record.feature == "bore":
                name = f"{known.folder}/{record.file}"
                piece = str(known.path.resolve())
                sweeps.append(
                    Sweeping(
                        path=known.file(record.file),
                        name=name,
                        mounting="1",
                        housing=f"{piece}:{part}",
                        piece=piece,
                        family=known.details.housing.family,
                    )
                )
    return sweeps


def usual_of(sweeps: Sequence[Sweeping]) -> "InShop":
    """How readings scatter in a shop, and how far from round its housings are. Raises LoggerError or
    FitterError."""
    from coaxly.fitter.shop.usual import Swept, in_shop

    pipelines = [(each, replay(each.path)) for each in sweeps]
    return in_shop(
        [
            Swept(pipeline.setup, pipeline.fitter.stations(), each.housing, each.piece, each.family)
            for each, pipeline in pipelines
        ]
    )
