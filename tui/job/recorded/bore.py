"""What one recording says of its bore: the step that `ledger` and `study` take for every file.

It needs nothing but the file, so any process of any machine that sees the file can take it.
"""

from itertools import pairwise
from pathlib import Path
from typing import Any, Literal

import msgspec

from coaxly.fitter.geometry import difference
from coaxly.fitter.result import FORBIDS
from coaxly.logger.recording.seals import check_seals

from ...errors import MISUSE, RUN_ERRORS
from .consistency import marks_of
from .pipeline import Pipeline, replay

State = Literal["read", "changed", "face", "unreadable", "killed"]


class Bore(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """One recording.

    state: "read", or why there is nothing to be had of it.
    what: in the words of whoever found that, for "changed" and "unreadable".
    exit_code: of a command that needs this file.
    seal: SHA-256 of the last seal, "" where there is none.
    marks: as `marks_of` gives it.
    sense: +1 where every station lies clockwise of the one before, seen from behind, -1 against; else 0.
    result: as `Result.to_dict` gives it.
    """

    path: str
    state: State = "read"
    what: str = ""
    exit_code: int = MISUSE
    seal: str = ""
    marks: tuple[str, ...] = ()
    job: str = ""
    stage: str = ""
    operator: str = ""
    limit: float = 0.0
    sense: int = 0
    result: dict[str, Any] = {}


def bore_of(path: Path) -> Bore:
    """Replay one recording. Never raises: what is wrong is the answer."""
    try:
        seals = check_seals(path)
        if seals.state == "changed":
            return Bore(path=str(path), state="changed", what=seals.what)
        pipeline = replay(path)
        if pipeline.setup.feature != "bore":
            return Bore(path=str(path), state="face")
        result = pipeline.result().to_dict()
    except RUN_ERRORS as error:
        return Bore(path=str(path), state="unreadable", what=str(error), exit_code=error.exit_code)
    header = pipeline.header
    return Bore(
        path=str(path),
        seal=seals.head,
        marks=marks_of(pipeline),
        job=header.job,
        stage=header.stage,
        operator=header.operator,
        limit=pipeline.setup.limit_mm,
        sense=_sense(pipeline),
        result=result,
    )


def in_doubt(result: dict[str, Any]) -> Literal["", "unit", "doubted"]:
    """Why a result that was read counts nowhere: its unit, or all else that forbids a verdict; "" if it does.
    result: as `Result.to_dict` gives it."""
    kinds = {remark["kind"] for remark in result["remarks"] if remark["level"] == "warning"}
    if kinds & {"other_unit", "too_large"}:
        return "unit"
    return "doubted" if kinds & set(FORBIDS) else ""


def killed(path: Path) -> Bore:
    """Where a process ended over a recording."""
    return Bore(path=str(path), state="killed")


def _sense(pipeline: Pipeline) -> int:
    turns = [difference(b, a) for a, b in pairwise(pipeline.fitter.stations().deg.tolist())]
    if turns and all(turn > 0.0 for turn in turns):
        return 1
    return -1 if turns and all(turn < 0.0 for turn in turns) else 0
