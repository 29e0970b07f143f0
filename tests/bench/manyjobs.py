"""A shop of ten thousand jobs: what the ledger costs when nothing is known yet, when all is, and after one more job;
by the cores of this machine and by a Dask cluster of two workers, one of which is killed on its way.

    nice -n 15 .venv/bin/python tests/bench/manyjobs.py [JOBS] [--cluster]

Jobs have recordings of 8 stations at 20 readings a second (45 KB; 200 different ones, linked), 12 block and
12 housing families, a thousand single housings, and dates over three years.
"""

import argparse
import os
import resource
import signal
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import msgspec
import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))
from making import swept

from coaxly.fitter.shop.changes import changes
from coaxly.fitter.shop.ledger import ledger
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.job.folder.index import NAME
from coaxly.job.folder.journal import Opened, Sweep
from coaxly.job.many.learned import learned, one_shop
from coaxly.job.many.parallel import each
from coaxly.job.recorded.bore import bore_of, killed
from coaxly.logger.rig.engine import Engine

DIFFERENT = 200


def recordings(kept: Path) -> None:
    """The different recordings."""
    rng = np.random.default_rng(1)
    kept.mkdir()
    for k in range(DIFFERENT):
        x, y = (rng.normal(size=2) * 5.0 * THOU).tolist()
        swept(kept / f"{k}.jsonl", Engine(centre=(x, y), noise=0.1 * THOU), seed=k, stage="found")


def made(shop: Path, numbers: range, jobs: int) -> None:
    """Folders as the program leaves them."""
    rng = np.random.default_rng(numbers.start)
    for k in numbers:
        folder = shop / f"2026-01-01-job-{k}"
        folder.mkdir(parents=True)
        os.link(shop.parent / "recordings" / f"{k % DIFFERENT}.jsonl", folder / "found-1.jsonl")
        block, housing = rng.integers(12, size=2)
        (folder / "job.toml").write_text(
            f'title = "job {k}"\nnumber = {k}\n[block]\nfamily = "B{block}"\nserial = "b{k}"\n'
            f'[housing]\nfamily = "H{housing}"\nserial = "h{rng.integers(1000)}"\n'
        )
        day = np.datetime64("2024-01-01") + int(k * 1000 / jobs)
        records = [Opened(time=f"{day}T08:00:00Z", title=f"job {k}"),
                   Sweep(time=f"{day}T09:00:00Z", file="found-1.jsonl", stage="found")]  # fmt: skip
        (folder / "journal.jsonl").write_bytes(b"".join(msgspec.json.encode(r) + b"\n" for r in records))


class Timed:
    """Prints what a part took: on the clock, and of processors, here and in processes that have ended."""

    def __init__(self, what: str, jobs: int) -> None:
        self.what, self.jobs = what, jobs

    def __enter__(self) -> None:
        self.begun = time.perf_counter(), _processor()

    def __exit__(self, *_: object) -> None:
        clock, used = time.perf_counter() - self.begun[0], _processor() - self.begun[1]
        shown = f"{clock:8.2f} s, of processors {used:8.2f} s, {1e3 * used / self.jobs:7.3f} ms a job"
        print(f"{self.what:<42} {shown}", flush=True)


def _processor() -> float:
    both = (resource.getrusage(which) for which in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(each.ru_utime + each.ru_stime for each in both)


def by_pool(paths: list[Path]) -> Iterator:
    return each(bore_of, paths, killed)


def by_cluster(paths: list[Path], address: str, cluster) -> Iterator:
    """A worker is killed when a third is done."""
    victim = next(iter(cluster.workers.values())).pid
    for k, bore in enumerate(each(bore_of, [path.resolve() for path in paths], killed, address)):
        if k == len(paths) // 3:
            os.kill(victim, signal.SIGKILL)
        yield bore


def main(jobs: int, *, cluster: bool) -> None:
    with tempfile.TemporaryDirectory() as where:
        shop = Path(where) / "shop"
        first = min(DIFFERENT, jobs)
        with Timed("(recordings made)", DIFFERENT):
            recordings(Path(where) / "recordings")
        made(shop, range(first), jobs)
        with Timed(f"{first} jobs read, nothing known, all cores", first):
            assert not any(job.left_out for job in learned(shop, by_pool))
        made(shop, range(first, jobs), jobs)
        with Timed("new jobs read, recordings known by seal", jobs):
            once = learned(shop, by_pool)
        with Timed("all read again, nothing changed", jobs):
            assert learned(shop, by_pool) == once
        (shop / "2026-01-01-job-0" / "job.toml").write_text('title = "another"\n')
        with Timed("all read again, one changed", jobs):
            learned(shop, by_pool)
        found = one_shop(once, [])
        with Timed("ledger", jobs):
            taken = ledger(found.found)
        with Timed("changes", jobs):
            changes(found.found, taken)
        print(f"index {(shop / NAME).stat().st_size / jobs:.0f} bytes a job, "
              f"most memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")  # fmt: skip
        if cluster:
            _cluster(sorted((Path(where) / "recordings").glob("*.jsonl")))


def _cluster(paths: list[Path]) -> None:
    from distributed import LocalCluster

    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as two:
        list(each(bore_of, paths[:64], killed, two.scheduler_address))  # loads what workers need
        with Timed("recordings, all cores", len(paths)):
            here = list(by_pool(paths))
        with Timed("recordings, cluster of two (clock)", len(paths)):
            assert list(each(bore_of, paths, killed, two.scheduler_address)) == here
        with Timed("the same, a worker killed (clock)", len(paths)):
            assert list(by_cluster(paths, two.scheduler_address, two)) == here


if __name__ == "__main__":
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("jobs", type=int, nargs="?", default=10_000)
    asked.add_argument("--cluster", action="store_true")
    given = asked.parse_args()
    main(given.jobs, cluster=given.cluster)
