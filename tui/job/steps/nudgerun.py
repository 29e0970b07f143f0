"""Dials on their lines, a recording of each, and the order of nudging: bound together, without a screen."""

import asyncio
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from coaxly.fitter import Setup
from coaxly.fitter.aim import Aim
from coaxly.fitter.analysis import corrected
from coaxly.fitter.geometry import EnteredDeg, InternalDeg, wrap
from coaxly.logger.angle.source import Source
from coaxly.logger.clock import Clock, SessionClock

from ...errors import RUN_ERRORS, UsageError
from ..folder.journal import Nudged, now
from ..folder.snapshot import Snapshot
from ..recorded.consistency import Doubt, in_doubt, need, tampered
from ..recorded.pipeline import Pipeline, replay
from ..sweep.begin import begin
from ..sweep.linestate import LinkState
from ..sweep.news import Do, News, Task
from ..sweep.request import TYPED, SweepRequest
from ..sweep.run import SweepRun
from ..sweep.schedule import Plan
from .nudge import QUARTER, TOLERANCE_MM, Came, Nudge, Step, ToGo

STAGE: Final = "nudge"
"""Of the recordings that it leaves: no sweep, and never taken for one."""

_OF_A_STEP: Final = 0.6
"""Of the dial's steps: it may stand half of one off and show nothing."""

_SHORTEST_DWELL_S: Final = 0.05
"""A sweep of typed readings has none to speak of."""

_TROUBLES: Final = (Do.PLUG_IN, Do.SET_BACK, Do.MEND_LINE, Do.MEND_DIAL, Do.SWITCH_ON)


@dataclass(frozen=True, slots=True)
class NudgeView:
    """A moment of it."""

    title: str
    step: Step
    came: Came | None
    deg: InternalDeg
    """Where the first dial is parked, or to be parked now."""
    scale_deg: EnteredDeg | None
    """The same on the operator's own scale, where that is another."""
    dials: int
    go: ToGo | None
    """How far it has to go by what the dials read now."""
    most: float
    """The farthest it had to go since the crank was parked here, mm."""
    tolerance: float
    shift: float | None
    """By how much the dial reads more than in the sweep, mm."""
    reading: float | None
    steady: bool
    waiting: bool
    """A reading was asked for, and the dial does not rest yet."""
    link: LinkState
    trouble: Task | None
    """What is to be done about cable and dial before anything else."""
    news: News | None
    """Why a reading that was asked for is not taken."""
    sd: float
    """Of where the sweep says the bore is, mm."""
    finished: bool
    failure: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NudgeRequest:
    """What it needs to know. swept: the sweep that it goes by; second: a dial a quarter turn on; tolerance:
    mm, None for the usual one, or more where the dial shows no smaller steps."""

    swept: Pipeline
    dial: Source
    second: Source | None = None
    outs: tuple[Path, ...]
    title: str = ""
    operator: str = ""
    tolerance: float | None = None


class NudgeRun:
    """Works one nudge. Raises UsageError, LoggerError or FitterError in words where it cannot begin."""

    def __init__(self, request: NudgeRequest, clock: Clock | None = None) -> None:
        swept, clock = request.swept, clock or SessionClock()
        _fits(request)
        result = swept.result()
        aim = Aim.of(swept.setup, result, corrected(swept.setup, swept.fitter.stations()))
        sources = [source for source in (request.dial, request.second) if source is not None]
        usual = max(TOLERANCE_MM, _OF_A_STEP * swept.setup.resolution_mm)
        tolerance = usual if request.tolerance is None else request.tolerance
        self.nudge = Nudge(aim, dials=len(sources), tolerance=tolerance)
        self.setup, self._title = swept.setup, request.title
        self.runs: Sequence[SweepRun] = [
            begin(_sweep(request, source, out, QUARTER * k), clock)
            for k, (source, out) in enumerate(zip(sources, request.outs, strict=True))
        ]
        self._taking: asyncio.Task[None] | None = None
        self._most = 0.0
        self._news: News | None = None
        self._failure = ""

    def speak_at(self, urls: Sequence[str]) -> None:
        """Where the dials are, if that is known only now."""
        for run, url in zip(self.runs, urls, strict=True):
            run.sources = {name: source._replace(url=url) for name, source in run.sources.items()}

    async def play(self) -> None:
        """Read the dials until it is done, or left. Raises LoggerError or FitterError."""
        plays = [asyncio.create_task(run.play()) for run in self.runs]
        try:
            done, _ = await asyncio.wait(plays, return_when=asyncio.FIRST_COMPLETED)
            for play in done:
                play.result()
        finally:
            self.stop()
            await asyncio.gather(*plays, return_exceptions=True)

    def press(self) -> None:
        """The one key: take what the dials read. Pressed again meanwhile, they are taken as they stand."""
        if self.finished:
            return
        if self._taking is not None and not self._taking.done():
            for run in self.runs:
                if run.view().waiting_for_steady:
                    run.confirm(self.entered_deg)
            return
        self._taking = asyncio.create_task(self._take())

    async def taken(self) -> None:
        """Wait until what was asked for is taken, or is not."""
        if self._taking is not None:
            await self._taking

    async def _take(self) -> None:
        deg, before = self.entered_deg, [self._count(run) for run in self.runs]
        for run in self.runs:
            run.confirm(deg)
        for run in self.runs:
            await run.captured()
        if self.finished or any(self._count(run) == n for run, n in zip(self.runs, before, strict=True)):
            self._news = next((view.news for run in self.runs if (view := run.view()).news), None)
            return
        self._news = None
        at = self.nudge.deg
        self.nudge.taken(tuple(float(run.pipeline.fitter.stations().value[-1]) for run in self.runs))
        if self.nudge.deg != at or self.nudge.step is not Step.TAP:
            self._most = 0.0
        if self.nudge.step is Step.DONE:
            self.stop()

    def stop(self) -> None:
        """End here: the recordings are whole, and hold no result."""
        for run in self.runs:
            if run.finished.is_set():
                continue
            try:
                run.session.finish(None)
            except RUN_ERRORS as error:
                self._failure = str(error)
            run.stop()

    def discard_if_empty(self) -> None:
        """Remove recordings that hold nothing."""
        for run in self.runs:
            run.discard_if_empty()

    @property
    def finished(self) -> bool:
        """Whether nothing is read any more."""
        return any(run.finished.is_set() for run in self.runs)

    @property
    def entered_deg(self) -> EnteredDeg:
        """Where the first dial is parked, on the operator's scale."""
        return self.setup.entered_deg(InternalDeg(self.nudge.deg))

    def view(self) -> NudgeView:
        """Everything a screen shows, as of now."""
        views = [run.view() for run in self.runs]
        readings = tuple(view.reading for view in views if view.reading is not None)
        go = self.nudge.live(readings) if len(readings) == len(views) else None
        self._most = max(self._most, go.amount if go is not None else 0.0)
        worst = next((view for view in views if view.link is not LinkState.UP), views[0])
        own = self.setup.angle_sign < 0 or self.setup.zero_deg % 360.0 != 0.0
        return NudgeView(
            title=self._title,
            step=self.nudge.step,
            came=self.nudge.came,
            deg=InternalDeg(self.nudge.deg),
            scale_deg=self.entered_deg if own else None,
            dials=len(views),
            go=go,
            most=self._most,
            tolerance=self.nudge.tolerance,
            shift=self.nudge.shift,
            reading=views[0].reading,
            steady=all(view.steady for view in views),
            waiting=any(view.waiting_for_steady for view in views),
            link=worst.link,
            trouble=next((view.task for view in views if view.task.do in _TROUBLES), None),
            news=self._news,
            sd=self.nudge.aim.sd,
            finished=self.finished,
            failure=self._failure,
        )

    def _count(self, run: SweepRun) -> int:
        return len(run.pipeline.fitter.stations())


def _fits(request: NudgeRequest) -> None:
    """Whether the sweep can be gone by. Raises UsageError."""
    if request.swept.setup.feature != "bore":
        raise UsageError("only a bore is tapped into place: give a sweep of one")
    if request.dial.profile.name == TYPED:
        raise UsageError(
            "the last sweep was typed, and nudging needs a dial on a line: say which with --port, --profile "
            "(such as stream-decimal) and --unit"
        )
    if request.dial.profile.on_demand or request.dial.profile.has_opposite:
        raise UsageError("nudging needs one dial that sends by itself")
    if request.tolerance is not None and request.tolerance <= 0.0:
        raise UsageError("--tolerance must be more than nothing")


def _sweep(request: NudgeRequest, source: Source, out: Path, on_deg: float) -> SweepRequest:
    setup = request.swept.setup
    turned: dict[str, Any] = {"zero_deg": wrap(setup.zero_deg + on_deg)} if on_deg else {}
    if setup.dwell_s < _SHORTEST_DWELL_S:
        turned["dwell_s"] = Setup().dwell_s
    return SweepRequest(
        dial=source,
        plan=Plan(closing=False),
        setup=replace(setup, **turned),
        job=request.title,
        stage=STAGE,
        operator=request.operator,
        out=out,
    )


@dataclass(frozen=True, slots=True)
class ToTap:
    """The sweep that a housing is tapped by. doubts: why it may not be what it says it is."""

    path: Path
    pipeline: Pipeline
    doubts: list[Doubt]

    @property
    def off(self) -> bool:
        """Whether anything off-centre was found that could be tapped away. Raises FitterError."""
        return self.pipeline.result().eccentricity.detected


def to_tap(source: Path | Snapshot) -> ToTap:
    """A recording of the bore, or the one that a job goes by. Raises LoggerError, FitterError or
    UsageError."""
    path = source if isinstance(source, Path) else sweep_to_go_by(source)
    pipeline = replay(path)
    need(pipeline, str(path), "bore", "nudge")
    return ToTap(path, pipeline, [*tampered(str(path)), *in_doubt(str(path), pipeline.result())])


def sweep_to_go_by(known: Snapshot) -> Path:
    """The last sweep of the bore as the housing stands. Raises UsageError where there is none, or where
    dowels are in."""
    state = known.state
    if state.fitted is not None and state.fitted.dowels:
        raise UsageError(
            f"{known.title}: dowels are in, and a housing on dowels is not tapped",
            command=f"take them out, say so (coaxly job fitted {known.called} none), and sweep again",
            keys="take them out, say none (J, I), and sweep again",
        )
    changed = state.nudged is not None or (state.fitted is not None and state.fitted is not state.before)
    sweep = state.left if changed else state.found
    if sweep is None:
        stage = "left" if changed else "found"
        raise UsageError(
            f"{known.title}: sweep the bore first as the housing stands now",
            command=f"coaxly sweep --job {known.called} --stage {stage}",
            keys=f"J, {stage[0].upper()}",
        )
    return known.recording_of(sweep)


def request_in(
    known: Snapshot, swept: Pipeline, dials: tuple[Source, Source | None], tolerance: float | None = None
) -> NudgeRequest:
    """What a nudge of the job needs. dials: the first, and one a quarter turn on. Raises UsageError."""
    dial, second = dials
    names = ("nudge", "nudge second")[: 2 if second else 1]
    return NudgeRequest(
        swept=swept,
        dial=dial,
        second=second,
        outs=tuple(known.job.free_recording(name, "bore") for name in names),
        title=known.title,
        operator=known.details.technician,
        tolerance=tolerance,
    )


def note_nudge(known: Snapshot, path: Path, run: NudgeRun) -> bool:
    """Note how it ended, once the bolts may have been slack; empty recordings are removed. Returns whether it
    was noted. Raises UsageError or Failure."""
    if run.nudge.step is Step.PARK:
        run.discard_if_empty()
        return False
    known.job.note(
        Nudged(
            time=now(),
            operator=known.details.technician,
            sweep=path.name,
            files=tuple(each.session.writer.path.name for each in run.runs),
            remaining=run.nudge.remaining(),
            held=run.nudge.step is Step.DONE,
        )
    )
    return True
