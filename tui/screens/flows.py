"""What the list of jobs leads to. The list is there before any of it is loaded."""

import asyncio
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Final

from ..entry.preferences import Memory
from ..errors import OURS, on_screen
from ..job.folder.index import Index
from ..job.folder.snapshot import look
from .base import Bench, Program
from .jobs.jobsscreen import JobsScreen, Wish
from .small.cautionsscreen import CautionsScreen
from .small.waitscreen import Counted, Stopped, WaitScreen

_SOON_S: Final = 0.5
"""Before that nobody wonders whether anything happens."""


async def work_bench(app: Program, memory: Memory, shop: Path) -> Sequence[str]:
    """The jobs, and whatever is chosen there, until they are left."""
    bench = Bench(app, memory, shop)
    said, picked = "", ""
    while await _read(app, shop):
        with Index(shop) as index:
            screen = JobsScreen(index, said, dial=bool(memory.get("dial_unit")), picked=picked)
            wish = await app.push_screen_wait(screen)
        if wish.way == "quit":
            break
        picked = wish.job.folder if wish.job is not None else ""
        try:
            if wish.way == "new":
                picked, said = await _new_job(bench) or picked, ""
            else:
                said = await _do(bench, wish)
        except OURS as error:
            said = f"! {on_screen(error)}"
    return ()


async def _read(app: Program, shop: Path) -> bool:
    """Bring the list of jobs up to date; what takes long says how far it is. False: nobody wants to wait."""
    counted = Counted("Reading the jobs")

    def read() -> None:
        with Index(shop, counted.watch):
            pass

    reading = asyncio.create_task(asyncio.to_thread(read))
    try:
        await asyncio.wait({reading}, timeout=_SOON_S)
        if not reading.done():
            await app.push_screen(page := WaitScreen(counted))
            await asyncio.wait({reading})
            page.dismiss(None)
        await reading
    except Stopped:
        return False
    finally:
        counted.stopped = True  # a program that ends does not wait for it
    return True


async def _new_job(bench: Bench) -> str:
    """The folder of a job that was begun, "" where it was not."""
    from .jobs.newjobscreen import new_job

    job = await new_job(bench)
    return "" if job is None else job.folder


async def _do(bench: Bench, wish: Wish) -> str:
    """What was wished; returns what is to be said of it."""
    app = bench.app
    match wish.way:
        case "rig":
            bench.memory.keep(rig="tried")
            return await _tried(app)
        case "cautions":
            await app.push_screen_wait(CautionsScreen())
        case "recordings":
            await _watch(bench, wish)
        case "dial":
            from ..say.sweep.dialhunt import FOUND
            from .dial.dialflow import find_dial

            return FOUND if await find_dial(bench) else ""
        case "go" if wish.job is not None:
            from .jobs.jobflow import go_on

            return await go_on(bench, wish.job)
        case "more" if wish.job is not None:
            from .jobs.moreflow import more

            return await more(bench, wish.job)
        case "settings":
            from .small.settingsscreen import settings

            await settings(bench)
    return ""


async def _tried(app: Program) -> str:
    """The built-in engine; returns where its shop is. Who ends the program meanwhile reads that on the
    terminal."""
    from ..job.demo.ownshop import own_shop
    from ..job.demo.rehearsal import Rehearsal
    from ..say.job.jobwords import stopped_words, tried_words
    from .rehearsing import rehearse

    def tell(shop: Path) -> None:
        app.words = app.words or [stopped_words(shop)]

    with own_shop("coaxly-demo-", tell) as shop:
        await rehearse(app, Rehearsal(1, 1.0, shop.folder))
        shop.told = True
    app.words = ()
    return tried_words(shop.folder) if shop.folder.is_dir() else ""


async def _watch(bench: Bench, wish: Wish) -> None:
    """Recordings of the job that was picked, and of the folder that one stands in, one after another."""
    from ..job.sweep.replayrun import ReplayRun
    from .jobs.pages import RecordingsScreen
    from .sweeping.replayscreen import ReplayScreen

    while True:
        found = [*(wish.job.recordings() if wish.job is not None else []), *_recordings_here()]
        title = look(wish.job).title if wish.job is not None else ""
        path = await bench.app.push_screen_wait(
            RecordingsScreen(title, [(each, _about(each)) for each in found])
        )
        if path is None:
            return
        await bench.app.push_screen_wait(ReplayScreen(ReplayRun(path, 1.0)))


def _recordings_here() -> list[Path]:
    return sorted(path for path in Path().glob("*.jsonl") if path.is_file())


def _about(path: Path) -> str:
    found = path.stat()
    day = datetime.fromtimestamp(found.st_mtime).strftime("%Y-%m-%d %H:%M")
    where = "" if path.parent == Path() else f"{path.parent.name}/"
    return f"{where}{path.name}   {found.st_size / 1024:.0f} kB   {day}"
