"""A whole job worked by `tui.job` alone: found, dowels, left, proof, audit; on a pseudo-terminal, in simulated time."""

import asyncio
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import clockwork

from fitter import Setup
from fitter.dowels.compare import compare
from fitter.dowels.kit import Kit
from fitter.dowels.plan import Workshop
from fitter.geometry import polar
from fitter.units import MM_PER_THOU as THOU
from logger.angle import Source
from logger.clock import SessionClock
from logger.profile import built_in
from logger.rig import Engine, Rig
from logger.rigport import RigPort
from tui.job.audit import audit
from tui.job.begin import begin
from tui.job.jobstate import JobState, load, recordings, save
from tui.job.pipeline import replay
from tui.job.planning import options_for
from tui.job.rehearsal import setting_of
from tui.job.request import SweepRequest
from tui.job.schedule import Plan
from tui.job.sweep import SweepRun

TITLE = "invented engine"
KIT = Kit.of([offset * THOU for offset in (3, 5, 7, 10, 15)], "the shop's kit")
ENGINE = Engine(centre=(0.10, -0.12), noise=0.0005, tremble=0.01, resolution=0.0001)


async def swept(folder: Path, engine: Engine, stage: str) -> SweepRun:
    """A sweep asked for as a screen or the command line asks, with a hand at the crank."""
    clock, rig = SessionClock(), Rig(engine, turn_deg_s=90.0)
    async with RigPort(lambda t: f"{rig.reading(t):+.4f}\r\n".encode(), clock) as port:
        request = SweepRequest(
            dial=Source(port.url, replace(built_in("stream-decimal"), unit="mm")),
            plan=Plan(8),
            setup=Setup(steady_mm=0.006),
            job=TITLE,
            stage=stage,
            out=folder / f"{stage}.jsonl",
        )
        run, sources = begin(request, clock)
        sweep = asyncio.create_task(run.run(sources))
        at = 0.0
        while (due := run.next_deg) is not None:
            at = due if due >= at else due + 360.0
            await asyncio.sleep(max(rig.turn_to(at, clock()) - clock(), 0.0) + 0.1)
            run.confirm()
            await run.captured()
        run.finish()
        await sweep
    return run


async def work(folder: Path) -> dict[str, Any]:
    """From the first sweep to the audit."""
    first = await swept(folder, ENGINE, "found")
    assert first.result is not None
    option = next(each for each in options_for(first.pipeline, first.result, Workshop(KIT)) if each.dowels)
    save(JobState(TITLE, "found.jsonl", option.to_dict()), folder)
    moves = [polar(dowel.offset, dowel.deg) for dowel in option.dowels]
    fitted = tuple(sum(axis) / len(moves) for axis in zip(*moves, strict=True))
    second = await swept(folder, ENGINE.moved(fitted), "left")
    assert second.result is not None
    state = load(TITLE, folder)
    before = replay(folder / state.found).result()
    proof = compare(before.eccentricity, second.result.eccentricity, setting_of(state.option), kit=KIT)
    return {
        "found": first.result,
        "left": second.result,
        "replayed": before,
        "proof": proof,
        "audits": [audit(folder / f"{stage}.jsonl") for stage in ("found", "left")],
        "listed": [path.name for path in recordings(TITLE, "left", "bore", folder)],
    }


def main(folder: Path) -> None:
    """Work it, look at it, and see what it took."""
    job = clockwork.run(work(folder))
    assert job["found"].decision.state == "outside" and job["left"].decision.state == "inside"
    assert abs(job["found"].eccentricity.vector[0]) > 0.05
    assert job["replayed"].to_dict() == job["found"].to_dict()
    assert job["proof"].planned is not None and job["proof"].difference is not None
    assert [each.state for each in job["audits"]] == ["ok", "ok"], job["audits"]
    assert job["listed"] == ["left.jsonl"]
    screens = {"textual", "rich", "argparse", "tui.say", "tui.screens", "tui.commands", "tui.parser"}
    assert not screens & set(sys.modules), screens & set(sys.modules)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
