"""The one way from records to a result, live or replayed.

records -> decoder -> pairing -> fitter. A live session hands over each record as it is written, a
replay hands over the blocks of a file: the same code, and the same bits.
"""

import dataclasses
import math
from bisect import insort
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import chain
from pathlib import Path
from typing import Any, Final

from msgspec import UNSET
from msgspec.structs import replace

from coaxly.fitter import Fitter, FitterError, Result, Setup
from coaxly.fitter.analysis import analyse_together
from coaxly.fitter.clues.angles import wrong_way
from coaxly.fitter.clues.before import Before, beside
from coaxly.fitter.dial import DialCheck, check_dial
from coaxly.fitter.dowels.limits import Limit
from coaxly.fitter.geometry import EnteredDeg
from coaxly.fitter.keys import Share
from coaxly.fitter.numeric.basis import Floats
from coaxly.fitter.reading.joining import in_each
from coaxly.fitter.remarks import numbered
from coaxly.fitter.result import Remark
from coaxly.fitter.units import to_mm
from coaxly.fitter.withheld import made_sure, withhold
from coaxly.logger.angle.pairing import Pairing
from coaxly.logger.angle.source import AngleSource
from coaxly.logger.line.decoder import Decoder
from coaxly.logger.profile import Profile
from coaxly.logger.readings import Dwell, Fault, Readings, Sample, Track
from coaxly.logger.recording.reader import RecordingReader
from coaxly.logger.recording.records import (
    ENCODER,
    INDICATOR,
    OPPOSITE,
    Header,
    Link,
    Note,
    Raw,
    Record,
    ResultRecord,
    Seal,
    Station,
    Undo,
)
from coaxly.logger.watch.rezero import RezeroWatch
from coaxly.logger.watch.unitswitch import SwitchWatch

from ...entry.lengths import own_unit
from ...entry.rigging import OLD_DAYS, age_days
from .marked import Marked, set_anew
from .motion import Motion
from .slips import unit_doubt

_FAULTS_KEPT = 100
RESUMED = "resumed"
"""The note by which a sweep that was broken off goes on."""

_ACTS = (Station, Undo, Link)

ONE_HOUSING: Final = ("surface", "crank", "bearing_clearance_mm", "engine_tilt_deg")
"""What cannot differ between two sweeps of one surface."""

_AS_RECORDED: Mapping[str, Any] = {}

_Ports = dict[str, tuple[list[str], list[float]]]
_NOWHERE: list[str] = []
_NEVER: list[float] = []


class Pipeline:
    """Decoder, pairing and fitter of one recording.

    heard is called with each block of indicator readings, heard_opposite with those of a second indicator,
    paired with each sample before it is fitted, noted with each fault. faults: the earliest
    of the serious ones; fault_count: all of them.
    """

    def __init__(self, header: Header) -> None:
        """Set up by a header. Raises FitterError or LoggerError, in words, where it makes no sense."""
        self.header = header
        self.setup = Setup.from_header(header.setup, header.feature)
        self.profile = Profile.from_header(header.instrument)
        self.angle = AngleSource.from_header(header.angle)
        self.decoders = {
            INDICATOR: Decoder(self.profile, INDICATOR),
            ENCODER: Decoder(self.angle.encoder_profile, ENCODER),
        }
        if self.angle.opposite is not None:
            self.decoders[OPPOSITE] = Decoder(self.angle.opposite, OPPOSITE)
        self.pairing = Pairing(
            self.angle.mode,
            self.setup.dwell_s,
            two=OPPOSITE in self.decoders or self.profile.has_opposite,
            scale=self.angle.scale,
        )
        self.before = None if header.before is UNSET else Before.from_header(header.before)
        earlier = None if header.earlier is UNSET else Before.from_header(header.earlier)
        self.fitter = Fitter(self.setup, earlier)
        self.motion = Motion()
        self.heard: Callable[[Readings], None] = lambda block: None
        self.heard_opposite: Callable[[Readings], None] = lambda block: None
        self.paired: Callable[[Sample], None] = lambda sample: None
        self.noted: Callable[[Fault], None] = lambda fault: None
        self.marked = Marked(self.setup.dwell_s)
        self._watches = _watches(self.setup, self.angle)
        self.faults: list[Fault] = []
        self.fault_count, self._unit = 0, ""  # the unit of the last reading
        self.resumed = 0  # times that the sweep was broken off and taken up again
        self._now = -math.inf
        self.stored: ResultRecord | None = None
        # The last seal that the file states; in words, its lines that could not be read, and a torn last one.
        self.seal = self.damage = self.torn = ""

    def feed(self, records: Iterable[Record]) -> None:
        """Take in records in order. Between two doings of the operator or of a cable, the bytes of each
        port are decoded together, those of the encoder last: what comes out is the same, to the bit,
        as record by record."""
        ports: _Ports = {}
        port, chunks, times = "", _NOWHERE, _NEVER
        now = self._now
        for record in records:
            if type(record) is Raw:
                t = record.t
                if t < now:
                    self._ran_back(ports, t)
                    port = ""
                now = self._now = t
                if record.port != port:
                    port = record.port
                    chunks, times = ports.setdefault(port, ([], []))
                chunks.append(record.data)
                times.append(t)
            elif isinstance(record, _ACTS):
                self._together(ports)
                port = ""
                self._act(record)
            elif isinstance(record, ResultRecord):
                self.stored = record
            elif isinstance(record, Seal):
                self.seal = record.sha256
            elif type(record) is Note and record.text == RESUMED:
                self.resumed += 1
        self._together(ports)

    def result(self) -> Result:
        """What all of it says. Raises FitterError while it says nothing yet."""
        result = self.fitter.result()
        result = set_anew(result, [self.marked.jumps(self.fitter.stations().t)])
        result = dataclasses.replace(result, remarks=made_sure(result.remarks, self.setup))
        return _with_remarks(result, _doubts(self, result))

    def unit_doubts(self, result: Result) -> tuple[Remark, ...]:
        """Whether the readings are in the unit that the header says. result: of this recording alone."""
        found = unit_doubt(
            result, self.fitter, self.profile, self.header.stage, self._unit, two=self.pairing.two
        )
        return made_sure(found, self.setup)

    def finding(self) -> Result | DialCheck:
        """What a recording of any feature comes to. Raises FitterError while it says nothing yet."""
        if self.setup.feature == "steps":
            return check_dial(self.setup, self.fitter.stations())
        return self.result()

    def tells(self) -> bool:
        """Whether what was read so far comes to anything."""
        try:
            self.finding()
        except FitterError:
            return False
        return True

    def troubles(self) -> tuple[Remark, ...]:
        """What of the recording could not be used."""
        extra = []
        if (days := age_days(self.setup.rig_date, self.header.created)) > OLD_DAYS:
            extra.append(Remark.warning("rig_old", rig=self.setup.rig, date=self.setup.rig_date, days=days))
        extra += [Remark.warning("damaged", what=self.damage)] if self.damage else []
        extra += [Remark.warning("torn", what=self.torn)] if self.torn else []
        if self.fault_count:
            first = self.faults[0]
            extra.append(Remark.warning("bad_lines", count=self.fault_count, at_s=first.t, what=first.what))
        extra += self.marked.remarks(self.fitter.stations())
        if count := self.pairing.without_angle:
            extra.append(Remark.warning("no_angle", count=count, silent_s=self.pairing.outage_s))
        return made_sure(extra, self.setup)

    def _together(self, ports: "_Ports") -> None:
        """Decode and pair the chunks gathered by port, and empty the gathering."""
        if not ports:
            return
        turned = ports.pop(ENCODER, None)
        for port, (chunks, times) in ports.items():
            self._bytes(port, chunks, times)
        if turned is not None:
            self._bytes(ENCODER, *turned)
        ports.clear()
        self.pairing.settle(self._now)
        self._paired()

    def _bytes(self, port: str, chunks: list[str], times: list[float]) -> None:
        if (decoder := self.decoders.get(port)) is None:
            return
        data = "".join(chunks).encode("latin-1", "replace")  # what is no byte is of another hand
        decoder.feed_many(data, list(map(len, chunks)), times)
        for event in decoder.events():
            if isinstance(event, Fault):
                self._fault(event)
            else:
                if event.port == INDICATOR:
                    self._unit = (own_unit(chunks[-1]) if self.profile.typed else "") or event.unit
                    self.motion.heard(in_mm(event.value, event.unit))
                    self.heard(event)
                elif event.port == OPPOSITE:
                    self.heard_opposite(event)
                for watch in self._watches.get(event.port, ()):
                    for fault in watch.readings(event):
                        self._fault(fault)
                self.pairing.readings(event)

    def _act(self, record: Record) -> None:
        if isinstance(record, Station):
            self.marked.asked(record.t)
            self.pairing.station(record.deg, record.t)
        elif isinstance(record, Undo):
            self.pairing.undo()
        elif isinstance(record, Link) and record.state == "up" and record.port in self.decoders:
            self.decoders[record.port].connected(record.t)
            self.pairing.severed(record.port)
        self._paired()

    def _ran_back(self, ports: "_Ports", t: float) -> None:
        """Times that run back were not written by this program: they begin anew, and that is said."""
        self._together(ports)
        back = f"the recording's time runs back by {self._now - t:.6g} s"
        self.pairing.ran_back()
        self.marked.ran_back()
        for watch in chain(*self._watches.values()):
            watch.ran_back()
        self._fault(Fault(t, "file", f"{back}: readings before it do not count for what follows"))

    def _paired(self) -> None:
        for event in self.pairing.events():
            if isinstance(event, Fault):
                self._fault(event)
                continue
            self.paired(event)
            if isinstance(event, Dwell):
                moved = self.motion.taken(len(event.t))
                self.fitter.add_station(EnteredDeg(event.deg), _dwelled(event), event.t, moved)
                self.marked.taken(self.setup.internal_deg(EnteredDeg(event.deg)))
            elif isinstance(event, Track):
                self.fitter.add_track(event.deg, in_mm(event.value, event.unit), event.t)
            else:
                self.motion.undone()
                self.fitter.undo()
                self.marked.undone()

    def _fault(self, fault: Fault) -> None:
        self.noted(fault)
        if fault.kind:
            self.marked.add(fault.kind, fault.port, fault.t, fault.word)
        if fault.kind or not fault.serious:
            return
        self.fault_count += 1
        # In an order of their own, since ports are decoded one after the other.
        if len(self.faults) < _FAULTS_KEPT or _order(fault) < _order(self.faults[-1]):
            insort(self.faults, fault, key=_order)
            del self.faults[_FAULTS_KEPT:]


def _watches(setup: Setup, angle: AngleSource) -> dict[str, list[RezeroWatch | SwitchWatch]]:
    """What looks at each dial's readings for a key that was pressed."""
    # At stops a person is asked to set the unit back before a station is taken.
    switched = [] if angle.mode == "entered" else [SwitchWatch()]
    return {INDICATOR: [RezeroWatch(setup.steady_mm), *switched], OPPOSITE: [RezeroWatch(setup.steady_mm)]}


def _order(fault: Fault) -> tuple[float, str, str]:
    return fault.t, fault.port, fault.what


def replay(
    path: Path, given: Mapping[str, Any] = _AS_RECORDED, listen: Callable[[Pipeline], None] = lambda _: None
) -> Pipeline:
    """A whole recording through the pipeline. given: keys of the setup that count in place of the recorded.
    listen: takes hold of the pipeline before anything is fed. Raises LoggerError or FitterError in words."""
    with RecordingReader(path) as reader:
        header = reader.header
        if given:
            header = replace(header, setup={**header.setup, **given})
        pipeline = Pipeline(header)
        listen(pipeline)
        for block in reader.blocks():
            pipeline.feed(block)
    pipeline.damage, pipeline.torn = reader.damage, reader.torn or ""
    return pipeline


def judged_by(pipeline: Pipeline, limit: Limit | None) -> Result:
    """The result of a sweep, by another limit than that of its recording where one is given. Raises
    FitterError."""
    if limit is not None:
        # From here on there is one limit, whoever asks.
        pipeline.setup = dataclasses.replace(pipeline.setup, limit_mm=limit.tir, limit_source=limit.source)
        pipeline.fitter.setup = pipeline.setup
    return pipeline.result()


def together(pipelines: Sequence[Pipeline]) -> Result:
    """One result of several recordings of the same housing. Raises FitterError if they cannot be one."""
    first = pipelines[0].setup
    for pipeline in pipelines[1:]:
        for key in ("feature", *ONE_HOUSING):
            if getattr(pipeline.setup, key) != getattr(first, key):
                raise FitterError(f"these recordings differ in {key}: they cannot be put together")
    result = analyse_together(
        [(pipeline.setup, pipeline.fitter.stations()) for pipeline in pipelines],
        sum(pipeline.fitter.samples for pipeline in pipelines),
        [pipeline.fitter.earlier for pipeline in pipelines],
    )
    result = set_anew(result, [p.marked.jumps(p.fitter.stations().t) for p in pipelines])
    sure = in_each("sure", [Share(pipeline.setup, 1.0, 1.0) for pipeline in pipelines])
    of_all = made_sure(result.remarks, dataclasses.replace(first, sure=sure, unit_sure=False))
    result = dataclasses.replace(result, remarks=of_all)
    extra = []
    if len(limits := sorted({pipeline.setup.limit_mm for pipeline in pipelines})) > 1:
        extra.append(Remark.warning("limits_differ", limits_mm=limits))
    for k, pipeline in enumerate(pipelines, 1):
        of_this = _doubts(pipeline, pipeline.fitter.result())
        extra += [numbered(each, k, len(pipelines)) for each in of_this]
    return _with_remarks(result, tuple(extra))


def _doubts(pipeline: Pipeline, result: Result) -> tuple[Remark, ...]:
    """What speaks against a recording. result: of it alone."""
    return (*pipeline.troubles(), *pipeline.unit_doubts(result), *_moved_otherwise(pipeline))


def _moved_otherwise(pipeline: Pipeline) -> tuple[Remark, ...]:
    """Whether crank and tip were moved as the header and the sweep before this one have it."""
    stations, found = pipeline.fitter.stations(), []
    if pipeline.angle.turn:
        found += wrong_way(pipeline.setup, stations, pipeline.angle.turn)
    if pipeline.before is not None:
        found += beside(pipeline.setup, stations, pipeline.before, as_left=pipeline.header.stage == "left")
    return made_sure(found, pipeline.setup)


def _with_remarks(result: Result, extra: tuple[Remark, ...]) -> Result:
    """What is wrong with the recording comes before what no sweep would show; no verdict that it forbids."""
    warnings = [remark for remark in result.remarks if remark.level == "warning"]
    notes = [remark for remark in result.remarks if remark.level == "note"]
    return withhold(dataclasses.replace(result, remarks=(*warnings, *extra, *notes)))


def _dwelled(dwell: Dwell) -> Floats:
    """The station's readings in mm; with two indicators half of their difference, free of end float."""
    value = in_mm(dwell.value, dwell.unit)
    if dwell.opposite is None:
        return value
    return (value - float(in_mm(dwell.opposite, dwell.opposite_unit).mean())) / 2.0


def in_mm(value: Floats, unit: str) -> Floats:
    """Numbers of a dial, shown in `unit`, in mm."""
    return value * to_mm(1.0, unit)
