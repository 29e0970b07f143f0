"""Which screen follows which: the rehearsal on the rig, and the whole bench."""

import tempfile
from datetime import datetime
from pathlib import Path
from typing import Final

from ..entry.preferences import Memory
from ..errors import OURS
from ..job.demo.rehearsal import Act, Rehearsal
from ..job.folder.index import Index
from ..job.folder.snapshot import look
from ..job.shows import RigShow
from ..job.sweep.replay import ReplayRun
from ..report.write import make_report
from ..say.dowels.choosing import Offer
from ..say.job.jobs import around_lines
from ..say.settings import settings_lines
from ..say.sweep.dialhunt import FOUND
from ..say.sweep.findings import comparison_lines, verdict
from .base import Program
from .bench import Bench
from .dial.dialflow import find_dial
from .jobs.jobflow import go_on
from .jobs.jobsscreen import JobsScreen, Wish
from .jobs.moreflow import more
from .jobs.newjobscreen import new_job
from .jobs.planscreen import PlanScreen
from .jobs.proofscreen import ProofScreen, Proven
from .jobs.recordingsscreen import RecordingsScreen
from .small.cautionsscreen import CautionsScreen
from .small.pages import Page
from .sweeping.donescreen import DoneScreen, Swept
from .sweeping.livescreen import LiveScreen
from .sweeping.replayscreen import ReplayScreen

_READ_S: Final = 12.0
"""How long the demo leaves a finding on the screen before it goes on."""


async def rehearse(app: Program, job: Rehearsal) -> list[str]:
    """Found, plan, set, left, verdict. Returns what to leave on the terminal; nothing if left early."""
    wait = _READ_S / job.speed
    found = job.act("found")
    if not await _acted(app, job, found, wait, "choose dowels"):
        return []
    result = found.run.result
    assert result is not None
    offer = Offer("built-in engine", result.tir.fitted, result.decision.limit)
    page_ = PlanScreen(job.options(), None, [], offer=offer, go_on_after=wait)
    chosen = await app.push_screen_wait(page_)
    if chosen is None:
        return []
    job.set_dowels(chosen)
    left = job.act("left")
    if not await _acted(app, job, left, wait, "proof"):
        return []
    proof = job.proof()
    page = ProofScreen(Proven("built-in engine", proof.found, proof.left, proof.comparison, leave="quit"))
    await app.push_screen_wait(page)
    made = make_report(look(job.job), app.unit)
    return [
        *comparison_lines(proof.comparison, app.unit, proof.left),
        "",
        f"  VERDICT: {verdict(proof.left, app.unit)}",
        "",
        *(f"  {line}" for line in around_lines(job.shop, made.path)),
    ]


async def _acted(app: Program, job: Rehearsal, act: Act, wait: float, then: str) -> bool:
    """An act of the rehearsal and its finding; whether to go on."""
    if not await app.push_screen_wait(LiveScreen(RigShow(act), act.run, go_on_after=0.0)):
        return False
    result = act.run.result
    if not job.played(act) or result is None:
        return False
    header = act.run.pipeline.header
    # The engine's hand sweeps once.
    swept = Swept(header.job or "", header.stage or "", result, then=then, again=False)
    return await app.push_screen_wait(DoneScreen(swept, go_on_after=wait)) == "on"


async def work_bench(app: Program, memory: Memory, shop: Path) -> None:
    """The jobs, and whatever is chosen there, until they are left."""
    bench = Bench(app, memory, shop)
    said, picked = "", ""
    while True:
        with Index(shop) as index:
            screen = JobsScreen(index, said, dial=bool(memory.get("dial_unit")), picked=picked)
            wish = await app.push_screen_wait(screen)
        if wish.way == "quit":
            return
        picked = wish.job.folder if wish.job is not None and wish.way != "new" else ""
        try:
            said = await _do(bench, wish)
        except OURS as error:
            said = f"! {error}"


async def _do(bench: Bench, wish: Wish) -> str:
    """What was wished; returns what is to be said of it."""
    app = bench.app
    match wish.way:
        case "rig":
            bench.memory.keep(rig="tried")
            folder = Path(tempfile.mkdtemp(prefix="coaxly-demo-"))
            await rehearse(app, Rehearsal(1, 1.0, folder))
        case "cautions":
            await app.push_screen_wait(CautionsScreen())
        case "recordings":
            await _watch(bench, wish)
        case "dial":
            return FOUND if await find_dial(bench) else ""
        case "new":
            await new_job(bench)
        case "go" if wish.job is not None:
            return await go_on(bench, wish.job)
        case "more" if wish.job is not None:
            return await more(bench, wish.job)
        case "settings":
            await app.push_screen_wait(Page("Settings", settings_lines(app.preferences, bench.shop), "back"))
    return ""


async def _watch(bench: Bench, wish: Wish) -> None:
    """Recordings of the job that was picked, and of the folder that one stands in, one after another."""
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
