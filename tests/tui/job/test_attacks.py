"""What each level of sealing proves of a job: each line of the manual's table is an attack here, and each attack a
line of it.
"""

import hashlib
import io
import json
import shutil
from contextlib import redirect_stdout
from pathlib import Path

import pytest
from making import RECORDINGS
from PIL import Image
from shopping import Shop, finished
from source import ROOT

from coaxly.job.folder.shop import Job
from coaxly.logger.recording.seals import check_seals
from coaxly.main import main

JOURNAL = "journal.jsonl"


def lines_of(path: Path) -> list[bytes]:
    return path.read_bytes().splitlines(keepends=True)


def sealed(lines: list[bytes]) -> bytes:
    """With honest seals and ends, as anybody can make them who has no key; signatures are left as they are."""
    data = b""
    for line in lines:
        mark = json.loads(line) if b'"sha256"' in line else {}
        if mark.get("kind") in ("seal", "end"):
            count = "lines" if mark["kind"] == "seal" else "records"
            mark |= {count: data.count(b"\n"), "sha256": hashlib.sha256(data).hexdigest()}
            line = json.dumps(mark, separators=(",", ":")).encode() + b"\n"
        data += line
    return data


def head_of(data: bytes) -> str:
    """The last seal's."""
    return next(
        json.loads(line)["sha256"] for line in reversed(data.splitlines()) if b'"kind":"seal"' in line
    )


def edited(path: Path, old: bytes, new: bytes, *, anew: bool) -> None:
    lines = [line.replace(old, new) for line in lines_of(path)]
    assert lines != lines_of(path)
    path.write_bytes(sealed(lines) if anew else b"".join(lines))
    assert check_seals(path).state == ("ok" if anew else "changed")


def names_change_places(job: Path) -> None:
    (job / "found-1.jsonl").rename(job / "x")
    (job / "left-1.jsonl").rename(job / "found-1.jsonl")
    (job / "x").rename(job / "left-1.jsonl")


def strangers(job: Path) -> None:
    shutil.copy(RECORDINGS / "launch-found.jsonl", job / "found-8.jsonl")
    shutil.copy(job / "found-1.jsonl", job / "found-9.jsonl")


def lines_change_places(job: Path) -> None:
    lines = lines_of(job / JOURNAL)
    first, second = (k for k, line in enumerate(lines) if b'"kind":"sweep"' in line)
    lines[first], lines[second] = lines[second], lines[first]
    (job / JOURNAL).write_bytes(sealed(lines))


def cut(job: Path, keep: bytes) -> None:
    """The journal up to the seal after the last line that holds this."""
    lines = lines_of(job / JOURNAL)
    at = max(k for k, line in enumerate(lines) if keep in line)
    end = next(k for k, line in enumerate(lines) if k > at and b'"kind":"seal"' in line)
    (job / JOURNAL).write_bytes(b"".join(lines[: end + 1]))


def rewritten(job: Path) -> None:
    """Another operator in every recording and in the journal, and all of it sealed anew, in the order of the work."""
    data: list[bytes] = []
    for line in lines_of(job / JOURNAL):
        record = json.loads(line)
        if record["kind"] == "sweep":
            path = job / record["file"]
            lines = lines_of(path)
            header = json.loads(lines[0]) | {"operator": "nobody", "journal": head_of(sealed(data))}
            recording = sealed([json.dumps(header, separators=(",", ":")).encode() + b"\n", *lines[1:]])
            path.write_bytes(recording)
            record |= {"operator": "nobody", "seal": head_of(recording)}
            line = json.dumps(record, separators=(",", ":")).encode() + b"\n"
        data.append(line)
    (job / JOURNAL).write_bytes(sealed(data))


def put_back(job: Path) -> None:
    shutil.rmtree(job)
    shutil.copytree(job.parents[1] / "earlier", job)


def replaced(job: Path) -> None:
    Image.new("RGB", (40, 30), "blue").save(job / "dial.png")


def toml(old: str, new: str):
    def attack(job: Path) -> None:
        text = (job / "job.toml").read_text()
        assert old in text
        (job / "job.toml").write_text(text.replace(old, new))

    return attack


ATTACKS = {
    "a byte of a recording is changed": lambda job: edited(
        job / "left-1.jsonl", b'"deg":45', b'"deg":46', anew=False
    ),
    "a recording is changed and sealed anew": lambda job: edited(
        job / "left-1.jsonl", b'"operator":""', b'"operator":"x"', anew=True
    ),
    "two recordings change their names": names_change_places,
    "a recording is taken away": lambda job: (job / "found-1.jsonl").unlink(),
    "a recording of another job, or a copy, is put in": strangers,
    "a line of the journal is changed": lambda job: edited(job / JOURNAL, b"a word", b"a lie", anew=False),
    "a line of the journal is changed and it is sealed anew": lambda job: edited(
        job / JOURNAL, b'"which":1', b'"which":2', anew=True
    ),
    "lines of the journal change places and it is sealed anew": lines_change_places,
    "the journal is cut at a seal before the last sweep": lambda job: cut(job, b'"kind":"chosen"'),
    "the journal is taken away": lambda job: (job / JOURNAL).unlink(),
    "job.toml is taken away": lambda job: (job / "job.toml").unlink(),
    "a picture or an earlier report is replaced": replaced,
    "the limit in job.toml is edited": toml('"5thou"', '"40thou"'),
    "anything else in job.toml is edited": toml("A. Sailor", "B. Sailor"),
    "recordings and journal are all rewritten and sealed anew, one after the other": rewritten,
    "what was noted after the last sweep is cut off at a seal": lambda job: cut(job, b'"kind":"proof"'),
    "the whole folder is put back to an earlier day": put_back,
}


@pytest.fixture(scope="module", params=["seals alone", "with a key"])
def worked(request, tmp_path_factory):
    """The level, and a folder with a job that was worked at it, beside it a copy from before its last note."""
    home = tmp_path_factory.mktemp("attacks")
    with pytest.MonkeyPatch.context() as here:
        here.setenv("XDG_CONFIG_HOME", str(home / "config"))
        if request.param == "with a key":
            assert main(["key", "--make"]) == 0
        shop = Shop(home / "shop")
        shop("job", "open", "blue van", "--limit", "5thou", "--kit", "5thou,7thou", "--customer", "A. Sailor")
        finished(shop)
        shutil.copytree(shop.job("van").path, home / "earlier")
        Image.new("RGB", (40, 30), "red").save(home / "dial.png")
        shop("job", "photo", "van", home / "dial.png")
        shop("job", "note", "van", "a word")
        yield request.param, home


def audited(level: str, home: Path) -> tuple[int, str]:
    out = io.StringIO()
    with redirect_stdout(out):
        code = main(["audit", str(home / "shop"), *(["--signed"] if level == "with a key" else [])])
    return code, out.getvalue()


def table() -> dict[str, dict[str, str]]:
    """The manual's: what is done, and what each level tells of it."""
    text = (ROOT / "tui" / "manual" / "seals.md").read_text(encoding="utf-8")
    rows = [
        [cell.strip() for cell in line.strip("|").split("|")]
        for line in text.partition("| what is done")[2].splitlines()[2:]
        if line.startswith("|")
    ]
    return {row[0]: {"seals alone": row[1], "with a key": row[2]} for row in rows}


def test_each_line_of_the_table_is_an_attack():
    assert list(table()) == list(ATTACKS)


def test_nothing_is_told_of_a_job_that_nobody_touched(worked):
    level, home = worked
    assert audited(level, home)[0] == 0


@pytest.mark.parametrize("what", ATTACKS)
def test_an_attack_is_told_as_the_table_says(worked, tmp_path, what):
    level, home = worked
    for each in home.iterdir():
        (shutil.copytree if each.is_dir() else shutil.copy)(each, tmp_path / each.name)
    (job,) = (tmp_path / "shop").glob("2*")
    ATTACKS[what](job)
    code, said = audited(level, tmp_path)
    told = table()[what][level]
    assert code == (1 if told == "told" else 0), said
    if told == "named":
        assert "B. Sailor" in said and Job(job).written.is_file()
