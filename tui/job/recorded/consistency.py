"""Do these files belong to what is to be done with them? What a recording says of its stage, job, feature,
limit, setup and seals counts. Doubts are facts (`coaxly.say.sweep.doubts` puts them in sentences); a command
refuses until it is told to go on anyway.
"""

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any, Final, Literal

from coaxly.fitter import Result, withheld
from coaxly.fitter.units import MM_PER_THOU
from coaxly.logger.recording.seals import check_seals

from ...entry.names import plainly
from ...errors import UsageError
from .pipeline import ONE_HOUSING, Pipeline

DoubtKind = Literal[
    "tampered", "one_sweep", "stages", "moved_between", "jobs", "setups", "limits",
    "dowels_in_it", "unit", "unmeasured", "form_gone", "journal", "journal_cut", "not_noted", "mirrored",
]  # fmt: skip


FIRM: Final[frozenset[DoubtKind]] = frozenset({"one_sweep"})
"""What no wish can make right: a sweep that is counted twice makes a bar that is too small."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """Why files may not belong together. facts: their paths, and what is said in them; lengths end in _mm."""

    kind: DoubtKind
    facts: Mapping[str, Any]

    @classmethod
    def that(cls, kind: DoubtKind, **facts: Any) -> "Doubt":
        """With its facts by name."""
        return cls(kind, facts)


def need(pipeline: Pipeline, path: str, feature: str, what: str) -> None:
    """A sweep of a bore, or of a face, is wanted; nothing makes one into the other. Raises UsageError."""
    if pipeline.setup.feature != feature:
        raise UsageError(
            f"{path} is a sweep of a {pipeline.setup.feature}, but {what} needs one of a {feature}"
        )


def tampered(path: str) -> list[Doubt]:
    """Whether the bytes of a recording are not those that were written. Raises LoggerError."""
    seals = check_seals(Path(path))
    return [Doubt.that("tampered", path=path, what=seals.what)] if seals.state == "changed" else []


def of_a_pair(found: tuple[str, Pipeline], left: tuple[str, Pipeline], *, limit_given: bool) -> list[Doubt]:
    """What speaks against proving one by the other, seals included. limit_given: one holds for both,
    whatever they were made for. Raises LoggerError."""
    doubts = before_and_after(found, left)
    if limit_given:
        doubts = [doubt for doubt in doubts if doubt.kind != "limits"]
    return [*doubts, *tampered(found[0]), *tampered(left[0])]


def before_and_after(found: tuple[str, Pipeline], left: tuple[str, Pipeline]) -> list[Doubt]:
    """What speaks against a pair of sweeps being one housing as found and as left."""
    (found_path, before), (left_path, after) = found, left
    if doubts := counted_twice((path, marks_of(sweep)) for path, sweep in (found, left)):
        return doubts
    if stage(before) == "left" or stage(after) == "found":
        stages = [(found_path, stage(before)), (left_path, stage(after))]
        doubts.append(Doubt.that("stages", stages=stages))
    return [*doubts, *one_job([found, left]), *one_setup([found, left]), *one_limit([found, left])]


def repeats(sweeps: Sequence[tuple[str, Pipeline]]) -> list[Doubt]:
    """What speaks against sweeps being repeats of one another, to be put together."""
    stages = {stage(pipeline) for _, pipeline in sweeps} - {""}
    doubts = one_job(sweeps) + one_setup(sweeps) + one_limit(sweeps)
    if len(stages) > 1:
        said = [(path, stage(pipeline)) for path, pipeline in sweeps]
        doubts.append(Doubt.that("moved_between", stages=said))
    return doubts + counted_twice((path, marks_of(sweep)) for path, sweep in sweeps)


def marks_of(pipeline: Pipeline) -> tuple[str, ...]:
    """What copies of one recording share, whatever they are called: the seal that they state, as a job's
    folder knows them, also where a byte was changed since; and a hash of what was read and when, whatever
    their headers say of the job; nothing where nothing was read."""
    stations = pipeline.fitter.stations()
    read = stations.value.tobytes() + stations.t.tobytes()
    if not read:
        return ()
    samples = hashlib.sha256(pipeline.header.created.encode() + read).hexdigest()
    return (samples, pipeline.seal) if pipeline.seal else (samples,)


def counted_twice(sweeps: Iterable[tuple[str, Sequence[str]]]) -> list[Doubt]:
    """What is one sweep under two names. sweeps: path, and `marks_of`."""
    first: dict[str, str] = {}
    doubts = []
    for path, marks in sweeps:
        known = next((first[mark] for mark in marks if mark in first), None)
        if known is not None:
            doubts.append(Doubt.that("one_sweep", path=known, other=path))
        first |= {mark: first.get(mark, path) for mark in marks}
    return doubts


def in_doubt(path: str, result: Result) -> list[Doubt]:
    """Why a sweep may not have measured what it seems to: nothing is fitted or replaced by those."""
    found = []
    for each in withheld.doubts(result):
        if each.kind in ("other_unit", "too_large"):
            found.append(Doubt.that("unit", path=path, swing_mm=result.tir.swept))
        else:
            found.append(Doubt.that("unmeasured", path=path, remark=each))
    return found


def form_gone(path: str, found: Result, left: Result) -> list[Doubt]:
    """Whether a bore that was out of round as found reads all but round as left: moving a housing cannot cure
    that, so it was not the bore that was read."""
    was = found.form.peak_to_valley - 2.0 * found.tir.swept_excess
    if was <= _FORM_GONE * max(left.tir.swept, _TELLING_FORM_MM):
        return []
    return [Doubt.that("form_gone", path=path, was_mm=found.form.peak_to_valley, is_mm=left.tir.swept)]


_FORM_GONE: Final = 5.0
"""Times the whole swing as left that the out of round as found must be (common practice, no source)."""

_TELLING_FORM_MM: Final = 0.1 * MM_PER_THOU


def one_job(sweeps: Sequence[tuple[str, Pipeline]]) -> list[Doubt]:
    """Two recordings that name different jobs."""
    named = [(path, pipeline.header.job) for path, pipeline in sweeps if plainly(pipeline.header.job)]
    return [
        Doubt.that("jobs", jobs=[(path, job), (other, name)])
        for (path, job), (other, name) in pairwise(named)
        if plainly(job) != plainly(name)
    ][:1]


def one_setup(sweeps: Sequence[tuple[str, Pipeline]]) -> list[Doubt]:
    """Two recordings whose dials ran on unlike surfaces, or whose cranks lay otherwise."""
    return [
        Doubt.that("setups", paths=[path, other], key=key)
        for (path, one), (other, two) in pairwise(sweeps)
        for key in ONE_HOUSING
        if getattr(one.setup, key) != getattr(two.setup, key)
    ]


def one_limit(sweeps: Sequence[tuple[str, Pipeline]]) -> list[Doubt]:
    """Two recordings that were made for different limits, and none was given that holds for both."""
    return [
        Doubt.that("limits", limits_mm=[(path, one.setup.limit_mm), (other, two.setup.limit_mm)])
        for (path, one), (other, two) in pairwise(sweeps)
        if one.setup.limit_mm != two.setup.limit_mm
    ][:1]


def stage(pipeline: Pipeline) -> str:
    """What a recording calls its stage: "found", "left", a word of the operator's, or ""."""
    return plainly(pipeline.header.stage)
