"""The bores of all jobs of a shop as they were found, with what dowels of ours had moved taken out.

The index keeps of each job what is known of it, by the times and sizes of the files it came from, and of
each recording its result, by its seal; both by the model that judged. So only what changed is read again, and
what must be computed anew is computed by whoever does many at once.
"""

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any, Final, Literal

import msgspec
import numpy as np

from coaxly.fitter import MODEL
from coaxly.fitter.dowels.pins import influence
from coaxly.fitter.dowels.setting import DowelSetting, carried
from coaxly.fitter.geometry import Matrix, Vector, matrix_of, vector_of
from coaxly.fitter.result import FORBIDS
from coaxly.logger.errors import LoggerError
from coaxly.logger.recording.seals import check_seals

from ...entry.places import parse_pins
from ...errors import CommandError
from ..folder import progress
from ..folder.index import Index, Watch
from ..folder.journal import Fitted, Record, Shimmed, Sweep
from ..folder.shop import Job
from ..folder.snapshot import look
from ..recorded.bore import Bore

Reason = Literal[
    "", "not_swept", "holes_unknown", "job_unreadable", "changed", "face", "unreadable", "killed", "unit",
    "doubted",
]  # fmt: skip
"""Why a job cannot be counted; "" where it can."""

Many = Callable[[Sequence[Path]], Iterator[Bore]]
"""What is to be computed anew, in the same order."""


class Learned(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """What a job says of its bore as it was found.

    left_out: why it cannot be counted.
    what: in the words of whoever found that.
    block, housing: family and serial, "" where nobody said.
    file: the recording.
    day: when it was swept, ISO 8601, "" where nobody said.
    moved: what dowels in place had carried the bore by, mm (x right, y up, seen from behind), with its
    covariance in mm^2; (0, 0) where there were none.
    vector, covariance: of the bore without those dowels, mm and mm^2.
    """

    folder: str
    title: str = ""
    number: str = ""
    left_out: Reason = ""
    what: str = ""
    block: tuple[str, str] = ("", "")
    housing: tuple[str, str] = ("", "")
    file: str = ""
    day: str = ""
    moved: Vector = (0.0, 0.0)
    moved_covariance: Matrix = ((0.0, 0.0), (0.0, 0.0))
    vector: Vector = (0.0, 0.0)
    covariance: Matrix = ((0.0, 0.0), (0.0, 0.0))


def learned(shop: Path, many: Many, watch: Watch = iter) -> list[Learned]:
    """Every job of the shop, by its folder. Raises Failure."""
    with Index(shop, watch) as index:
        found = {folder: _decoder.decode(text) for folder, text in index.learned(_MODEL).items()}
        due = [folder for folder in sorted(index.stamps()) if folder not in found]
        drafts = [_draft(Job(shop / folder)) for folder in watch(due)]
        fresh = _with_results(shop, index, drafts, many)
        kept = [each for each in fresh if each.left_out != "killed"]
        index.keep_learned(_MODEL, [(each.folder, _encoder.encode(each).decode()) for each in kept])
        found |= {each.folder: each for each in fresh}
    return [found[folder] for folder in sorted(found)]


_MODEL: Final = str(MODEL)
_decoder: Final = msgspec.json.Decoder(Learned)
_encoder: Final = msgspec.json.Encoder()


def _with_results(shop: Path, index: Index, drafts: Sequence[Learned], many: Many) -> list[Learned]:
    """The drafts with their vectors: by the seal of the recording from the index, else computed."""
    out, anew = [draft for draft in drafts if draft.left_out], []
    for draft in drafts:
        if draft.left_out:
            continue
        kept = index.result(_seal(shop / draft.folder / draft.file), _MODEL)
        if kept is not None:
            out.append(_completed(draft, kept))
        else:
            anew.append(draft)
    # Each is kept as it comes: who stops it half way does not begin anew.
    for draft, bore in zip(anew, many([shop / each.folder / each.file for each in anew]), strict=True):
        if bore.state != "read":
            out.append(msgspec.structs.replace(draft, left_out=bore.state, what=bore.what))
            continue
        if bore.seal:
            index.keep(bore.seal, _MODEL, bore.result)
        out.append(_completed(draft, bore.result))
    return out


def _seal(path: Path) -> str:
    """The seal of a recording that is as it was written; "" for any other."""
    try:
        seals = check_seals(path)
    except LoggerError:
        return ""
    return seals.head if seals.state != "changed" else ""


def _completed(draft: Learned, result: dict[str, Any]) -> Learned:
    kinds = {remark["kind"] for remark in result["remarks"] if remark["level"] == "warning"}
    if kinds & set(FORBIDS):
        return msgspec.structs.replace(
            draft, left_out="unit" if kinds & {"other_unit", "too_large"} else "doubted"
        )
    found = result["eccentricity"]
    (x, y), (dx, dy) = found["vector"], draft.moved
    spread = np.array(found["covariance"]) + np.array(draft.moved_covariance)
    return msgspec.structs.replace(draft, vector=(x - dx, y - dy), covariance=matrix_of(spread))


def _draft(job: Job) -> Learned:
    """All but the vector."""
    try:
        seen = look(job)
        known, records = seen.details, seen.records
        sweep, inside = _as_found(records)
        named = Learned(
            folder=job.folder,
            title=known.title or job.folder,
            number=str(known.number),
            block=(known.block.family, known.block.serial),
            housing=(known.housing.family, known.housing.serial),
        )
        if sweep is None:
            return msgspec.structs.replace(named, left_out="not_swept")
        job.file(sweep.file)  # which must not lead elsewhere
        named = msgspec.structs.replace(named, file=sweep.file, day=sweep.time[:10])
        if inside is None or not inside.dowels:
            return named
        moved = _moved(inside, known.dowels)
    except CommandError as error:
        return Learned(folder=job.folder, left_out="job_unreadable", what=str(error))
    except ValueError as error:
        return msgspec.structs.replace(named, left_out="job_unreadable", what=str(error))
    if moved is None:
        return msgspec.structs.replace(named, left_out="holes_unknown")
    return msgspec.structs.replace(named, moved=moved[0], moved_covariance=moved[1])


def _as_found(records: Sequence[Record]) -> tuple[Sweep | None, Fitted | None]:
    """The sweep that shows the bore as it came, and the dowels that were in it: before shims moved it where
    there is such a one, else after; where it never was swept as found, as left with dowels that are known."""
    shimmed = next((k for k, each in enumerate(records) if isinstance(each, Shimmed) and each.shims), None)
    if shimmed is not None and (before := progress.state(records[:shimmed])).found is not None:
        return before.found, before.before
    now = progress.state(records)
    if now.found is not None and now.mirrored not in ("yes", "known"):
        return now.found, now.before
    return (now.left, now.fitted) if now.fitted is not None else (None, None)


def _moved(inside: Fitted, holes: str) -> tuple[Vector, Matrix] | None:
    """What two dowels carry the bore by, and how surely; None where that hangs on holes that nobody gave."""
    if inside.dowels[0] != inside.dowels[-1] and not holes:
        return None
    setting = DowelSetting.of(inside.dowels)
    (shift,), (spread,) = carried([setting], influence(parse_pins(holes) if holes else None))
    return vector_of(shift), matrix_of(spread)
