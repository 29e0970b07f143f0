"""The operator at the crank: stations asked for, taken, taken back and read once more."""

import asyncio
import math
from collections.abc import Callable
from typing import Final

from coaxly.fitter import Setup
from coaxly.fitter.dial import ways
from coaxly.fitter.geometry import EnteredDeg, InternalDeg, difference
from coaxly.logger.recording.records import INDICATOR, LARGEST_DEG, OPPOSITE
from coaxly.logger.watch.steady import SteadyWatch

from ..recorded.pipeline import Pipeline
from ..recorded.slips import not_taken, not_turned, of_typed
from .keeper import Keeper
from .linestate import LineState
from .news import Do, News, Task, What, Why
from .schedule import ONE_MORE, ONE_MORE_BACK, Due, Schedule

PATIENCE_S: Final = 20.0
"""So long may a dial move after a station was asked for; then the operator is no longer standing by."""


class Capture:
    """A station that was asked for, until it is taken or given up. Sans-IO.

    Rules: only a reading that came after it was asked for may take it, so that a slow dial cannot give the
    reading of the place before. A steady dial takes it; asked for twice, the next reading takes it as the
    dial stands. It is given up when the dial falls silent, its cable is lost or it never comes to rest:
    a reading that comes much later may be of another place.
    """

    def __init__(self) -> None:
        self.deg: EnteredDeg | None = None
        self._asked = self._waits_from = 0.0
        self._forced = False

    def ask(self, deg: EnteredDeg, t: float, *, force: bool = False) -> None:
        """Ask for a station at time `t`, s. force: take the next reading, steady or not."""
        if self.deg is None:
            self._asked = self._waits_from = t
        self.deg, self._forced = deg, force

    def reading(self, t: float, steady: bool) -> EnteredDeg | None:
        """A reading of time `t` came. Returns the station that is to be taken now, or None."""
        if self.deg is None or t <= self._asked:
            return None
        self._waits_from = t
        if not (steady or self._forced):
            return None
        deg = self.deg
        self.drop()
        return deg

    def overdue(self, t: float, patience_s: float) -> Why | None:
        """Why it is to be given up now: nothing came for patience_s, or the dial never rests."""
        if self.deg is None:
            return None
        if t - self._waits_from > patience_s:
            return Why.SILENT
        return Why.RESTLESS if t - self._asked > PATIENCE_S else None

    def drop(self) -> None:
        """Nothing is asked for any more."""
        self.deg, self._forced = None, False


_ROUND_GAP_DEG: Final = 20.0
"""All round is what leaves no larger gap: a slow dial on a fast crank leaves twelve degrees."""


class Stops:
    """Binds what is due (`Schedule`), what was asked for (`Capture`) and what the dial does to the recording.

    Rules: where angles come by themselves there are no stations to ask for. Nothing is asked for while the
    sweep is paused, a cable is lost or nothing comes from the dial, and a pause drops what was. A station
    counts as read once the pipeline has made one of it, and not before.
    """

    def __init__(self, pipeline: Pipeline, keeper: Keeper, lines: LineState, schedule: Schedule) -> None:
        """All of the schedule is due."""
        self._pipeline, self._keeper, self._lines = pipeline, keeper, lines
        self.schedule, self.capture = schedule, Capture()
        self.dial = SteadyWatch(pipeline.setup.dwell_s, pipeline.setup.steady_mm)
        self.paused = False
        self.continuous = pipeline.angle.mode != "entered"
        """Whether angles come by themselves, from an encoder or on the indicator's line."""
        self._is_round = False
        self._second = math.inf if OPPOSITE not in pipeline.decoders else -math.inf  # its newest bytes
        self._settled = asyncio.Event()
        keeper.ended = self._settled.set

    @property
    def next_deg(self) -> EnteredDeg | None:
        """The station that is due; None when all are read."""
        due = self.schedule.next
        return None if due is None or self.continuous else due.deg

    @property
    def due(self) -> tuple[InternalDeg, ...]:
        """All that are due, on the engine, the next one first."""
        setup = self._pipeline.setup
        return () if self.continuous else tuple(setup.internal_deg(due.deg) for due in self.schedule.due)

    def confirm(self, deg: float | None = None) -> None:
        """Take a station at `deg` of the scale, or the next one due, at the next reading that finds the dial
        steady. Asked again meanwhile, the next reading takes it as the dial stands."""
        if self._keeper.over:
            return
        if (nothing := self._lines.takes_nothing(continuous=self.continuous)) is not None:
            self._keeper.say(nothing)
            return
        asked, watch = self.capture.deg, self._lines.watch
        entered = EnteredDeg(deg) if deg is not None else asked if asked is not None else self.next_deg
        if (why := self._refusal(entered)) is not None:
            self._keeper.say(why)
            return
        assert entered is not None
        self._settled.clear()
        self.capture.ask(entered, self._keeper.session.now(), force=asked is not None and watch.heard)
        if not watch.heard:
            self._keeper.say(News(What.UNHEARD))
        elif not self.dial.steady:
            self._keeper.say(News(What.MOVING))

    def _refusal(self, deg: EnteredDeg | None) -> News | None:
        """Why no station can be asked for now; None if one can."""
        if self.paused:
            return News(What.PAUSED_STILL)
        if deg is None:
            return News(What.ALL_READ)
        return self._lines.refusal if abs(deg) <= LARGEST_DEG else News(What.NO_ANGLE_MEANT)

    def undo(self) -> None:
        """Take back a station that waits for a steady dial, or else the last one read."""
        if self._keeper.over:
            return
        if self.capture.deg is not None:
            self.give_up(Why.TAKEN_BACK)
            return
        if self.continuous or self._read() == 0:
            self._keeper.say(News(What.NOTHING_TO_UNDO))
            return
        self._keeper.guard(self._keeper.session.undo)
        self.schedule.undo()
        self._keeper.say(News(What.UNDONE))

    def retake(self) -> None:
        """Take the last station back and read it again where the crank now stands."""
        if self.continuous or self._read() == 0 or self.capture.deg is not None:
            self._keeper.say(News(What.NOTHING_TO_RETAKE))
            return
        self.undo()
        self.confirm()

    def typed(self, text: str, at: float | None = None) -> None:
        """A reading typed by hand, at the station that is due, or at an angle of the scale."""
        if self._keeper.over:
            return
        deg = EnteredDeg(at) if at is not None else self.next_deg
        if deg is None or abs(deg) > LARGEST_DEG:
            self._keeper.say(News(What.ALL_READ if deg is None else What.NO_ANGLE_MEANT))
            return
        data, before = text.encode("latin-1", "replace") + b"\n", self._read()
        self._station(deg, lambda: self._keeper.session.typed(INDICATOR, data, deg))
        taken = self._read() > before
        unit = self._pipeline.profile.unit
        if doubt := of_typed(self._pipeline.fitter, text, unit) if taken else not_taken(text, unit):
            self._keeper.say(News(What.DOUBT, doubt=doubt))

    def pause(self) -> None:
        """Hold the sweep while somebody is at the bell housing, or go on."""
        self.paused = not self.paused
        self._drop()
        self._lines.watch.switched_to = ""  # whoever goes on has looked at the dial
        self._keeper.note("paused" if self.paused else "goes on")
        self._keeper.say(News(What.PAUSED if self.paused else What.RESUMED))

    def another_turn(self, *, back: bool = False) -> None:
        """Read all stations once more, or in the other sense."""
        if self.continuous or self._keeper.over:
            return
        self.schedule.add_turn(back=back)
        self._keeper.note(ONE_MORE_BACK if back else ONE_MORE)
        self._keeper.say(News(What.TURN_BACK if back else What.TURN))

    async def captured(self) -> None:
        """Wait until the station that was asked for has been taken, or given up."""
        if self.capture.deg is not None:
            await self._settled.wait()

    def second_heard(self, t: float) -> None:
        """Bytes of the second dial came: a station needs both."""
        self._second = t

    def after_reading(self, t: float) -> None:
        """Readings came, the newest at t: is it the station that was asked for?"""
        if self.continuous:
            return
        due = self.next_deg
        if self._lines.watch.switched_to:
            self.give_up(Why.SWITCHED)
            return
        if self._pipeline.profile.on_demand:
            if due is not None and not self.paused:
                self._station(due, lambda: self._keeper.session.station(due, t))
            return
        asked = self.capture.reading(min(t, self._second), self.dial.steady)
        if asked is None and self.schedule.plan.auto and self.dial.ready and not self.paused:
            asked = due
        if asked is not None:
            self.dial.captured()
            self._station(asked, lambda: self._keeper.session.station(asked, t))
            self._settled.set()

    def give_up(self, why: Why) -> None:
        """A station that was asked for is not taken."""
        if (deg := self.capture.deg) is None:
            return
        self._drop()
        self._keeper.say(News(What.NOT_TAKEN, called(self._pipeline.setup, deg), why))

    def tick(self, t: float, patience_s: float) -> None:
        """Time has passed: a station is given up that nothing comes for."""
        if (why := self.capture.overdue(t, patience_s)) is not None:
            self.give_up(self._lines.why_silent if why is Why.SILENT else why)

    def task(self, *, steady: bool) -> Task:
        """What the operator is to do now."""
        if self.paused:
            return Task(Do.UNPAUSE)
        if (trouble := self._lines.trouble) is not None:
            return trouble
        if self.continuous:
            return Task(Do.ALL_ROUND if self._all_round() else Do.TURN_ROUND)
        if self.capture.deg is not None:
            return Task(Do.HOLD_STILL if steady else Do.WAIT_FOR_REST)
        if (due := self.schedule.next) is None:
            return Task(Do.FINISH)
        return turn_to(self._pipeline, due)

    def _all_round(self) -> bool:
        """Whether readings came from everywhere; nothing of it is ever taken back."""
        stations = self._pipeline.fitter.stations
        self._is_round = self._is_round or stations().largest_gap() <= _ROUND_GAP_DEG
        return self._is_round

    def _drop(self) -> None:
        self.capture.drop()
        self._settled.set()

    def _read(self) -> int:
        return len(self._pipeline.fitter.stations())

    def _station(self, deg: EnteredDeg, record: Callable[[], None]) -> None:
        """Record a station and see whether it came to anything."""
        before, expected = self._read(), self._pipeline.fitter.estimate()
        self._keeper.guard(record)
        if self._read() == before:
            if not self._pipeline.profile.typed:
                self._keeper.say(News(What.NO_READING))
            return
        self.schedule.read(deg)
        self._keeper.say(News(What.TAKEN, called(self._pipeline.setup, deg)))
        stations = self._pipeline.fitter.stations()
        if expected is not None and (at := not_turned(expected, self._pipeline.setup, stations)) is not None:
            self._keeper.say(News(What.NOT_TURNED, self._pipeline.setup.crank_deg(at)))
        value = float(stations.value[-1])
        self._keeper.notes(self._lines.watch.station(value, self._keeper.session.now()))


_QUARTERS: Final = (EnteredDeg(0.0), EnteredDeg(90.0))
"""Two places by which a scale is told from the clock's."""


def called(setup: Setup, deg: EnteredDeg) -> InternalDeg | None:
    """What a station is called: where the crank's mark stands, by the clock; None of a gauge step."""
    return None if setup.feature == "steps" else setup.crank_deg(setup.internal_deg(deg))


def _step(pipeline: Pipeline, due: Due) -> Task:
    """Which gauge step comes next, and from which side."""
    k, steps, profile = round(due.deg), pipeline.setup.steps_mm, pipeline.profile
    return Task(
        Do.LAY_STEP,
        step_mm=steps[k],
        inwards=ways(steps)[k] > 0,
        on_demand=profile.on_demand,
        typed=profile.typed,
    )


def turn_to(pipeline: Pipeline, due: Due) -> Task:
    """Where the crank goes next, on the engine and on the scale of whoever turns it."""
    setup, profile = pipeline.setup, pipeline.profile
    if setup.feature == "steps":
        return _step(pipeline, due)
    at = setup.crank_deg(setup.internal_deg(due.deg))
    own = any(abs(difference(setup.crank_deg(setup.internal_deg(deg)), deg)) > 1e-9 for deg in _QUARTERS)
    return Task(
        Do.TURN_TO,
        at,
        feature=setup.feature,
        scale_deg=EnteredDeg(due.deg % 360.0) if own else None,
        closing=due.closing,
        back=due.back,
        on_demand=profile.on_demand,
        typed=profile.typed,
    )
