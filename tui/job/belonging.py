"""Do these files belong to what is to be done with them? What a recording says of its stage, job, feature,
limit, setup and seals counts: doubts come as sentences, and a command refuses until it is told to go on
anyway.
"""

from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from typing import Final

from logger.seals import check_seals

from ..errors import UsageError
from ..output import message
from .pipeline import Pipeline

ANYWAY: Final = "--anyway uses the files in spite of it"
LIMIT_SAYS: Final = "--limit says which holds"

_ONE_HOUSING: Final = ("surface", "crank", "bearing_clearance_mm")
"""What cannot differ between two sweeps of one surface."""


def settle(doubts: Sequence[str], *, anyway: bool) -> None:
    """Refuse what is in doubt, or say it and go on. Raises UsageError."""
    if doubts and not anyway:
        raise UsageError(f"{'; '.join(doubts)}. {ANYWAY}")
    for doubt in doubts:
        message(f"! {doubt}: used anyway")


def need(pipeline: Pipeline, path: str, feature: str, what: str) -> None:
    """A sweep of a bore, or of a face, is wanted; nothing makes one into the other. Raises UsageError."""
    if pipeline.setup.feature != feature:
        raise UsageError(
            f"{path} is a sweep of a {pipeline.setup.feature}, but {what} needs one of a {feature}"
        )


def tampered(path: str) -> list[str]:
    """Whether the bytes of a recording are not those that were written. Raises LoggerError."""
    seals = check_seals(Path(path))
    return [f"{path} is not as it was recorded ({seals.what})"] if seals.state == "changed" else []


def before_and_after(found: tuple[str, Pipeline], left: tuple[str, Pipeline]) -> list[str]:
    """What speaks against a pair of sweeps being one housing as found and as left."""
    (found_path, before), (left_path, after) = found, left
    if Path(found_path).resolve() == Path(left_path).resolve():
        return [f"{found_path} was given twice: as found and as left"]
    doubts = []
    if stage(before) == "left" or stage(after) == "found":
        doubts.append(
            f"{found_path} says that it is {_said(before)} and {left_path} that it is {_said(after)}: "
            "give the sweep as found first, then the one as left"
        )
    return [*doubts, *one_job([found, left]), *one_setup([found, left]), *one_limit([found, left])]


def repeats(sweeps: Sequence[tuple[str, Pipeline]]) -> list[str]:
    """What speaks against sweeps being repeats of one another, to be put together."""
    stages = {stage(pipeline) for _, pipeline in sweeps} - {""}
    doubts = one_job(sweeps) + one_limit(sweeps)
    if len(stages) > 1:
        listed = ", ".join(f"{path} {_said(pipeline)}" for path, pipeline in sweeps)
        doubts.append(f"the housing moved between these sweeps ({listed}): put together they mean nothing")
    paths = [Path(path).resolve() for path, _ in sweeps]
    if len(set(paths)) < len(paths):
        doubts.append("a recording was given twice: it is no repeat of itself")
    return doubts


def one_job(sweeps: Sequence[tuple[str, Pipeline]]) -> list[str]:
    """Two recordings that name different jobs."""
    named = [(path, pipeline.header.job) for path, pipeline in sweeps if _plain(pipeline.header.job)]
    return [
        f"{path} is of job {job!r} and {other} of job {name!r}"
        for (path, job), (other, name) in pairwise(named)
        if _plain(job) != _plain(name)
    ][:1]


def one_setup(sweeps: Sequence[tuple[str, Pipeline]]) -> list[str]:
    """Two recordings whose dials ran on unlike surfaces, or whose cranks lay otherwise."""
    return [
        f"{path} and {other} differ in {key.removesuffix('_mm').replace('_', ' ')}"
        for (path, one), (other, two) in pairwise(sweeps)
        for key in _ONE_HOUSING
        if getattr(one.setup, key) != getattr(two.setup, key)
    ]


def one_limit(sweeps: Sequence[tuple[str, Pipeline]]) -> list[str]:
    """Two recordings that were made for different limits, and none was given that holds for both."""
    return [
        f"{path} was swept for a limit of {one.setup.limit_mm:.3f} mm TIR and {other} for one of "
        f"{two.setup.limit_mm:.3f} mm: {LIMIT_SAYS}"
        for (path, one), (other, two) in pairwise(sweeps)
        if one.setup.limit_mm != two.setup.limit_mm
    ][:1]


def stage(pipeline: Pipeline) -> str:
    """What a recording calls its stage: "found", "left", a word of the operator's, or ""."""
    return _plain(pipeline.header.stage)


def _said(pipeline: Pipeline) -> str:
    return f"as {stage(pipeline)}" if stage(pipeline) else "of no stage"


def _plain(text: str) -> str:
    return " ".join(text.casefold().split())
