"""The same of what lies in a shop: journals, job.toml, rigs, indexes, packs, pictures, tables.

    PYTHONPATH=tests:tests/helpers python tests/bench/fuzzjobs.py [--inputs 100000] [--seed 1]

A finished job of the shop is broken in one place at a time, at random or by what a later version or a person may have
written, and then looked at by whatever looks at jobs: its list line, everything that is known of it, its audit, now
and then its report.
"""

import contextlib
import io
import json
import random
import shutil
import zipfile
from pathlib import Path

from bench.fuzz import broken, main
from PIL import Image
from shopping import Shop, finished

from coaxly.entry.foundlist import load_found
from coaxly.entry.papers import load_table
from coaxly.errors import OURS
from coaxly.job.folder import details, packing
from coaxly.job.folder.index import NAME, Index
from coaxly.job.folder.kept import kept
from coaxly.job.folder.material import kit_of, limit_of, value_of
from coaxly.job.folder.pictures import NotShown, bare, taken_in
from coaxly.job.folder.rigs import rig_named
from coaxly.job.folder.shop import Job
from coaxly.job.folder.snapshot import look
from coaxly.job.steps.audit import audit_journal
from coaxly.job.steps.jobsteps import rig_of
from coaxly.job.steps.leftoff import left_off_at
from coaxly.logger.profile import load
from coaxly.report.content import Style, content
from coaxly.report.facts import gather
from coaxly.say.job.audits import audit_words
from coaxly.say.job.jobwords import job_lines, job_object
from coaxly.say.job.listwords import job_line, large_step, list_line, row_object

ODD = ["sideways", "", "\u202e", "crank", "²", "inside", "nudge", "x" * 300, "\x00", "../..", "1e999"]
VALUES = [None, True, -1, 2**64 - 1, 1e308, -1e308, [], {}, "", "²", "9" * 5000, [[]], {"a": {}}, 10**40]
TOML = [
    'number = "²"', f"number = {'9' * 5000}", f"number = {2**64 - 1}", "number = -0.0", "number = 2026-01-01", "title = []",
    'limit = "5 furlongs"', 'limit = "0"', 'limit = "-5thou"', 'limit = "1e308mm"', 'kit = "0thou"', 'kit = "nowhere.toml"',
    'rig = "../../etc"', "rig = { stations = -1 }", "rig = { closing = 1979-05-27T07:32:00Z }", 'dowels = "0,0 0,0"',
    'bolts = "99999999@1mm"', 'shims = ",,,"', "block = 5", "[block]\nfamily = 3", 'notes = """\n\n"""', "opened = inf",
    'title = "\\u0000\\u202e"', "title = nan", 'hole = "0.1"', 'face_radius = "-6in"', 'pilot = "1e-300in"', "x = 07:32:00",
    f'bolts = "6@{" " * 50_000}@x"', f'hole = "{"9" * 50_000}x"', f'dowels = "{"1," * 25_000}"',
]  # fmt: skip
CSV = ["deg,reading\n", "0,1.0\n", "45,1,5\n", "90;2\n", "angle,reading_thou\n", "1e999,nan\n", '"a""\n', "\x00\n", ",,,,\n",
       "block,housing,x,y\n", "a,b,1thou,2thou\n", "a,b,1,2,3,4\n", "9" * 5000 + "\n", "0," + "9" * 90_000 + "x\n", "\u202e,\ud800\n"]  # fmt: skip


TABLES = [
    "angle,reading\n" + "".join(f"{45 * k},{0.1 * k:.1f}\n" for k in range(8)),
    "angle;reading_thou\n" + "".join(f"{k};1,{k}\n" for k in range(0, 360, 45)),
    "block_family,housing_family,unit,block,housing,x,y\n"
    + "".join(f"a,b,thou,{k},{k + 1},1.{k},-2\n" for k in range(6)),
    "block_family;housing_family;unit;tir;high_deg;date\na;b;mm;0,1;45;2026-11-25\n",
]


class Ground:
    """A shop with a finished job, and its files as they were."""

    def __init__(self, folder: Path):
        self.shop = Shop(folder / "shop")
        with contextlib.redirect_stdout(io.StringIO()):
            self.shop("job", "open", "blue van", "--limit", "5thou", "--kit", "5thou,7thou", "--face")
            self.shop("job", "shimmed", "van", "none")
            finished(self.shop)
            self.shop("job", "note", "van", "a word")
        self.job = self.shop.job("van")
        self.journal = self.job.written.read_bytes()
        self.toml = (self.job.path / details.NAME).read_bytes()
        packing.pack(self.job, folder / "van.zip")
        self.pack = (folder / "van.zip").read_bytes()
        with Index(self.shop.folder) as index:
            index.keep("seal", "1", {"x": 1.0})
        self.index = (self.shop.folder / NAME).read_bytes()
        (self.shop.folder / "rigs").mkdir()
        self.pictures = []
        for form in ("JPEG", "PNG", "GIF", "WEBP", "TIFF", "BMP"):
            out = io.BytesIO()
            Image.effect_noise((64, 48), 90).convert("RGB").save(out, form)
            self.pictures.append(out.getvalue())

    def restore(self) -> None:
        self.job.written.write_bytes(self.journal)
        (self.job.path / details.NAME).write_bytes(self.toml)


_ground: dict[Path, Ground] = {}


def ground(folder: Path) -> Ground:
    return _ground.get(folder) or _ground.setdefault(folder, Ground(folder / "jobs"))


def looked_at(on: Ground, dice: random.Random) -> None:
    """By everything that looks at a job. The list never ends by one; the rest says what is wrong in words."""
    with Index(on.shop.folder) as index:
        for row in index.rows():
            off = left_off_at(Job(on.shop.folder / row.folder), row.next)
            assert list_line(row, "thou", off) and job_line(row, "thou", 100, _today(), off)
            json.dumps(row_object(row), allow_nan=False)
        index.next_number()
    known = look(on.job)
    audit_words(audit_journal(known))
    kept(known.job, known.records)
    job_lines(known, "thou")
    large_step(known.state, "thou")
    json.dumps(job_object(known, "thou"), allow_nan=False, default=str)
    if dice.random() < 0.05:
        content(gather(known, {}, ""), Style())


def _today():
    from datetime import UTC, datetime

    return datetime(2026, 11, 28, tzinfo=UTC)


def otherwise(dice: random.Random, line: bytes) -> bytes:
    """A record as a later version, or somebody with an editor, may write it: sound, with other values."""
    record = json.loads(line)
    inside = [record, *(value for value in record.values() if isinstance(value, dict))]
    table = dice.choice([each for each in inside if each])
    key = dice.choice(list(table))
    value = dice.choice(ODD) if isinstance(table[key], str) else dice.choice(VALUES)
    table[key] = value if dice.random() < 0.8 else dice.choice(VALUES)
    if dice.random() < 0.2:
        table["later"] = dice.choice(VALUES)
    return json.dumps(record).encode()


def a_journal(dice, folder):
    on = ground(folder)
    data = on.journal
    if dice.random() < 0.6:
        lines = data.splitlines()
        for _ in range(dice.randrange(1, 4)):
            k = dice.randrange(len(lines))
            lines[k] = otherwise(dice, lines[k])
        data = b"\n".join(lines) + b"\n"
    if dice.random() < 0.5:
        data = broken(dice, data)
    on.job.written.write_bytes(data)
    try:
        looked_at(on, dice)
    finally:
        on.restore()


def a_job_toml(dice, folder):
    on = ground(folder)
    lines = on.toml.decode().splitlines()
    for _ in range(dice.randrange(1, 4)):
        said = dice.choice(TOML)
        key = said.partition(" ")[0]
        lines = [line for line in lines if line.partition(" ")[0] != key]
        lines.insert(dice.randrange(len(lines) + 1), said)
    data = "\n".join(lines).encode()
    (on.job.path / details.NAME).write_bytes(data if dice.random() < 0.6 else broken(dice, data))
    try:
        for step in (limit_of, kit_of, lambda known: value_of(known, "dowels"), rig_of):
            with contextlib.suppress(*OURS):
                step(look(on.job))
        looked_at(on, dice)
        on.job.edit(limit="4thou")
    finally:
        on.restore()


RIG = [
    'name = "arm"\n', '[sag]\ndate = 2026-11-01\namount = "1thou"\nu95 = "0.1thou"\n', '[sag]\namount = 5\n', "stations = 8\n",
    '[dial]\ndate = 2026-11-01\nu95 = "0.01mm"\ncalibration = [["0mm", "0mm"], ["1mm", "0.01mm"]]\n', "calibration = 7\n",
    '[dial]\ndate = 2026-11-01\nu95 = "0mm"\ncalibration = []\n', 'sag = "1e308mm"\n', 'tip_angle = "30"\n', "closing = true\n",
]  # fmt: skip


def a_rig(dice, folder):
    on = ground(folder)
    data = "".join(dict.fromkeys(dice.choice(RIG) for _ in range(dice.randrange(1, 4)))).encode()
    (on.shop.folder / "rigs" / "arm.toml").write_bytes(data if dice.random() < 0.5 else broken(dice, data))
    rig_named("arm", on.shop.folder).setup()


def an_index(dice, folder):
    on = ground(folder)
    for end in ("-wal", "-shm"):
        (on.shop.folder / f"{NAME}{end}").unlink(missing_ok=True)
    (on.shop.folder / NAME).write_bytes(broken(dice, broken(dice, on.index)))
    with Index(on.shop.folder) as index:
        assert [row.title for row in index.rows()] == ["blue van"] and index.next_number() == 2
        assert index.result("seal", "1") in (None, {"x": 1.0})


def a_pack(dice, folder):
    on = ground(folder)
    source, there = folder / "x.zip", folder / "there"
    if dice.random() < 0.5:
        data = broken(dice, on.pack)
    else:
        out = io.BytesIO()
        with zipfile.ZipFile(
            out, "w", dice.choice([zipfile.ZIP_DEFLATED, zipfile.ZIP_STORED, zipfile.ZIP_LZMA])
        ) as file:
            name = dice.choice(["van", "..", "a:b", "", "van/x", "C:", "\u202e"])
            file.writestr(f"{name}/job.toml", on.toml if dice.random() < 0.5 else broken(dice, on.toml))
            file.writestr(
                f"{name}/journal.jsonl", on.journal if dice.random() < 0.5 else broken(dice, on.journal)
            )
        data = out.getvalue()
    source.write_bytes(data)
    try:
        job = packing.unpack(source, there)
        assert job.path.parent == there
        with Index(there) as index:
            index.rows()
    finally:
        shutil.rmtree(there, ignore_errors=True)


def a_picture(dice, folder):
    on = ground(folder)
    data = dice.choice(on.pictures)
    data = broken(dice, data) if dice.random() < 0.7 else data[: dice.randrange(len(data))]
    (folder / "p.bin").write_bytes(data)
    (folder / "taken").mkdir(exist_ok=True)
    try:
        taken_in(folder / "taken", folder / "p.bin")
    finally:
        shutil.rmtree(folder / "taken")
    with contextlib.suppress(NotShown):
        bare(data, 100)


def a_csv(dice, folder):
    path = folder / "t.csv"
    data = dice.choice(TABLES)
    if dice.random() < 0.5:
        lines = [*data.splitlines(True), *(dice.choice(CSV) for _ in range(dice.randrange(4)))]
        data = "".join(dice.sample(lines, len(lines)) if dice.random() < 0.3 else lines)
    sent = data.encode("utf-8", "surrogatepass")
    path.write_bytes(sent if dice.random() < 0.3 else broken(dice, sent))
    with contextlib.suppress(*OURS):
        load_found(path)
    load_table(path, dice.choice(["", "thou", "mm"]), load("typed"))


KINDS = {
    "journals": a_journal,
    "job.toml": a_job_toml,
    "rigs": a_rig,
    "indexes": an_index,
    "packs": a_pack,
    "pictures": a_picture,
    "tables": a_csv,
}
WEIGHTS = (5, 4, 2, 2, 2, 3, 2)

if __name__ == "__main__":
    main(KINDS, WEIGHTS)
