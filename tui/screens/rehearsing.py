"""The rehearsal on the rig: which screen follows which."""

from collections.abc import Sequence
from typing import Final

from ..job.demo.rehearsal import Rehearsal, RigRun
from ..job.folder.snapshot import look
from ..report.write import make_report
from ..say.dowels.optiontable import Offer
from ..say.job.jobwords import around_lines
from ..say.sweep.findings import comparison_lines, verdict
from .base import Program
from .jobs.planscreen import PlanScreen
from .jobs.proofscreen import ProofScreen, Proven
from .sweeping.donescreen import DoneScreen, Swept
from .sweeping.livescreen import LiveScreen

_READ_S: Final = 12.0
"""How long the demo leaves a finding on the screen before it goes on."""


async def rehearse(app: Program, job: Rehearsal) -> Sequence[str]:
    """Found, plan, set, left, verdict. Returns what to leave on the terminal, which the program has from the
    proof on, however that is left; nothing if left early."""
    wait = _READ_S / job.speed
    found = job.act("found")
    if not await _acted(app, job, found, wait, "choose dowels"):
        return []
    result = found.result
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
    made = make_report(look(job.job), app.unit)
    app.words = [
        *comparison_lines(proof.comparison, app.unit, proof.left),
        "",
        f"  VERDICT: {verdict(proof.left, app.unit)}",
        "",
        *(f"  {line}" for line in around_lines(job.shop, made.path)),
    ]
    page = ProofScreen(
        Proven("built-in engine", proof.found, proof.left, proof.comparison, leave="end", again=False)
    )
    await app.push_screen_wait(page)
    return app.words


async def _acted(app: Program, job: Rehearsal, run: RigRun, wait: float, then: str) -> bool:
    """An act of the rehearsal and its finding; whether to go on."""
    if not await app.push_screen_wait(LiveScreen(run, go_on_after=0.0)):
        return False
    result = run.result
    if not job.played(run) or result is None:
        return False
    header = run.pipeline.header
    # The engine's hand sweeps once.
    swept = Swept(header.job or "", header.stage or "", result, then=then, again=False)
    return await app.push_screen_wait(DoneScreen(swept, go_on_after=wait)) == "on"
