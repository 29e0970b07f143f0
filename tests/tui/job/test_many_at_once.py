"""Many programs at once, in one job and in one shop: each step counts once, in order, and what is refused says why."""

import json
import os
from collections import Counter

import pytest
from PIL import Image
from shopping import SWEEP, finished_in, readings

from coaxly.job.folder.index import Index
from coaxly.job.folder.journal import Note, Photo, Reported, Sweep
from coaxly.job.folder.snapshot import look
from coaxly.logger.recording.seals import check_seals


@pytest.fixture
def shop(tmp_path):
    return finished_in(tmp_path / "shop")


def at_once(shop, each):
    """Exit codes and words of commands that are run by processes of their own, begun together."""
    go, hold = os.pipe()
    children = []
    for words, typed in each:
        answer, say = os.pipe()
        child = os.fork()
        if child == 0:
            os.close(hold)
            os.read(go, 1)  # until the other end is closed
            done = shop(*words, typed=typed)
            os.write(say, json.dumps([done.code, done.err[-3000:]]).encode())
            os._exit(0)
        os.close(say)
        children.append((child, answer))
    os.close(go)
    os.close(hold)
    told = []
    for child, answer in children:
        told.append(json.loads(os.read(answer, 1 << 16) or b'[70, "died"]'))
        os.close(answer)
        os.waitpid(child, 0)
    return told


def test_twenty_programs_in_one_job(shop, tmp_path):
    Image.new("RGB", (40, 30), "red").save(tmp_path / "dial.png")
    job = shop.job("van")
    before = look(job).records
    steps = [
        *(((*SWEEP, "--stage", "left"), readings(-0.1, 0.2 + 0.01 * k)) for k in range(4)),
        *((("report", "van", "--anyway"), "") for _ in range(4)),
        *((("job", "photo", "van", tmp_path / "dial.png"), "") for _ in range(4)),
        *((("job", "note", "van", f"note {k}"), "") for k in range(8)),
    ]
    told = at_once(shop, steps)
    # Who comes to sweep while another program does is sent away; all else is done.
    swept = [(code, said) for code, said in told[:4] if code != 2 or "is running" not in said]
    assert swept and all(code in (0, 1) for code, _ in [*swept, *told[4:]]), told
    known = look(job)
    assert known.records[: len(before)] == before and check_seals(job.written).state == "ok"
    added = known.records[len(before) :]
    assert Counter(type(each) for each in added) == {Sweep: len(swept), Reported: 4, Photo: 4, Note: 8}
    for kind in (Sweep, Reported, Photo):
        names = [each.file for each in added if isinstance(each, kind)]
        assert len(set(names)) == len(names) and all((job.path / name).is_file() for name in names)
    assert {each.text for each in added if isinstance(each, Note)} == {f"note {k}" for k in range(8)}
    times = [each.time for each in added]
    assert max(times) >= times[-1]


def test_eight_reports_at_once_give_eight(shop):
    told = at_once(shop, [(("report", "van"), "")] * 8)
    assert [code for code, _ in told] == [0] * 8, told
    assert len(list(shop.job("van").path.glob("report*.html"))) == 8


def test_twenty_programs_in_one_shop_open_list_and_unpack(shop, tmp_path):
    assert shop("job", "pack", "van", "-o", tmp_path / "van.zip").code == 0
    steps = [
        *((("job", "open", f"bus {k}"), "") for k in range(10)),
        *((("job", "unpack", tmp_path / "van.zip"), "") for _ in range(4)),
        *((("job", "list"), "") for _ in range(6)),
    ]
    told = at_once(shop, steps)
    assert [code for code, _ in told] == [0] * 20, told
    with Index(shop.folder) as index:
        rows = index.rows()
    assert len(rows) == 1 + 10 + 4 and not any(row.amiss for row in rows)
    assert len({row.number for row in rows if row.title.startswith("bus")}) == 10
    assert not list(shop.folder.glob(".unpacking-*"))
