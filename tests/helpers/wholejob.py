"""A whole job worked by `coaxly.job` alone: found, dowels, left, proof, audit; on a pseudo-terminal, in simulated time."""

import asyncio
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import clockwork

from coaxly.fitter import Setup
from coaxly.fitter.geometry import polar
from coaxly.job.folder.index import open_job
from coaxly.job.folder.journal import Opened, now
from coaxly.job.folder.shop import Job
from coaxly.job.folder.snapshot import look
from coaxly.job.recorded.pipeline import replay
from coaxly.job.steps.audit import audit
from coaxly.job.steps.choosing import basis, take
from coaxly.job.steps.jobsteps import note_sweep, put_in
from coaxly.job.steps.proving import note_proof, pair_of
from coaxly.job.steps.wishes import Wish
from coaxly.job.sweep.begin import begin
from coaxly.job.sweep.request import SweepRequest
from coaxly.job.sweep.run import SweepRun
from coaxly.job.sweep.schedule import Plan
from coaxly.logger.angle.source import Source
from coaxly.logger.clock import SessionClock
from coaxly.logger.profile import built_in
from coaxly.logger.rig.engine import Engine, Rig
from coaxly.logger.rig.rigport import RigPort

TITLE = "invented engine"
KIT = "3thou,5thou,7thou,10thou,15thou"
ENGINE = Engine(centre=(0.10, -0.12), noise=0.0005, tremble=0.01, resolution=0.0001)


async def swept(job: Job, engine: Engine, stage: str) -> SweepRun:
    """A sweep asked for as a screen or the command line asks, with a hand at the crank."""
    clock, rig = SessionClock(), Rig(engine, turn_deg_s=90.0)
    async with RigPort(lambda t: f"{rig.reading(t):+.4f}\r\n".encode(), clock) as port:
        request = SweepRequest(
            dial=Source(port.url, replace(built_in("stream-decimal"), unit="mm")),
            plan=Plan(8),
            setup=Setup(steady_mm=0.006),
            job=TITLE,
            stage=stage,
            out=job.free_recording(stage, "bore"),
        )
        run = begin(request, clock)
        sweep = asyncio.create_task(run.play())
        at = 0.0
        while (due := run.next_deg) is not None:
            at = due if due >= at else due + 360.0
            await asyncio.sleep(max(rig.turn_to(at, clock()) - clock(), 0.0) + 0.1)
            run.confirm()
            await run.captured()
        run.finish()
        await sweep
    return run


async def work(shop: Path) -> dict[str, Any]:
    """From the first sweep to the audit; after each step the job is taken up anew from its folder."""
    folder = open_job(shop, TITLE, {"kit": KIT}, Opened(time=now(), title=TITLE)).path
    steps = [look(Job(folder)).state.next]

    def job(record: Any = None) -> Job:
        if record is not None:
            Job(folder).note(record)
        steps.append(look(Job(folder)).state.next)
        return Job(folder)

    first = await swept(job(), ENGINE, "found")
    note_sweep(job(), first)
    shown = basis(look(job()), Wish(taking=True))
    which = next(k for k, each in enumerate(shown.options, 1) if each.dowels)
    take(shown, which)
    dowels = look(job()).state.chosen.dowels
    job(put_in(look(job()), dowels))
    moves = [polar(offset, deg) for offset, deg in dowels]
    fitted = tuple(sum(axis) / len(moves) for axis in zip(*moves, strict=True))
    second = await swept(job(), ENGINE.moved(fitted), "left")
    note_sweep(job(), second)
    proof = pair_of(look(job()), Wish())
    note_proof(proof)
    names = (f"{stage}-1.jsonl" for stage in ("found", "left"))
    return {
        "found": first.result,
        "left": second.result,
        "replayed": replay(folder / "found-1.jsonl").result(),
        "proof": proof.comparison,
        "audits": [audit(folder / name) for name in names],
        "steps": list(dict.fromkeys([*steps, look(job()).state.next])),
    }


def main(folder: Path) -> None:
    """Work it, look at it, and see what it took."""
    job = clockwork.run(work(folder))
    assert job["found"].decision.state == "outside" and job["left"].decision.state == "inside"
    assert abs(job["found"].eccentricity.vector[0]) > 0.05
    assert job["replayed"].to_dict() == job["found"].to_dict()
    assert job["proof"].planned is not None and job["proof"].difference is not None
    assert [each.state for each in job["audits"]] == ["ok", "ok"], job["audits"]
    assert job["steps"] == ["sweep found", "choose", "fit", "sweep left", "verify", "report"]
    screens = {
        "textual",
        "rich",
        "argparse",
        "coaxly.say",
        "coaxly.screens",
        "coaxly.commands",
        "coaxly.parser",
    }
    assert not screens & set(sys.modules), screens & set(sys.modules)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
