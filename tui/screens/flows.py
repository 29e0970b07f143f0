"""Which screen follows which: the rehearsal on the rig, and the whole bench."""

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Final

from fitter.dowels.plan import Workshop
from logger.ports import ports

from ..entry.kits import load_kits
from ..entry.preferences import Memory
from ..errors import OURS
from ..job.jobstate import load
from ..job.pipeline import replay
from ..job.rehearsal import Act, Rehearsal
from ..job.replay import ReplayRun
from ..job.shows import RigShow
from ..say.cautions import page
from ..say.findings import comparison_lines, verdict
from .cautions import CautionsScreen
from .done import DoneScreen, Swept
from .jobflow import HERE, choose_dowels, dowels_in, head_of, next_step, proof, sweep_job
from .live import LiveScreen
from .pages import Page
from .plan import PlanScreen
from .recordings import RecordingsScreen
from .replay import ReplayScreen
from .setting import SettingScreen
from .start import FIRST, StartScreen

if TYPE_CHECKING:
    from .app import CoaxlyApp

_READ_S: Final = 12.0
"""How long the demo leaves a finding on the screen before it goes on."""


async def rehearse(app: "CoaxlyApp", job: Rehearsal) -> list[str]:
    """Found, plan, set, left, verdict. Returns what to leave on the terminal; nothing if left early."""
    wait = _READ_S / job.speed
    found = job.act("found")
    if not await _acted(app, found, wait, "choose dowels"):
        return []
    chosen = await app.push_screen_wait(PlanScreen(job.options(found.run), None, [], go_on_after=wait))
    if chosen is None:
        return []
    job.set_dowels(chosen)
    job.write_job(chosen)
    left = job.act("left")
    if not await _acted(app, left, wait, "proof"):
        return []
    assert left.run.result is not None
    comparison = job.comparison(found.run, left.run, chosen)
    words = [
        *comparison_lines(comparison, app.unit, left.run.result),
        "",
        f"  VERDICT: {verdict(left.run.result, app.unit)}",
        "",
        f"  Recordings: {job.folder}",
    ]
    assert found.run.result is not None
    picture = proof(app, found.run.result, left.run.result, comparison)
    head = head_of(app, found.run.result, left.run.result)
    await app.push_screen_wait(Page("Proof: planned against measured", words, "", picture=picture, head=head))
    return words


async def _acted(app: "CoaxlyApp", act: Act, wait: float, then: str) -> bool:
    """An act of the rehearsal and its finding; whether to go on."""
    if not await app.push_screen_wait(LiveScreen(RigShow(act), act.run, go_on_after=0.0)):
        return False
    result = act.run.result
    if result is None:
        return False
    header = act.run.pipeline.header
    done = DoneScreen(Swept(header.job or "", header.stage or "", result, then=then), go_on_after=wait)
    while (wanted := await app.push_screen_wait(done)) == "again":
        done = DoneScreen(done.swept)  # the engine's hand sweeps once: look at it as long as you like
    return wanted == "on"


async def work_bench(app: "CoaxlyApp", memory: Memory) -> None:
    """The start screen, and whatever is chosen there, until it is left."""
    words = FIRST if memory.first_time else _where_it_stands(memory, app.unit)
    while True:
        listed = [(port.by_id or port.device, port.by_id or port.device) for port in ports()]
        choice = await app.push_screen_wait(StartScreen(memory, listed, words, app.preferences.kit))
        words = ""
        if choice.way == "quit":
            return
        try:
            if choice.way == "rig":
                folder = Path(tempfile.mkdtemp(prefix="coaxly-demo-"))
                memory.keep(rig="tried")
                await rehearse(app, Rehearsal(1, 1.0, folder))
            elif choice.way == "cautions":
                await app.push_screen_wait(CautionsScreen())
            elif choice.way == "recordings":
                await _watch(app)
            elif choice.way == "dowels":
                words = await _guide(app, memory, choice.job)
            elif await _cautioned(app, memory):
                words = await sweep_job(app, memory, choice)
        except OURS as error:
            words = f"! {error}"


def _where_it_stands(memory: Memory, unit: str) -> str:
    try:
        return next_step(memory.get("job"), unit)
    except OURS as error:
        return f"! {error}"


async def _watch(app: "CoaxlyApp") -> None:
    """Recordings of this folder, one after another."""
    while True:
        path = await app.push_screen_wait(RecordingsScreen(_recordings_here()))
        if path is None:
            return
        await app.push_screen_wait(ReplayScreen(ReplayRun(path, 1.0)))


def _recordings_here() -> list[tuple[Path, str]]:
    return [
        (path, f"{path.name}   {path.stat().st_size / 1024:.0f} kB")
        for path in sorted(Path().glob("*.jsonl"))
    ]


async def _cautioned(app: "CoaxlyApp", memory: Memory) -> bool:
    """Whether the cautions were read, now or before."""
    if memory.get("read_cautions") != "yes":
        if not await app.push_screen_wait(Page("Before the first sweep", page(), "I have read this")):
            return False
        memory.keep(read_cautions="yes")
    return True


async def _guide(app: "CoaxlyApp", memory: Memory, job: str) -> str:
    """How the dowels of a job are set, as often as anybody wants to see it."""
    state = load(job, HERE)
    if state.option is None:
        return f"No dowels were chosen for {job or 'this job'} in this folder yet."
    answer = await app.push_screen_wait(SettingScreen(state.title, state.option, None))
    if answer == "in":
        memory.keep(stage="left")
        return dowels_in(state.option, app.unit)
    if answer == "again" and state.found:
        workshop = Workshop(load_kits(memory.get("kit") or app.preferences.kit))
        return await choose_dowels(app, memory, state, replay(HERE / state.found), workshop)
    return next_step(job, app.unit)
