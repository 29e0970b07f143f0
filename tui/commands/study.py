"""`coaxly study FILE...`: how well a shop measures, and what to improve first."""

import argparse
from collections.abc import Sequence
from dataclasses import asdict
from itertools import pairwise
from pathlib import Path

from fitter.geometry import difference
from fitter.shop.study import Repeat, study

from .. import output
from ..errors import FINDING, FINE, UsageError
from ..job.belonging import need
from ..job.pipeline import Pipeline, replay
from ..say.study import study_lines

ANEW = "+"


def run(arguments: argparse.Namespace) -> int:
    """Print what measuring costs; exit code 1 if a sweep does not belong with the others."""
    pipelines = _sweeps(arguments.files)
    limits = {pipeline.setup.limit_mm for _, pipeline, _ in pipelines}
    limit = arguments.limit.tir if arguments.limit is not None else limits.pop() if len(limits) == 1 else None
    try:
        found = study([_repeat(name, pipeline, mounting) for name, pipeline, mounting in pipelines], limit)
    except ValueError as error:
        raise UsageError(str(error)) from error
    if arguments.json:
        plain = asdict(found)
        for key in ("repeatability_freedom", "reproducibility_freedom"):
            plain[key] = plain[key] if plain[key] < 1e9 else None
        output.json_object({"study": plain})
    else:
        output.text(study_lines(found, arguments.unit_shown))
    return FINE if found.worst is None else FINDING


def _sweeps(words: Sequence[str]) -> list[tuple[str, Pipeline, int]]:
    """Each recording with the number of its mounting, which goes up at every "+"."""
    sweeps: list[tuple[str, Pipeline, int]] = []
    mounting = 1
    seen: set[Path] = set()
    for word in words:
        if word == ANEW:
            mounting += 1
            continue
        if (path := Path(word).resolve()) in seen:
            raise UsageError(f"{word} is given twice: no repeat is made by counting one")
        seen.add(path)
        pipeline = replay(Path(word))
        need(pipeline, word, "bore", "study")
        sweeps.append((word, pipeline, mounting))
    if not sweeps:
        raise UsageError("no recordings were given: sweep one housing at least three times")
    return sweeps


def _repeat(name: str, pipeline: Pipeline, mounting: int) -> Repeat:
    header, found = pipeline.header, pipeline.result().eccentricity
    (xx, _), (_, yy) = found.covariance
    return Repeat(
        housing=f"{header.job.strip().lower()}/{header.stage.strip().lower()}",
        person=header.operator.strip().lower(),
        mounting=str(mounting),
        vector=found.vector,
        u=((xx + yy) / 2.0) ** 0.5,
        sense=_sense(pipeline),
        name=name,
    )


def _sense(pipeline: Pipeline) -> int:
    """+1 where every station lies clockwise of the one before, seen from behind, -1 against; else 0."""
    turns = [difference(b, a) for a, b in pairwise(pipeline.fitter.stations().deg.tolist())]
    if turns and all(turn > 0.0 for turn in turns):
        return 1
    return -1 if turns and all(turn < 0.0 for turn in turns) else 0
