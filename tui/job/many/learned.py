"""The bores of all jobs of a shop as they were found, with what dowels of ours had moved taken out.

The index keeps of each job what is known of it, by the times and sizes of the files it came from, and of
each recording its result, by its seal; both by the model that judged. So only what changed is read again, and
what must be computed anew is computed by whoever does many at once.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from operator import attrgetter
from pathlib import Path
from typing import Any, Final, Literal

import msgspec
import numpy as np

from coaxly.fitter import MODEL
from coaxly.fitter.dowels.pins import influence
from coaxly.fitter.dowels.setting import DowelSetting, carried
from coaxly.fitter.geometry import Matrix, Vector, matrix_of, vector_of
from coaxly.fitter.shop.ledger import Found
from coaxly.logger.errors import LoggerError
from coaxly.logger.recording.seals import check_seals

from ...entry.names import plainly
from ...entry.places import parse_pins
from ...errors import CommandError
from ..folder import progress
from ..folder.index import Index, Watch
from ..folder.journal import Fitted, Record, Shimmed, Sweep
from ..folder.shop import Job
from ..folder.snapshot import Snapshot, look
from ..recorded.bore import Bore, in_doubt
from ..recorded.consistency import counted_twice
from ..steps.leftoff import elsewhere

Reason = Literal[
    "", "not_swept", "holes_unknown", "job_unreadable", "changed", "face", "unreadable", "killed", "unit",
    "doubted", "copy",
]  # fmt: skip
"""Why a job cannot be counted; "" where it can."""

Many = Callable[[Sequence[Path]], Iterator[Bore]]
"""What is to be computed anew, in the same order."""


class Learned(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """What a job says of its bore as it was found.

    left_out: why it cannot be counted.
    what: in the words of whoever found that.
    block, housing: family and serial, "" where nobody said.
    file: the recording; marks: by which its copies are known (`consistency.marks_of`); foreign: how far its
    header is from saying that it was made in this job, 0 where it says so.
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
    marks: tuple[str, ...] = ()
    foreign: int = 0
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
    return _once([found[folder] for folder in sorted(found)])


def _once(jobs: Sequence[Learned]) -> list[Learned]:
    """A recording that several jobs have, copies of one another, counts for the one that it was made in, else
    for the first of them only."""
    marks = [(job.folder, job.marks) for job in sorted(jobs, key=_FOREIGN) if not job.left_out]
    copies = {doubt.facts["other"] for doubt in counted_twice(marks)}
    return [msgspec.structs.replace(job, left_out="copy") if job.folder in copies else job for job in jobs]


_FOREIGN: Final = attrgetter("foreign", "folder")
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
            out.append(_completed(draft, tuple(kept["marks"]), kept["result"]))
        else:
            anew.append(draft)
    # Each is kept as it comes: who stops it half way does not begin anew.
    for draft, bore in zip(anew, many([shop / each.folder / each.file for each in anew]), strict=True):
        if bore.state != "read":
            out.append(msgspec.structs.replace(draft, left_out=bore.state, what=bore.what))
            continue
        if bore.seal:
            index.keep(bore.seal, _MODEL, {"marks": bore.marks, "result": bore.result})
        out.append(_completed(draft, bore.marks, bore.result))
    return out


def _seal(path: Path) -> str:
    """The seal of a recording that is as it was written; "" for any other."""
    try:
        seals = check_seals(path)
    except LoggerError:
        return ""
    return seals.head if seals.state != "changed" else ""


def _completed(draft: Learned, marks: tuple[str, ...], result: dict[str, Any]) -> Learned:
    if why := in_doubt(result):
        return msgspec.structs.replace(draft, left_out=why)
    found = result["eccentricity"]
    (x, y), (dx, dy) = found["vector"], draft.moved
    spread = np.array(found["covariance"]) + np.array(draft.moved_covariance)
    return msgspec.structs.replace(draft, marks=marks, vector=(x - dx, y - dy), covariance=matrix_of(spread))


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
        named = msgspec.structs.replace(
            named, file=sweep.file, day=sweep.time[:10], foreign=_foreign(seen, sweep.file)
        )
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


def _foreign(known: Snapshot, file: str) -> int:
    try:
        return (None, "journal", "job").index(elsewhere(known, known.recording(file).header))
    except LoggerError:
        return 0  # who reads it says why


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


@dataclass(frozen=True, slots=True)
class OneShop:
    """What the ledger is made of.

    found: the jobs that count.
    of_jobs, of_table: how many of them came from either.
    twice: names of jobs in the table that are jobs of the shop too, and are counted once.
    left_out: jobs of the shop that cannot be counted.
    """

    found: tuple[Found, ...]
    of_jobs: int
    of_table: int
    twice: tuple[str, ...]
    left_out: tuple[Learned, ...]


def one_shop(jobs: Sequence[Learned], table: Sequence[Found]) -> OneShop:
    """Put them together. A line of the table that names a job of the shop (folder, number or title) is that
    job, whose own sweep is the better."""
    counted = [job for job in jobs if not job.left_out]
    names = {plainly(name) for job in counted for name in (job.folder, job.number, job.title) if name}
    twice = [row.job for row in table if row.job and plainly(row.job) in names]
    rows = [row for row in table if not row.job or plainly(row.job) not in names]
    found = same_names([*map(_found, counted), *rows])
    left_out = tuple(job for job in jobs if job.left_out)
    return OneShop(tuple(found), len(counted), len(rows), tuple(twice), left_out)


def _found(job: Learned) -> Found:
    return Found(
        block_family=job.block[0],
        block=job.block[1],
        housing_family=job.housing[0],
        housing=job.housing[1],
        vector=job.vector,
        covariance=job.covariance,
        day=_day(job.day),
        job=job.number or job.folder,
    )


def _day(text: str) -> float | None:
    try:
        return float(date.fromisoformat(text).toordinal())
    except ValueError:
        return None


def same_names(found: Sequence[Found]) -> list[Found]:
    """The same with one spelling of each name: capitals and spaces make no other family and no other piece.
    A serial whose family was not said belongs to the only family that has it."""
    blocks = _one_spelling([(job.block_family, job.block) for job in found])
    housings = _one_spelling([(job.housing_family, job.housing) for job in found])
    return [
        replace(job, block_family=block[0], block=block[1], housing_family=housing[0], housing=housing[1])
        for job, block, housing in zip(found, blocks, housings, strict=True)
    ]


def _one_spelling(names: Sequence[tuple[str, str]]) -> list[tuple[str, str]]:
    """Pairs of family and serial, so written."""
    families, serials = _spellings(family for family, _ in names), _spellings(serial for _, serial in names)
    named = [(families[plainly(family)], serials[plainly(serial)]) for family, serial in names]
    homes: dict[str, set[str]] = {}
    for family, serial in named:
        if family and serial:
            homes.setdefault(serial, set()).add(family)
    return [
        (next(iter(homes[serial])), serial)
        if not family and len(homes.get(serial, ())) == 1
        else (family, serial)
        for family, serial in named
    ]


def _spellings(names: Iterable[str]) -> dict[str, str]:
    """Each name's first spelling."""
    spelt: dict[str, str] = {}
    for name in names:
        spelt.setdefault(plainly(name), " ".join(name.split()))
    return spelt
