"""Jobs of the shop and jobs of a table, put together for the ledger: same names are the same pieces."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from coaxly.fitter.shop.ledger import Found

from ...entry.names import plainly
from .learned import Learned


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
