"""Did the dowels do what was planned? Two sweeps, as found and as left, of a job or alone, compared."""

import math
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Final, Literal

import msgspec

from coaxly.fitter import Result
from coaxly.fitter.clues.before import before_of
from coaxly.fitter.dowels.bothways import Sweeps, mirrored
from coaxly.fitter.dowels.causes import found_mirrored
from coaxly.fitter.dowels.compare import Comparison, compare
from coaxly.fitter.dowels.plan import Option, plan, undressed
from coaxly.fitter.dowels.setting import DowelSetting
from coaxly.fitter.geometry import matrix_of
from coaxly.fitter.result import Eccentricity, State
from coaxly.fitter.withheld import doubted

from ...errors import UsageError
from ..folder.journal import Proof, now
from ..folder.progress import JobState, way_chosen
from ..folder.snapshot import Snapshot
from ..folder.sworn import Ruling
from ..recorded.consistency import Doubt, form_gone, in_doubt, need, of_a_pair
from ..recorded.pipeline import Pipeline, judged_by, replay
from .choosing import limit_in, measured_by
from .noting import ROUNDED_MM, journal_changed, not_noted
from .wishes import Wish


@dataclass(frozen=True)
class Pair:
    """Two sweeps of one bore; and what their comparison says, once somebody asks.

    known: their job, None for two recordings. wish: what was said, and what the job says of the rest.
    fitted: what was put in between. found: as the sweep says, turned over where it is known to be mirrored.
    doubts: why they may not belong together. gone: whether it was hardly the bore that was read as left.
    """

    known: Snapshot | None
    wish: Wish
    before: Pipeline
    after: Pipeline
    found: Result
    left: Result
    fitted: DowelSetting | None
    ruling: Ruling
    doubts: list[Doubt]
    gone: bool

    @property
    def state(self) -> JobState:
        """Where the job stands; at its beginning where there is none."""
        return JobState() if self.known is None else self.known.state

    @property
    def proved(self) -> State:
        """What the sweep as left proves."""
        came = self.left.decision.state
        return "unsure" if self.gone and came == "inside" else came

    @property
    def unmeasured(self) -> bool:
        """Whether one of them hardly measured what it seems to: then what was done between them is anybody's
        guess, and none is noted."""
        return bool(doubted(self.found) or doubted(self.left))

    @property
    def supposed(self) -> bool:
        """Whether it is asked what other dowels would have done than those that the job says are in: of a
        question nothing is noted."""
        if self.known is None or self.wish.fitted is None:
            return False
        said = DowelSetting.of(self.state.fitted.dowels if self.state.fitted is not None else ())
        return not said.is_like(self.wish.fitted, ROUNDED_MM, _ROUNDED_DEG)

    @cached_property
    def comparison(self) -> Comparison:
        """What they say of each other. Raises FitterError or UsageError."""
        found, left = self.found.eccentricity, self.left.eccentricity
        said: set[Literal["found", "left"]] = {"found"} if self.before.angle.turn else set()
        said |= {"left"} if self.after.angle.turn else set()
        sweeps = Sweeps(
            _bare(self, found),
            left,
            _bare(self, mirrored(found, self.before.setup)),
            mirrored(left, self.after.setup),
            frozenset(said),
        )
        return compare(sweeps, self.fitted, self.wish.pins, self.wish.kit, self.wish.workshop.slips)


def pair_of(source: tuple[Path, Path] | Snapshot, wish: Wish, what: str = "verify") -> Pair:
    """The two sweeps. what: they are wanted for, in a refusal. Raises LoggerError, FitterError or
    UsageError."""
    known = source if isinstance(source, Snapshot) else None
    paths = source if isinstance(source, tuple) else _swept(source)
    wish = wish.within(known)
    state = JobState() if known is None else known.state
    before, after = (replay(path, wish.given) for path in paths)
    named = tuple(str(path) for path in paths)
    for path, pipeline in zip(named, (before, after), strict=True):
        need(pipeline, path, "bore", what)
    if after.fitter.earlier is None and not doubted(before.result()):
        after.fitter.earlier = before_of(named[0], before.setup, before.fitter.stations())
    ruled = limit_in(known, wish.limit)
    doubts = of_a_pair((named[0], before), (named[1], after), limit_given=ruled.limit is not None)
    found, left = judged_by(before, ruled.limit), judged_by(after, ruled.limit)
    gone = form_gone(named[1], found, left)
    doubts += [*in_doubt(named[0], found), *in_doubt(named[1], left), *gone]
    if known is not None:
        doubts = [*not_noted(known, state.found, state.left), *journal_changed(known.journal), *doubts]
        wish = replace(wish, way=wish.way or way_chosen(known.records))
    if state.mirrored == "known":
        found = replace(found, eccentricity=mirrored(found.eccentricity, before.setup))
    fitted = wish.fitted
    if fitted is None and state.fitted is not None:
        fitted = DowelSetting.of(state.fitted.dowels)
    fitted = fitted if fitted is not None and any(fitted.offsets) else None
    return Pair(known, wish, before, after, found, left, fitted, ruled, doubts, bool(gone))


def following(pair: Pair) -> list[Option] | None:
    """What to fit next, in place of the dowels that are in; None where nothing is, no kit is known, or it
    must first be told what went wrong or whether anything did. Raises FitterError or UsageError."""
    workshop = pair.wish.workshop
    turned = found_mirrored(each.cause for each in pair.comparison.finding.among)
    if pair.wish.kit is None or pair.proved in ("inside", "unsure") or turned == "perhaps":
        return None
    if turned == "yes" or pair.state.mirrored == "known":
        bare = measured_by(pair.after, pair.left)
        return plan(undressed(bare, pair.fitted, workshop) if pair.fitted else bare, workshop)
    # With the dowels out the housing sits as it was found: that sweep's vector, its covariance.
    return plan(measured_by(pair.before, pair.found), workshop)


def note_proof(pair: Pair) -> None:
    """Note in the job what the comparison said; said twice, it is noted once. Raises UsageError or
    Failure."""
    found, state = pair.comparison.finding, pair.state
    assert pair.known is not None and state.found is not None and state.left is not None
    record = Proof(
        time=now(),
        found=state.found.file,
        left=state.left.file,
        cause=found.cause,
        probability=found.probability,
        state=pair.proved,
        tir=pair.left.tir.fitted,
        explanations=tuple((each.cause, each.probability) for each in pair.comparison.explanations),
        among=tuple((each.cause, tuple(each.marks_deg)) for each in found.among),
    )
    old = state.proof
    if old is None or msgspec.structs.replace(old, time=record.time, operator=record.operator) != record:
        pair.known.job.note(record)


def _swept(known: Snapshot) -> tuple[Path, Path]:
    """The newest sweeps of a job. Raises UsageError."""
    found, left = known.state.found, known.state.left
    if found is None or left is None:
        missing = "found" if found is None else "left"
        if found is not None and (out := known.state.left_out) is not None:
            raise UsageError(
                f"{known.title}: {out.file} was swept as left and is left out, for other dowels were said to "
                "have gone in since",
                command=f"coaxly sweep --job {known.called} --stage left; was that a slip, "
                f"coaxly job fitted {known.called} DOWELS --slip says what was in, and it counts",
                keys="sweep again as left (J, L); was that a slip, say what was in (J, I), and it counts",
            )
        if found is not None and known.state.fitted is None and known.state.nudged is None:
            dowels = " DOWELS" if known.state.chosen is None else ""
            raise UsageError(
                f"{known.title}: the bore was not swept as left yet",
                command=f"say what was put in, coaxly job fitted {known.called}{dowels}, "
                f"then coaxly sweep --job {known.called} --stage left",
                keys="say what was put in (J, I), then sweep as left (J, L)",
            )
        raise UsageError(
            f"{known.title}: the bore was not swept as {missing} yet",
            command=f"coaxly sweep --job {known.called} --stage {missing}",
            keys=f"J, {missing[0].upper()}",
        )
    return known.recording_of(found), known.recording_of(left)


def _bare(pair: Pair, swept: Eccentricity) -> Eccentricity:
    """Where the bore as found would be without the dowels that were in when it was swept; with its spread,
    which is wider for them. Amounts and directions beside the vector stay those of the sweep."""
    inside = pair.state.before
    if inside is None or not inside.dowels or pair.wish.kit is None:
        return swept
    dressed = measured_by(pair.before, replace(pair.found, eccentricity=swept))
    measured = undressed(dressed, DowelSetting.of(inside.dowels), pair.wish.workshop)
    return replace(
        swept,
        vector=measured.vector,
        covariance=matrix_of(measured.covariance),
        freedom=None if math.isinf(measured.freedom) else measured.freedom,
    )


_ROUNDED_DEG: Final = 1.0
"""By which one direction may differ as it is said by the clock and in degrees."""
