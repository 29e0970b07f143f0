"""The steps of a job at the engine: what a sweep of it is made with, what is noted of it, and what is put in.
Screens and commands take the same steps through here, and through `choosing`, `proving` and `squaring`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import msgspec

from coaxly.fitter import MODEL, Result, Setup, withheld
from coaxly.fitter.clues.angles import Turn
from coaxly.fitter.clues.before import Before, before_of
from coaxly.fitter.dowels.setting import DowelSetting
from coaxly.fitter.geometry import difference
from coaxly.fitter.withheld import doubted
from coaxly.logger.angle.source import Source
from coaxly.logger.recording.reader import RecordingReader
from coaxly.logger.recording.records import End, Note, ResultRecord, Seal
from coaxly.logger.recording.writer import RecordingWriter

from ...entry.keyring import own_key
from ...entry.places import parse_setting
from ...entry.rigging import Rigging, rigging
from ...errors import RUN_ERRORS, UsageError
from ..folder.details import NAME
from ..folder.journal import Chosen, Dowels, Fitted, Nudged, Shimmed, Sweep, moves, now
from ..folder.material import kit_of, limit_of, value_of
from ..folder.repeatability import with_kept
from ..folder.rigs import rig_known
from ..folder.shop import Job
from ..folder.snapshot import Snapshot
from ..recorded.pipeline import Pipeline, replay
from ..sweep.request import SweepRequest, asked
from .leftoff import need_rest
from .noting import ROUNDED_MM, swept

if TYPE_CHECKING:
    from ..sweep.run import SweepRun


def rig_of(known: Snapshot) -> Rigging:
    """What the job says of how the indicator sits. Raises UsageError."""
    rig = known.details.rig
    try:
        return rigging({"rig": rig} if isinstance(rig, str) else rig)
    except UsageError as error:
        raise UsageError(f"{known.path / NAME}: rig: {error}") from error


def in_order(known: Snapshot, stage: str, feature: str) -> None:
    """A sweep that would be taken for another is refused. Raises UsageError."""
    state = known.state
    if feature not in ("bore", "face"):
        return  # of what turns with the crank nothing is fitted
    if feature == "face":
        if stage == "left" and state.face.shimmed is None:
            raise UsageError(
                f"{known.title}: say first which shims are in",
                command=f"coaxly job shimmed {known.called} 2thou@60, or none",
                keys="Enter, and its page asks for them",
            )
    elif stage == "left" and state.fitted is None and state.nudged is None:
        raise UsageError(
            f"{known.title}: say first what was put in",
            command=f"coaxly job fitted {known.called} (as chosen), or DOWELS",
            keys="J, I",
        )
    elif stage == "found" and state.dowels_went_in:
        raise UsageError(
            f"{known.title}: dowels are fitted, so this is no sweep as found",
            command=f"--stage left; or take them out, and say so: coaxly job fitted {known.called} none",
            keys="sweep as left (J, L); or take them out, and say none (J, I)",
        )


def is_called_out(rig: Rigging, dial: Source) -> bool:
    """Whether the crank is stopped at places that are called out; else angles come by themselves."""
    return rig.angle == "entered" and "angle" not in dial.profile.regex.groupindex


def turn_of(known: Snapshot, *, called: bool = True) -> Turn | None:
    """Which way the crank is turned, seen from behind, by the job; None where it does not say. called: where
    places are called out, as their scale counts if nobody said more. Raises UsageError."""
    rig = rig_of(known)
    if not rig.turn and called and "sense" in rig.setup:
        return Setup.from_header(rig.setup).scale_turn
    return rig.turn or None


def keep_turn(known: Snapshot, turn: Turn, *, called: bool = True) -> None:
    """Write that into the job, where it says another or none. Raises UsageError or Failure."""
    if turn_of(known, called=called) == turn:
        return
    rig = known.details.rig
    table = {"rig": rig} if isinstance(rig, str) and rig else dict(rig or {})
    known.job.edit(rig={**table, "turn": turn})


def tip_stood_on(known: Snapshot) -> str:
    """The feature that was swept last, "" for none."""
    return next((each.feature for each in reversed(known.records) if isinstance(each, Sweep)), "")


def face_radius_of(known: Snapshot) -> float | None:
    """At which the dial runs on a face by job.toml, mm; what a recording says comes before. Raises
    UsageError."""
    return value_of(known, "face_radius") or rig_of(known).setup.get("face_radius_mm")


def setup_of(
    known: Snapshot, feature: str, rig: Rigging | None = None, said: Mapping[str, Any] | None = None
) -> Setup:
    """How the indicator sits, and the limit. rig: if not the job's; said: keys of a setup that count before
    all else. Raises UsageError."""
    rig = rig or rig_of(known)
    setup = rig_known(rig, known.path.parent, said or {})
    if feature == "bore" and not rig.no_study:
        setup = with_kept(setup, known.path.parent, known.details.housing.family)
    told = said or {}
    if feature == "face" and "face_radius_mm" not in told and (radius := value_of(known, "face_radius")):
        setup["face_radius_mm"] = radius
    if "limit_mm" not in told and (limit := limit_of(known, feature)) is not None:
        setup |= {"limit_mm": limit.tir, "limit_source": limit.source}
    return Setup.from_header(setup, feature)


def sweep_request(
    known: Snapshot, stage: str, feature: str, dial: Source, rig: Rigging | None = None
) -> SweepRequest:
    """A sweep for the job. rig: if not the job's. Raises UsageError."""
    rig = rig or rig_of(known)
    if "angle" in dial.profile.regex.groupindex:
        rig = replace(rig, angle="combined")  # a dial whose lines hold the crank's angle is not stopped for
    return asked(rig, dial, setup_of(known, feature, rig), **said_of(known, stage, feature))


def said_of(known: Snapshot, stage: str, feature: str) -> dict[str, Any]:
    """What the job says of its next sweep: fields of a `SweepRequest`."""
    return {
        "job": known.title,
        "stage": stage,
        "operator": known.details.technician,
        "out": known.job.free_recording(stage, feature),
        "any_number": True,
        "before": sweep_before(known),
        "earlier": earlier_of(known, feature),
    }


def note_sweep(job: Job, run: "SweepRun") -> bool:
    """Note a finished sweep, once. Returns whether it was finished. Raises UsageError or Failure."""
    if run.result is None:
        return False
    job.note_sweeps(swept(run.session.writer.path, run.pipeline.header, run.result))
    return True


def note_vouched(job: Job, path: Path, out: Path) -> Result:
    """A sweep whose verdict was withheld, made sure of: its recording and its note. Raises LoggerError,
    FitterError, UsageError or Failure."""
    pipeline = vouch(path, out)
    result = pipeline.result()
    job.note(swept(out, pipeline.header, result))
    return result


def hangs_on_it(known: Snapshot) -> Sweep | None:
    """The sweep as left that counts or not by when dowels went in that nobody chose since; None for none."""
    state = known.state
    return (state.left or state.left_out) if state.chosen is None else None


def put_in(known: Snapshot, dowels: Dowels, *, slip: bool | None = None) -> Fitted:
    """The record that these dowels are in. slip: and were, where others were said to be; None where nobody
    said. Raises UsageError where a sweep hangs on that; also under one that goes on: what is fitted cannot
    change then."""
    swept = (known.state.left or known.state.left_out) if slip else hangs_on_it(known)
    if slip is None and swept is not None:
        raise UsageError(
            f"{known.title}: {swept.file} was swept as left meanwhile. Were these in then, and what was said "
            "before was a slip: --slip, and it counts. Did they go in since: --since; it is left out, so "
            "sweep again as left"
        )
    if slip and known.state.fitted is None:
        raise UsageError(f"{known.title}: nothing was said to be in yet: leave --slip out")
    need_rest(known)
    kit = kit_of(known) if dowels else None
    marks = (deg - (kit.mark_of(offset) if kit is not None else 0.0) for offset, deg in dowels)
    return Fitted(
        time=now(),
        dowels=dowels,
        marks=tuple(mark % 360.0 for mark in marks),
        slip=bool(slip),
        sweep=swept.file if swept is not None else "",
    )


@dataclass(frozen=True, slots=True)
class Odd:
    """What is odd about dowels that are said to be in.

    said: those. chosen: what was, where these are unlike; None where they are alike, or nothing was chosen.
    turned: by how many degrees one of them is, 0 where they are others altogether.
    strange: offsets, mm, that the job's kit does not have. kit: that, as in job.toml.
    """

    said: Dowels
    chosen: Dowels | None
    turned: float
    strange: tuple[float, ...]
    kit: str


def odd_about(known: Snapshot, dowels: Dowels) -> Odd:
    """What is odd about these. Raises UsageError."""
    chosen, turned = _unlike_chosen(known, dowels)
    return Odd(dowels, chosen, turned, _not_of_the_kit(known, dowels), known.details.kit)


def _not_of_the_kit(known: Snapshot, dowels: Dowels) -> tuple[float, ...]:
    kit = kit_of(known) if dowels else None
    if kit is None:
        return ()
    sizes = [size.offset for size in kit.sizes]
    strange = {offset for offset, _ in dowels if not any(abs(each - offset) < ROUNDED_MM for each in sizes)}
    return tuple(sorted(strange))


def choice_in_hand(known: Snapshot) -> Chosen | None:
    """The choice by which dowels go in: also once they were said to be in, until more is done than that."""
    if known.state.chosen is not None:
        return known.state.chosen
    for record in reversed(known.records):
        if isinstance(record, Chosen):
            return record
        if isinstance(record, Nudged | Shimmed) or (isinstance(record, Sweep) and record.feature == "bore"):
            break
    return None


def _unlike_chosen(known: Snapshot, dowels: Dowels) -> tuple[Dowels | None, float]:
    """`chosen` and `turned` of what is odd."""
    choice = choice_in_hand(known)
    if choice is None:
        return None, 0.0
    chosen, said = DowelSetting.of(choice.dowels), DowelSetting.of(dowels)
    sizes = zip(sorted(chosen.offsets), sorted(said.offsets), strict=True)
    if any(abs(one - other) >= ROUNDED_MM for one, other in sizes):
        return choice.dowels, 0.0
    pairs = zip(chosen.dowels, said.dowels, strict=True)
    turned = max((abs(difference(at, to)) for (one, at), (other, to) in pairs if one and other), default=0.0)
    return (choice.dowels, turned) if turned > _MEANT_DEG else (None, 0.0)


_MEANT_DEG: Final = 15.0
"""By which dowels may be turned from how they were chosen without a word: thrice what eye and mark do."""


def dowels_in(text: str) -> Dowels:
    """What somebody says is in: 10thou@28,5thou@70, or none. Raises UsageError or ValueError."""
    setting = parse_setting(text)
    if not any(setting.offsets):
        return ()
    return tuple((offset, deg % 360.0) for offset, deg in zip(setting.offsets, setting.degrees, strict=True))


def sweep_before(known: Snapshot) -> Before | None:
    """What the last sweep read, with nothing done to the housing since; None where there is no such, or its
    recording cannot be read."""
    relevant = [each for each in known.records if isinstance(each, Sweep) or moves(each)]
    return _read(known, last) if relevant and isinstance(last := relevant[-1], Sweep) else None


def earlier_of(known: Snapshot, feature: str) -> Before | None:
    """What the last sweep read that did measure this surface, whatever was done since; None for none."""
    swept = (each for each in reversed(known.records) if isinstance(each, Sweep) and each.feature == feature)
    return next(filter(None, (_read(known, each, sound=True) for each in swept)), None)


def _read(known: Snapshot, sweep: Sweep, *, sound: bool = False) -> Before | None:
    """What a recording holds; None where it cannot be read, and where it is to be `sound` and is in doubt."""
    try:
        pipeline = replay(known.file(sweep.file))
        if sound and doubted(pipeline.result()):
            return None
    except RUN_ERRORS:
        return None  # whoever needs it says so
    return before_of(sweep.file, pipeline.setup, pipeline.fitter.stations())


VOUCHED: Final = "made sure of, from "
"""Begins the note that says which recording it was made of."""


def vouch(path: Path, out: Path) -> Pipeline:
    """Write a recording of the same readings at `out` (which must not exist) that lifts every doubt of the
    one at `path`. Raises LoggerError or FitterError."""
    with RecordingReader(path) as reader:
        old = Pipeline(reader.header)
        records = [record for block in reader.blocks() for record in block]
    old.feed(records)
    kinds = sorted({*old.setup.sure, *withheld.doubted(old.result())})
    header = msgspec.structs.replace(old.header, setup={**old.header.setup, "sure": kinds})
    pipeline = Pipeline(header)
    kept = [record for record in records if not isinstance(record, ResultRecord | Seal | End)]
    last = max((getattr(record, "t", 0.0) for record in kept), default=0.0)
    kept.append(Note(last, VOUCHED + path.name))
    with RecordingWriter(out, header) as writer:
        writer.signer = own_key()
        for record in kept:
            writer.write(record)
        pipeline.feed(kept)
        writer.write(ResultRecord(last, pipeline.result().to_dict(), MODEL))
        writer.finish()
    return pipeline
