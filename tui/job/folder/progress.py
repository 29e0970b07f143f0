"""Where a job stands: a fold over its journal, and nothing else. Any records in any order give a state."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from coaxly.fitter.dowels.causes import FINE, found_mirrored
from coaxly.fitter.dowels.kit import Way

from . import journal
from .journal import Chosen, Fitted, Nudged, Proof, Record, Shimmed, Sweep

Mirrored = Literal["no", "perhaps", "yes", "known"]
Next = Literal["sweep found", "choose", "fit", "sweep left", "verify", "again", "report", "done"]


def inside(sweep: Sweep) -> bool:
    """Whether it came to be within the limit: then nothing is to be changed."""
    return sweep.answer is not None and sweep.answer.state == "inside"


def in_doubt(sweep: Sweep) -> bool:
    """Whether it hardly measured what it seems to: nothing is fitted or proved by it."""
    return sweep.answer is not None and bool(sweep.answer.doubts)


def unclear(sweep: Sweep) -> bool:
    """Whether it told too little to act on: too close to call, in doubt, or not inside and no direction."""
    answer = sweep.answer
    return answer is not None and (
        answer.state == "unsure" or in_doubt(sweep) or (answer.state != "inside" and not answer.direction)
    )


@dataclass(frozen=True, slots=True)
class FaceState:
    """What is known of the face."""

    wanted: bool = False
    """Whether it is part of the job."""
    found: Sweep | None = None
    shimmed: Shimmed | None = None
    """What was put under it since the last sweep as found."""
    left: Sweep | None = None
    """The last sweep with these shims."""

    @property
    def next(self) -> Next | None:
        """What is due; None where the face is done with."""
        if not self.wanted:
            return None
        if self.found is None:
            return "sweep found"
        if self.shimmed is None:
            return None if inside(self.found) else "sweep found" if unclear(self.found) else "fit"
        if not self.shimmed.shims:
            return None
        if self.left is None or unclear(self.left):
            return "sweep left"
        return "again" if self.left.answer is not None and not inside(self.left) else None


@dataclass(frozen=True, slots=True)
class JobState:
    """A job after some records."""

    title: str = ""
    face: FaceState = FaceState()
    found: Sweep | None = None
    """The bore as found, as the face is now."""
    before: Fitted | None = None
    """What was in when it was swept as found."""
    chosen: Chosen | None = None
    """What is to be fitted; None once it was, or something else was."""
    fitted: Fitted | None = None
    """What is in now."""
    before_since: "JobState | None" = None
    """As it was before dowels that nobody chose were said to have gone in since a sweep as left: that comes
    back where it was a slip; None where none was left out so, or more was done since."""
    nudged: Nudged | None = None
    """That it was tapped into place since."""
    left: Sweep | None = None
    """The last sweep of the bore with what is in now."""
    proof: Proof | None = None
    """What the comparison of that sweep said."""
    mirrored: Mirrored = "no"
    """Whether the last proof takes the sweep as found for the mirror image of what it should be; "known" once
    other dowels went in because of that."""
    parts: tuple[Sweep, ...] = ()
    """The newest sweep of each part that turns with the crank, its pilot bore and the flywheel's face."""
    reported: bool = False
    closed: bool = False

    @property
    def next(self) -> Next:
        """What is to be done now."""
        if self.closed:
            return "done"
        return self.face.next or self._of_the_bore

    @property
    def feature(self) -> Literal["face", "bore"]:
        """What it is to be done to."""
        return "face" if not self.closed and self.face.next else "bore"

    @property
    def _of_the_bore(self) -> Next:
        if self.chosen is not None and (self.chosen.dowels or (self.fitted and self.fitted.dowels)):
            return "fit"
        # That nothing offset is in, said before anything was swept, is no change to be proved.
        bare = self.fitted is not None and not self.fitted.dowels and self.found is None and self.left is None
        put_in = self.fitted is not None and self.fitted is not self.before and not bare
        if self.nudged is not None or put_in:
            return self._after_fitting
        if self.found is None or (self.chosen is None and unclear(self.found)):
            return "sweep found"
        if self.chosen is None and not inside(self.found):
            return "choose"
        return "done" if self.reported else "report"

    @property
    def _after_fitting(self) -> Next:
        if self.left is None or (self.proof is None and unclear(self.left)):
            return "sweep left"
        if self.proof is None:
            if self.found is not None and not in_doubt(self.found):
                return "verify"
            return "report" if not self.reported else "done"
        if self.proof.state != "inside" and self.chosen is None:
            # What was compared on purpose may have told what is amiss, although it was too close to call.
            as_planned = set(self.proof.cause.split(" or ")) <= set(FINE)
            return "sweep left" if self.proof.state == "unsure" and as_planned else "again"
        return "done" if self.reported else "report"

    @property
    def choose_others(self) -> bool:
        """Whether the last sweep is outside, and one can choose from it what is to go in instead: the dowels
        did what was planned, or what was planned from was mirrored."""
        if self.proof is None or self.proof.state != "outside":
            return False
        return set(self.proof.cause.split(" or ")) <= set(FINE) or self.mirrored in ("yes", "known")

    @property
    def left_out(self) -> Sweep | None:
        """The sweep as left that does not count because other dowels were said to have gone in since."""
        return self.before_since.left if self.before_since is not None else None

    @property
    def unproved(self) -> bool:
        """Whether more than the report is due, or was when it was closed."""
        return (self.face.next or self._of_the_bore) not in ("report", "done")

    @property
    def dowels_went_in(self) -> bool:
        """Whether there are dowels in it that were not when it was as found: no sweep is one as found now.
        Those that were known to be in since the face was shimmed were."""
        return self.fitted is not None and bool(self.fitted.dowels) and self.fitted is not self.before

    @property
    def last(self) -> Sweep | None:
        """The newest sweep of the bore."""
        return self.left or self.found


def way_chosen(records: Iterable[Record]) -> Way | None:
    """The way of setting that the last choice was made for; None where that was not noted."""
    chosen = [record for record in records if isinstance(record, Chosen)]
    way = chosen[-1].promise.get("way") if chosen else None
    return way if way in ("tight", "free") else None


def state(records: Iterable[Record]) -> JobState:
    """What a job has come to."""
    now = JobState()
    for record in records:
        now = after(now, record)
    return now


def after(now: JobState, record: Record) -> JobState:
    """One record further. Work that goes on opens a closed job again."""
    match record:
        case journal.Opened():
            face = replace(now.face, wanted=now.face.wanted or record.face)
            return replace(now, title=record.title, face=face, closed=False)
        case Sweep():
            worked = _swept(now, record)
        case Chosen():
            worked = replace(now, chosen=record)
        case Fitted(slip=True):
            worked = _put_right(now, record)
        case Fitted():
            worked = replace(
                _moved(now),
                fitted=record,
                before_since=_as_before(now),
                nudged=None,
                mirrored=_acted_on(now),
            )
        case Shimmed():
            worked = _shimmed(now, record)
        case Nudged():
            worked = replace(_moved(now), nudged=record, mirrored=_acted_on(now))
        case Proof():
            ours = now.left is not None and record.left == now.left.file
            proved = replace(now, proof=record, mirrored=_mirrored(now, record), reported=False)
            return proved if ours else now  # a report that was written before does not have it
        case journal.Reported():
            return replace(now, reported=True)
        case journal.Closed():
            return replace(now, closed=True)
        case journal.Changed() | journal.Note() | journal.Packed() | journal.Photo() | journal.Unproved():
            return now
    return replace(worked, closed=False, reported=False)


def _moved(now: JobState) -> JobState:
    """The housing is elsewhere: what was chosen is done, and nothing was swept since."""
    return replace(now, chosen=None, left=None, proof=None, before_since=None)


def _as_before(now: JobState) -> JobState | None:
    """What a slip brings back, where dowels are said to be in now that nobody chose."""
    if now.chosen is not None:
        return None
    return now if now.left is not None else now.before_since


def _put_right(now: JobState, record: Fitted) -> JobState:
    """Other dowels were in all the while: what was swept counts, what was made of it does not."""
    if (was := now.before_since) is not None:
        # The face and what turns with the crank may have been swept meanwhile.
        was = replace(was, face=now.face, parts=now.parts)
        return _put_right(was, record)
    before = record if now.before is not None and now.before is now.fitted else now.before
    mirrored: Mirrored = "known" if now.mirrored == "known" else "no"
    return replace(now, fitted=record, before=before, chosen=None, proof=None, mirrored=mirrored)


def _swept(now: JobState, sweep: Sweep) -> JobState:
    if sweep.feature == "face":
        if sweep.stage == "left" and now.face.found is not None:
            return replace(now, face=replace(now.face, wanted=True, left=sweep))
        return replace(now, face=FaceState(wanted=True, found=sweep))
    if sweep.feature != "bore":
        # Nothing of the housing is told by it, and nothing is undone.
        others = tuple(part for part in now.parts if part.feature != sweep.feature)
        return replace(now, parts=(*others, sweep))
    if sweep.stage == "left":
        return replace(now, left=sweep, proof=None, before_since=None)
    if sweep.stage == "found":
        return replace(_moved(now), found=sweep, before=now.fitted, mirrored="no", nudged=None)
    return now


def _mirrored(now: JobState, proof: Proof) -> Mirrored:
    """What a proof says of the sweep as found. One that is known to be mirrored was turned over before it was
    compared, and only that it looks mirrored even so speaks against it."""
    said = found_mirrored(cause for cause, _ in proof.among)
    if now.mirrored != "known":
        return said
    return "known" if said == "no" else "perhaps"


def _acted_on(now: JobState) -> Mirrored:
    return "known" if now.mirrored == "yes" else now.mirrored


def _shimmed(now: JobState, record: Shimmed) -> JobState:
    """Shims move the bore: what was swept of it before says nothing about it any more."""
    face = replace(now.face, wanted=True, shimmed=record, left=None)
    if not record.shims:
        return replace(now, face=face)
    return replace(_moved(now), face=face, before=now.fitted, found=None, mirrored="no", nudged=None)
