"""Ten thousand jobs: how long the index takes to be built from the folders alone, to list, and to search.

.venv/bin/python tests/bench/jobs.py [HOW MANY]
"""

import sys
import tempfile
import time
from pathlib import Path

import msgspec

from coaxly.job.folder.index import NAME, Index
from coaxly.job.folder.journal import Answer, Opened, Sweep


def main(count: int) -> None:
    with tempfile.TemporaryDirectory() as where:
        shop = Path(where)
        for k in range(count):
            folder = shop / f"2026-11-25-van-{k}"
            folder.mkdir()
            (folder / "job.toml").write_text(f'number = {k}\ntitle = "van {k}"\ncustomer = "c{k % 97}"\n')
            records = [
                Opened(time="2026-11-25T10:00:00Z", title=f"van {k}"),
                Sweep(file="found-1.jsonl", stage="found", answer=Answer(0.3, 0.02, 0.127, "outside")),
            ]
            (folder / "journal.jsonl").write_bytes(b"".join(msgspec.json.encode(r) + b"\n" for r in records))
        for what, words in (("built from the folders", ""), ("listed", ""), ("searched", "c13 9")):
            begun = time.perf_counter()
            with Index(shop) as index:
                found = len(index.rows(words))
            print(f"{what:<24} {time.perf_counter() - begun:7.3f} s  {found} jobs", flush=True)
        (shop / NAME).unlink()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
