"""The index of a shop: what its list shows of each job, and results by the seal of the recording they are of.

Nothing is in it that the folders do not say (`store`). Each time it is opened, every folder's files are
looked at (their times and sizes), and only those that changed are read.
"""

import contextlib
import hashlib
import json
import os
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any, Final

import msgspec

from coaxly.logger.durable import make_folder
from coaxly.logger.locks import Held, NoLocks, lock

from ...entry.keys import nearest
from ...entry.names import plainly
from ...errors import OURS, UsageError, doing
from . import details, journal
from .kept import Kept, kept
from .progress import state
from .shop import Job, asked_for, is_job, make_job
from .store import Store

NAME: Final = "shop.sqlite"
_GATE: Final = ".opening"
_PATIENCE_S: Final = 30.0
_NUMBER: Final = re.compile(r"[0-9]{1,15}")
"""What can be counted on from. Numbers are people's, and may be anything else."""
_OURS: Final = re.compile(r"\.(?:jsonl|toml)(?!\w)", re.IGNORECASE)
"""In the names of what a job goes by, and of their copies."""


Watch = Callable[[Sequence[str]], Iterable[str]]
"""Hands on the names of what is to be read one by one, and so knows how far it is."""


class Row(msgspec.Struct, frozen=True):
    """One job of the list."""

    folder: str
    title: str
    number: str
    next: str
    feature: str
    opened: str
    block: str
    housing: str
    answer: dict[str, Any] | None
    """What the last sweep of its bore came to; of its face where the bore was not swept."""
    amiss: str
    """Why its files could not be read, "" where they could."""
    changed: int
    """When its files were changed last, ns."""
    lost: Kept = Kept()
    """Recordings and pictures that are not there, or others in their place."""
    unproved: bool = False
    """Whether it was closed before it was proved."""
    words: str = ""
    """All that it is searched by, in small letters."""
    id: str = ""
    """By which its journal begins, drawn by lot."""
    twins: tuple[str, ...] = ()
    """Other folders of the shop that hold the same job: copies of this one."""


_decoder: Final = msgspec.json.Decoder(Row)
_encoder: Final = msgspec.json.Encoder()


class Index:
    """The index of one shop, brought up to date when it is opened. To be used in a `with` statement."""

    def __init__(self, shop: Path, watch: Watch = iter) -> None:
        """Open it, or build it."""
        self.shop = shop
        self._store = Store(shop / NAME if shop.is_dir() else None)
        self._jobs: dict[str, tuple[str, Row]] = {}
        try:
            self.refresh(watch)
        except BaseException:
            self._store.close()
            raise

    def refresh(self, watch: Watch = iter) -> None:
        """Read the folders that changed since. Who stops it half way does not begin anew."""
        known, there = self._store.all("job"), dict(_stamps(self.shop))
        fresh: dict[str, Row] = {}
        try:
            for name in watch([name for name in there if name not in known or known[name][0] != there[name]]):
                fresh[name] = _row(self.shop / name, there[name])
        finally:
            rows = [(name, there[name], _encoder.encode(row).decode()) for name, row in fresh.items()]
            self._store.put("job", rows, gone=[name for name in known if name not in there])
        self._jobs = {
            name: (stamp, fresh[name] if name in fresh else _decoder.decode(known[name][1]))
            for name, stamp in there.items()
        }
        self._folders: dict[str, list[str]] = {}
        for name, (_, row) in self._jobs.items():
            if row.id:
                self._folders.setdefault(row.id, []).append(name)

    def rows(self, words: str = "") -> list[Row]:
        """Jobs whose title, names, numbers or notes hold every one of the words, the newest work first."""
        wanted = words.casefold().split()
        found = [row for _, row in self._jobs.values() if all(word in row.words for word in wanted)]
        return sorted(map(self._with_twins, found), key=lambda row: (-row.changed, row.folder))

    def _with_twins(self, row: Row) -> Row:
        twins = [folder for folder in self._folders.get(row.id, ()) if folder != row.folder]
        return msgspec.structs.replace(row, twins=tuple(sorted(twins))) if twins else row

    def next_number(self) -> int:
        """One more than the largest number of a job."""
        numbers = [int(row.number) for _, row in self._jobs.values() if _NUMBER.fullmatch(row.number)]
        return max(numbers, default=0) + 1

    def result(self, seal: str, model: str) -> dict[str, Any] | None:
        """What is known of a recording by its seal, if it was computed by this model."""
        found = self._store.one("result", seal)
        return json.loads(found[1]) if found is not None and found[0] == model else None

    def keep(self, seal: str, model: str, known: dict[str, Any]) -> None:
        """Keep what is known of a recording."""
        self._store.put("result", [(seal, model, json.dumps(known))])

    def stamps(self) -> dict[str, str]:
        """The folders of jobs, and what tells whether their files changed."""
        return {name: stamp for name, (stamp, _) in self._jobs.items()}

    def learned(self, model: str) -> dict[str, str]:
        """What this model knows of the bore of each job whose files have not changed since, by folder."""
        stamps = self.stamps()
        return {
            folder: text
            for folder, (stamp, text) in self._store.all("learned").items()
            if stamp == f"{model} {stamps.get(folder)}"
        }

    def keep_learned(self, model: str, rows: Sequence[tuple[str, str]]) -> None:
        """Keep it: folder, and what is known."""
        stamps = self.stamps()
        self._store.put("learned", [(name, f"{model} {stamps[name]}", text) for name, text in rows])

    def __enter__(self) -> "Index":
        """Use in a `with` statement."""
        return self

    def __exit__(self, *_: object) -> None:
        """Let go of it."""
        self._store.close()


def find_job(shop: Path, words: str, watch: Watch = iter) -> Job | None:
    """A job by its folder, its number, its title or a part of the title that no other has; None where there
    is none. Raises UsageError where there are several."""
    if not words.strip():
        return None
    with contextlib.suppress(OSError, ValueError, RuntimeError):  # what is no path is a title
        if is_job(path := Path(words).expanduser()):
            return Job(path.resolve())
    with Index(shop, watch) as index:
        rows = index.rows()
    key = plainly(words)
    tests = (
        lambda row: row.folder == words,
        lambda row: row.number.casefold() == key,
        lambda row: plainly(row.title) == key,
        lambda row: key in plainly(row.title) or key in row.folder,
    )
    for fits in tests:
        found = [row for row in rows if fits(row)]
        if len(found) == 1:
            return Job(shop / found[0].folder)
        if found:
            listed = ", ".join(row.folder for row in found[:6])
            more = f" and {len(found) - 6} more" if len(found) > 6 else ""
            raise UsageError(f"{words[:60]!r} may be {listed}{more}: say which folder")
    return None


def need_job(shop: Path, words: str, watch: Watch = iter) -> Job:
    """The same. Raises UsageError also where there is none."""
    if (job := find_job(shop, words, watch)) is not None:
        return job
    with Index(shop) as index:
        titles = {plainly(row.title): row.title for row in index.rows()}
    near = titles.get(nearest(plainly(words), titles))
    meant = f"is {near!r} meant? " if near else ""
    there = asked_for(shop)
    raise UsageError(
        f"no job in {shop} is called {words[:60]!r}: {meant}'coaxly job list{there}' shows them, "
        f"'coaxly job open TITLE{there}' begins one"
    )


def open_job(shop: Path, title: str, values: dict[str, Any], opened: journal.Opened) -> Job:
    """Begin a job; two programs that do at once give it two numbers. Raises UsageError or Failure."""
    with doing(f"make {shop}"):
        make_folder(shop)
    with alone(shop):
        with Index(shop) as index:
            number = values.get("number") or index.next_number()
        return make_job(shop, title, {**values, "number": number}, opened)


@contextlib.contextmanager
def alone(shop: Path) -> Iterator[None]:
    """Nobody else opens a job meanwhile, where the disk keeps locks. Raises UsageError or Failure."""
    with doing(f"write in {shop}"), (shop / _GATE).open("ab") as gate:
        try:
            with contextlib.suppress(NoLocks):
                lock(gate, _PATIENCE_S)
        except Held:
            raise UsageError(f"another program is opening a job in {shop}: try again") from None
        yield


def _stamps(shop: Path) -> Iterator[tuple[str, str]]:
    """The names of job folders, and what tells whether their files changed: when last (ns), and a sum."""
    try:
        folders = os.scandir(shop)
    except OSError:
        return
    with folders:
        for entry in folders:
            if entry.name.startswith(".") or entry.name.startswith(NAME):
                continue
            marks = _marks(entry.path)
            if journal.NAME in marks or details.NAME in marks:
                text = repr(sorted((name, *mark) for name, mark in marks.items()))
                newest = max(mark[0] for mark in marks.values())
                yield entry.name, f"{newest} {hashlib.sha256(text.encode()).hexdigest()[:24]}"


def _marks(folder: str) -> dict[str, tuple[int, int, int]]:
    """Time, size and number of what a job goes by, by name."""
    found = {}
    with contextlib.suppress(OSError), os.scandir(folder) as files:
        for each in files:
            if _OURS.search(each.name) and not each.name.startswith("."):
                with contextlib.suppress(OSError):
                    stat = each.stat()
                    found[each.name] = (stat.st_mtime_ns, stat.st_size, stat.st_ino)
    return found


def _row(path: Path, stamp: str) -> Row:
    """What the index holds of a job. Whatever its files are, the others are listed."""
    amiss: list[str] = []
    known = details.Details()
    records: tuple[journal.Record, ...] = ()
    with _noted(amiss):
        records = journal.read(path / journal.NAME).records
    with _noted(amiss):
        known = details.read(path / details.NAME)
    now = state(records)
    title = known.title or now.title or path.name
    notes = (each.text for each in records if isinstance(each, journal.Note))
    pieces = (known.block.text, known.housing.text)
    people = (known.customer, known.technician)
    texts = (path.name, title, str(known.number), *people, *pieces, known.notes)
    return Row(
        folder=path.name,
        title=title,
        number=str(known.number),
        next=now.next,
        feature=now.feature,
        unproved=now.closed and now.unproved,
        opened=str(known.opened) or (records[0].time if records else ""),
        block=known.block.text,
        housing=known.housing.text,
        answer=_answer(now.last or now.face.left or now.face.found),
        amiss="; ".join(amiss),
        changed=int(stamp.partition(" ")[0]),
        lost=kept(Job(path), records, hashed=False),
        words="\n".join((*texts, *notes)).casefold(),
        id=next((each.id for each in records if isinstance(each, journal.Opened)), ""),
    )


@contextlib.contextmanager
def _noted(amiss: list[str]) -> Iterator[None]:
    try:
        yield
    except (*OURS, OSError, ValueError) as error:
        amiss.append(str(error))


def _answer(last: journal.Sweep | None) -> dict[str, Any] | None:
    if last is None or last.answer is None:
        return None
    return {**msgspec.structs.asdict(last.answer), "feature": last.feature}
