"""Jobs in words: the next step, a line of the list, a line of the journal; and what `--json` prints."""

import shlex
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import msgspec

from coaxly.fitter.dowels.causes import CANNOT_BE_TOLD
from coaxly.fitter.geometry import clock

from ...entry.lengths import degrees, show_length
from ...entry.places import pins_perhaps
from ...job.folder import journal
from ...job.folder.journal import Answer, Dowels, Nudged, Proof, Record, Sweep
from ...job.folder.progress import JobState, inside, unclear
from ...job.folder.snapshot import Snapshot
from ...job.steps.leftoff import LeftOff, going_on, left_off
from ..dowels.explanations import remedy_noted
from ..dowels.holes import by_the_line
from ..dowels.kitwords import kit_words
from ..smallwords import likely
from ..sweep.features import SWEPT
from ..sweep.noverdict import STATES, withheld_words
from ..sweep.pilotwords import pilot_lines
from .amiss import unproved_words
from .listwords import broken_words, due

if TYPE_CHECKING:
    from coaxly.fitter.dowels.plan import Option
    from coaxly.fitter.pilot import AtPilot

    from ...job.steps.jobsteps import Odd

UNPROVED: Final = "nothing is proved"


def dowels_in_words(dowels: Dowels, unit: str, holes: str = "") -> str:
    """ "2 x 7.0 thou, high sides to 4:10 (125 deg)", without saying where that is seen from. holes: where
    they are, as it stands in job.toml; then from the line through them too, if they can be understood."""
    if not dowels:
        return "no offset dowels in"
    line = f"; {said}" if (said := by_the_line([deg for _, deg in dowels], pins_perhaps(holes))) else ""
    if len(dowels) == 2 and dowels[0] == dowels[1]:
        return f"2 x {show_length(dowels[0][0], unit)}, high sides to {_at(dowels[0][1])}{line}"
    return ", ".join(f"{show_length(offset, unit)}, high side to {_at(deg)}" for offset, deg in dowels) + line


def taken_line(which: int, option: "Option", unit: str) -> str:
    """That a choice is noted, and what was chosen. which: from 1."""
    fitted = dowels_in_words(tuple((dowel.offset, dowel.deg) for dowel in option.dowels), unit)
    return f"taken: option {which}, {fitted}{', seen from behind' if option.dowels else ''}"


def seen(dowels: Dowels, unit: str, holes: str = "") -> str:
    """The same with where that is seen from."""
    return dowels_in_words(dowels, unit, holes) + (", seen from behind" if dowels else "")


def odd_words(odd: "Odd", unit: str) -> list[str]:
    """What is odd about dowels that are said to be in, and what to do."""
    said = []
    if odd.chosen is not None:
        how = (
            f"turned {odd.turned:.0f} deg from what was chosen"
            if odd.turned
            else "other dowels than were chosen"
        )
        said.append(f"{how}: chosen {dowels_in_words(odd.chosen, unit)}; said {seen(odd.said, unit)}")
    if odd.strange:
        sizes = ", ".join(show_length(offset, unit) for offset in odd.strange)
        said.append(f"{sizes} is not in the job's kit ({kit_words(odd.kit, unit)})")
    return [f"! {each}: if it was mistyped, say again what is in" for each in said]


def next_step(now: JobState, unit: str, holes: str = "") -> str:
    """What is to be done now. holes: where they are, as it stands in job.toml."""
    if now.closed and now.unproved:
        return f"closed, but {UNPROVED}; due was: {next_step(replace(now, closed=False), unit, holes)}"
    if why := _why_again(now):
        return f"{why}: {due(now.next, now.feature)} again"
    if part := _left_alone(now):
        return f"{part} inside, leave it: {due(now.next, now.feature)}"
    if now.next == "fit" and now.feature == "bore" and now.chosen is not None:
        if not now.chosen.dowels:
            return "take the offset dowels out, straight ones in"
        return f"fit: {seen(now.chosen.dowels, unit, holes)}"
    if now.next == "again" and now.feature == "bore" and now.nudged is not None:
        return "not inside yet: nudge it again"
    if now.next == "again" and now.feature == "bore" and now.proof is not None:
        return _after_proof(now, now.proof)
    return due(now.next, now.feature)


def _after_proof(now: JobState, proof: Proof) -> str:
    if cure := remedy_noted(proof):
        return f"not proved: {cure}"
    if now.choose_others:
        return f"outside, although the dowels did what was planned ({proof.cause}): choose others"
    why = "" if proof.cause == CANNOT_BE_TOLD else f" ({proof.cause})"
    return f"not proved: sweep again{why}"


def next_of(known: Snapshot, unit: str) -> str:
    """What is to be done now, and that the sweep that is due was begun and left off."""
    return _going_on(next_step(known.state, unit, known.details.dowels), left_off(known))


def _going_on(step: str, off: LeftOff | None) -> str:
    if off is None:
        return step
    return f"{step}: {broken_words(off)}: {'end it where it was begun' if off.runs else 'go on'}"


def _why_again(now: JobState) -> str:
    """Why a sweep that was made is due once more; "" where none is."""
    stage = now.next.removeprefix("sweep ")
    part = now.face if now.feature == "face" else now
    last = part.found if stage == "found" else part.left if stage == "left" else None
    if last is None or last.answer is None or not unclear(last):
        return ""
    if last.answer.doubts:
        return withheld_words(last.answer.doubts).lower()
    return "too close to call" if last.answer.state == "unsure" else "no direction found"


def _left_alone(now: JobState) -> str:
    """The part that was inside as found, where the next step follows from that; "" where none does."""
    touched = now.chosen or now.nudged or now.fitted is not now.before
    if now.next == "report" and now.found is not None and inside(now.found) and not touched:
        return "bore"
    face = now.face
    if now.next == "sweep found" and now.feature == "bore" and face.found is not None:
        return "face" if face.shimmed is None and inside(face.found) else ""
    return ""


def around_lines(shop: Path, report: Path) -> list[str]:
    """Where the demo's shop is, and how to look around in it."""
    where = shlex.quote(str(shop))
    return [
        f"Report: {report}",
        f"Look around in its shop: coaxly --shop {where}, or coaxly job list --shop {where}",
    ]


def stopped_words(shop: Path) -> str:
    """Where the recordings are of a demo that was left early."""
    return f"Stopped early. Recordings: {shop}"


def tried_words(shop: Path) -> str:
    """The same where the shop on the screen is another."""
    return f"The built-in engine's job has a shop of its own: coaxly --shop {shlex.quote(str(shop))}"


def job_lines(job: Snapshot, unit: str, at: "AtPilot | None" = None) -> list[str]:
    """All that is known of a job. at: what its bore and face do at the pilot bearing."""
    known, now = job.details, job.state
    lines = [f"{job.title}   (number {known.number or '-'}, {job.folder})"]
    said = dict(known.said())
    if "limit" in said and (source := said.pop("limit_source", "")):
        said["limit"] += f" ({source})"
    said |= {"kit": kit_words(known.kit, unit)} if known.kit else {}
    lines += [f"  {name.replace('_', ' '):<18} {text}" for name, text in said.items() if name != "number"]
    off = left_off(job)
    lines += ["", f"  NEXT: {_going_on(next_step(now, unit, known.dowels), off)}"]
    if off is not None and not off.runs:
        lines.append(f"  go on with: {going_on(off.path)}")
    if now.fitted is not None:
        lines.append(f"  fitted now: {seen(now.fitted.dowels, unit, known.dowels)}")
    lines += [f"  {part_words(part, unit)}" for part in now.parts]
    lines += [f"  {line}" for line in (*_passed_over(job), *_out_of_date(job))]
    lines += [] if at is None else [f"  {line}" for line in pilot_lines(at, unit)]
    return [*lines, "", *(f"  {journal_line(record, unit)}" for record in job.records)]


def strange_key(key: str, near: str) -> str:
    """A key of job.toml that nothing here reads; near: the one that may have been meant, or ""."""
    return f"job.toml: {key!r} is not understood" + (f"; did you mean {near!r}?" if near else ": left alone")


def part_words(part: Sweep, unit: str) -> str:
    """What a part that turns with the crank came to."""
    came = part.answer
    what = SWEPT.get(part.feature, part.feature)
    if came is None or came.doubts:
        return f"{what}: {withheld_words(came.doubts) if came else 'not told'}"
    by = "by " if came.state == "unsure" else ""
    state, limit = STATES.get(came.state, came.state), show_length(came.limit, unit)
    return f"{what}: {show_length(came.tir, unit)} run-out, {state} {by}the limit of {limit}"


def _came(answer: Answer, unit: str) -> str:
    """The same in a sentence of the journal."""
    state = STATES.get(answer.state, answer.state)
    return withheld_words(answer.doubts) or f"{state} {show_length(answer.tir, unit)}"


def journal_line(record: Record, unit: str) -> str:
    """One record of the journal."""
    who = f" ({record.operator})" if record.operator else ""
    return f"{record.time[:16].replace('T', ' ')}  {record_words(record, unit)}{who}"


def _passed_over(job: Snapshot) -> list[str]:
    """Which sweep of the bore counts, where there are several between two changes."""
    part, files = 0, dict[tuple[int, str], list[Sweep]]()
    for record in job.records:
        part += journal.moves(record)
        if isinstance(record, Sweep) and record.feature == "bore":
            files.setdefault((part, record.stage), []).append(record)
    return [
        f"as {stage} counts the newest sweep, {last.file}, not {', '.join(each.file for each in others)}"
        for (_, stage), (*others, last) in files.items()
        if others and last in (job.state.found, job.state.left)
    ]


def _out_of_date(job: Snapshot) -> list[str]:
    """That the last report does not have all that is known now."""
    written = [record.file for record in job.records if isinstance(record, journal.Reported)]
    if not written or job.state.reported:
        return []
    return [f"{written[-1]} is out of date: more was done since it was written"]


def record_words(record: Record, unit: str) -> str:
    """What a record says, without its time and who wrote it."""
    match record:
        case journal.Opened():
            return f"opened: {record.title}{', face first' if record.face else ''}"
        case journal.Sweep():
            came = record.answer
            words = f": {_came(came, unit)}" if came else ""
            part = SWEPT.get(record.feature, record.feature)
            by_hand = ", taken in by hand" if record.taken else ""
            return f"{part} swept as {record.stage}, {record.file}{words}{by_hand}"
        case journal.Chosen():
            return f"chosen, option {record.which}: {seen(record.dowels, unit)}"
        case journal.Fitted():
            hung = "counts" if record.slip else "is left out, it was swept before"
            return (
                f"fitted{', where a slip stood' * record.slip}: {seen(record.dowels, unit)}"
                f"{record.sweep and f'; {record.sweep} {hung}'}"
            )
        case journal.Shimmed():
            places = ", ".join(f"{show_length(size, unit)} at {clock(deg)}" for deg, size in record.shims)
            return f"shimmed: {places + ', seen from behind' if places else 'nothing'}"
        case journal.Nudged():
            rest = " and ".join(show_length(abs(way), unit) for way in record.remaining) or "nothing read"
            return f"{tapped_words(record, ',')}; {rest} to go when last read"
        case journal.Proof():
            state = STATES.get(record.state, record.state)
            return f"proof: {state}, {record.cause} ({likely(record.probability)})"
        case journal.Note():
            return f"note: {record.text}"
        case journal.Photo():
            return f"photo: {record.file}"
        case journal.Changed():
            changed = ", ".join(f"{key} {value or 'left open'}" for key, value in record.said.items())
            return f"said anew: {changed}"
        case journal.Reported():
            return f"report written: {record.file}"
        case journal.Packed():
            return f"packed: {record.file}"
        case journal.Closed():
            return "closed"
        case journal.Unproved():
            return unproved_words(record)


def tapped_words(record: Nudged, pause: str = "") -> str:
    """That it was tapped into place, and how that ended."""
    how = "held when the bolts were tightened" if record.held else "left off before it was right"
    return f"tapped into place{pause} and {how}"


def job_object(job: Snapshot, unit: str) -> dict[str, Any]:
    """A job for `--json`."""
    known, now = job.details, job.state
    return {
        "folder": job.folder,
        "path": str(job.path),
        "title": job.title,
        "number": str(known.number),
        "next": now.next,
        "feature": now.feature,
        "words": next_of(job, unit),
        "state": msgspec.to_builtins({
            "found": now.found, "left": now.left, "chosen": now.chosen, "fitted": now.fitted,
            "nudged": now.nudged, "proof": now.proof, "face_found": now.face.found,
            "shimmed": now.face.shimmed, "face_left": now.face.left, "reported": now.reported,
            "closed": now.closed,
        }),
        "details": msgspec.to_builtins(known),
        "journal": [msgspec.to_builtins(record) for record in job.records],
    }  # fmt: skip


def _at(deg: float) -> str:
    return f"{clock(deg)} ({degrees(deg)})"
