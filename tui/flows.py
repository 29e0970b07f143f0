"""Which screen follows which: the rehearsal on the rig, and the whole bench."""

import re
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Final

from fitter import FitterError, Result
from fitter.compare import Comparison, compare
from fitter.plan import Option, Workshop, advice, plan
from fitter.split import Setting
from logger.errors import LoggerError
from logger.ports import ports

from .answer import answer
from .cautions import page
from .errors import UsageError
from .kits import load_kits
from .lengths import LengthError, length
from .memory import Memory
from .planning import measured_by
from .rehearsal import Rehearsal, setting_of
from .replayrun import ReplayRun
from .say import comparison_lines, result_lines, verdict
from .screens.live import LiveScreen
from .screens.pages import Page
from .screens.plan import PlanScreen
from .screens.recordings import RecordingsScreen
from .screens.replay import ReplayScreen
from .screens.start import FIRST, Choice, StartScreen
from .shows import LiveShow, RigShow
from .sweeprun import SweepRun
from .widgets.proofplot import ProofPlot
from .widgets.verdict import Verdict

if TYPE_CHECKING:
    from .app import CoaxlyApp

_READ_S: Final = 12.0
"""How long the demo leaves a finding on the screen before it goes on."""

_WORDS = (LoggerError, FitterError, UsageError, LengthError)


async def rehearse(app: "CoaxlyApp", job: Rehearsal) -> list[str]:
    """Found, plan, set, left, verdict. Returns what to leave on the terminal; nothing if left early."""
    wait = _READ_S / job.speed
    found = job.act("found")
    if not await app.push_screen_wait(LiveScreen(RigShow(found), found.run, go_on_after=wait)):
        return []
    chosen = await app.push_screen_wait(PlanScreen(job.options(found.run), None, [], go_on_after=wait))
    if chosen is None:
        return []
    job.set_dowels(chosen)
    job.write_job(chosen)
    left = job.act("left")
    if not await app.push_screen_wait(LiveScreen(RigShow(left), left.run, go_on_after=wait)):
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
    picture = _proof(app, found.run.result, left.run.result, comparison)
    head = _head(app, found.run.result, left.run.result)
    await app.push_screen_wait(Page("Proof: planned against measured", words, "", picture=picture, head=head))
    return words


def _proof(app: "CoaxlyApp", found: Result, left: Result, comparison: Comparison) -> ProofPlot:
    x, y = found.eccentricity.vector
    planned = None
    if comparison.planned is not None:
        planned = (x + comparison.planned.vector[0], y + comparison.planned.vector[1])
    return ProofPlot(app.glyphs, left.decision.limit / 2.0, (x, y), planned, left.eccentricity.vector)


def _head(app: "CoaxlyApp", found: Result, left: Result) -> Verdict:
    before = f"before: {length(found.tir.fitted, app.unit)}"
    return Verdict(app.glyphs, answer(left, app.unit, before))


async def work_bench(app: "CoaxlyApp", memory: Memory) -> None:
    """The start screen, and whatever is chosen there, until it is left."""
    words = FIRST if memory.first_time else ""
    found: dict[str, tuple[Result, Setting | None]] = {}
    while True:
        listed = [(port.by_id or port.device, port.by_id or port.device) for port in ports()]
        choice = await app.push_screen_wait(StartScreen(memory, listed, words, app.settings.kit))
        words = ""
        if choice.way == "quit":
            return
        try:
            if choice.way == "rig":
                folder = Path(tempfile.mkdtemp(prefix="coaxly-demo-"))
                memory.keep(rig="tried")
                await rehearse(app, Rehearsal(1, 1.0, folder))
            elif choice.way == "cautions":
                await app.push_screen_wait(Page("Cautions, and the order of the job", page(), "back"))
            elif choice.way == "recordings":
                await _watch(app)
            else:
                words = await _sweep(app, memory, choice, found)
        except _WORDS as error:
            words = f"! {error}"


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


async def _sweep(
    app: "CoaxlyApp", memory: Memory, choice: Choice, found: dict[str, tuple[Result, Setting | None]]
) -> str:
    """Sweep, then plan or proof. Returns what to say on the start screen."""
    from .commands.sweep import prepare

    kit = load_kits(choice.kit)
    if memory.get("read_cautions") != "yes":
        if not await app.push_screen_wait(Page("Before the first sweep", page(), "I have read this")):
            return ""
        memory.keep(read_cautions="yes")
    run, sources = prepare(
        [
            "sweep", "--port", choice.port, "--profile", choice.profile, "--unit", choice.dial_unit,
            "--job", choice.job, "--stage", choice.stage, "--feature", choice.feature,
        ]
    )  # fmt: skip
    screen = LiveScreen(LiveShow(run, sources), run)
    finished = await app.push_screen_wait(screen)
    if screen.failure is not None:
        run.discard_if_empty()
        return f"! {screen.failure}"
    if not finished or run.result is None:
        return f"Kept as far as it went: {run.session.writer.path.name}"
    key = re.sub(r"\s+", " ", choice.job.lower())
    if choice.stage == "left" and key in found:
        await _prove(app, run, found[key])
    elif choice.feature == "bore":
        option = await _plan(app, run, Workshop(kit))
        found[key] = run.result, setting_of(option) if option else None
        if option is not None and option.dowels:
            memory.keep(stage="left")
            return f"Fit the dowels, then sweep as left. Recording: {run.session.writer.path.name}"
    else:
        await app.push_screen_wait(Page("The face", result_lines(run.result, app.unit), "back"))
    return f"Recording: {run.session.writer.path.name}"


async def _plan(app: "CoaxlyApp", run: SweepRun, workshop: Workshop) -> Option | None:
    assert run.result is not None
    measured = measured_by(run.pipeline, run.result)
    options = plan(measured, workshop)
    return await app.push_screen_wait(PlanScreen(options, workshop.pins, advice(measured, workshop, options)))


async def _prove(app: "CoaxlyApp", run: SweepRun, before: tuple[Result, Setting | None]) -> None:
    assert run.result is not None
    result, setting = before
    comparison = compare(result.eccentricity, run.result.eccentricity, setting)
    lines = [
        *comparison_lines(comparison, app.unit, run.result),
        "",
        f"  VERDICT: {verdict(run.result, app.unit)}",
    ]
    picture = _proof(app, result, run.result, comparison)
    head = _head(app, result, run.result)
    await app.push_screen_wait(
        Page("Proof: planned against measured", lines, "back", picture=picture, head=head)
    )
