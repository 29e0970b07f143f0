"""The first page, for the customer: the verdict, before and after, what was fitted, and what it rests on."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.geometry import clock
from coaxly.fitter.result import Decision

from ..entry.lengths import show_length
from ..job.folder.details import names_of
from ..job.folder.journal import Fitted
from ..job.folder.kept import Kept
from ..output import clean
from ..say.dowels.holes import from_the_line, names, the_line
from ..say.job import reportwords
from ..say.job.amiss import edited_sentence, kept_sentences, limit_sentences, taken_sentence
from ..say.job.jobwords import next_step, seen, tapped_words
from ..say.job.proofwords import not_as_planned
from ..say.smallwords import capital
from ..say.sweep.doubts import doubt_sentence
from ..say.sweep.findings import NO_DIRECTION, sureness
from ..say.sweep.noverdict import state_of
from ..say.sweep.warnings import sentence
from . import firstpage
from .facts import Facts, Swept, doubts
from .firstpage import Bar

_LONGEST: Final = 90
_MOST_CAUTIONS: Final = 5
NOT_KNOWN: Final = "not known: see the notes below"
_SHOWN: Final = ("title", "limit_source", "dowels", *names_of("front"))
"""Keys of job.toml that stand on this page as they are now."""


@dataclass(frozen=True, slots=True)
class Clock:
    """A picture of the housing against the crank, and what stands above and beneath it."""

    heading: str
    picture: str
    verdict: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Front:
    """The page in words and pictures; text is plain, pictures are SVG.

    state: "inside", "outside", "unsure" or "withheld". unfinished: what is still to be done, "" if nothing.
    identity: label and value.
    """

    title: str
    state: str
    mark: str
    verdict: str
    sure: str
    sentences: tuple[str, ...]
    clocks: tuple[Clock, ...]
    bars: str
    fitted: tuple[str, ...]
    fitted_picture: str
    limit: str
    identity: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    unfinished: str
    legend: str


def front(facts: Facts, unit: str) -> Front:
    """The page of a job."""
    bore, face = (swept.result.decision if swept else None for swept in (facts.last, facts.last_face))
    decisions = [decision for decision in (bore, face) if decision is not None]
    state, verdict = reportwords.verdict_of_all(bore, face)
    lines, picture = _fitted(facts, unit)
    return Front(
        title=short(facts.job.title),
        state=state,
        mark=firstpage.state_mark(state),
        verdict=verdict,
        sure=_sure(decisions),
        sentences=_sentences(facts, unit),
        clocks=_clocks(facts, unit),
        bars=_bars(facts, unit),
        fitted=lines,
        fitted_picture=picture,
        limit=short(reportwords.limit_words(decisions, unit), 2 * _LONGEST),
        identity=_identity(facts),
        cautions=_cautions(facts, unit),
        unfinished=_unfinished(facts, unit),
        legend=_legend(facts),
    )


def short(text: object, most: int = _LONGEST) -> str:
    """Text of a person, fit for a page: no more than so much of it, nothing in it that steers."""
    line = clean(" ".join(str(text).split()))
    return line if len(line) <= most else f"{line[: most - 1].rstrip()}…"


def typeset(line: str) -> str:
    """A sentence of ours with the signs that paper has."""
    return line.replace("+- ", "± ").replace("+-", "±")


def _sure(decisions: Sequence[Decision]) -> str:
    """How sure the least sure of them is."""
    withheld = [each for each in decisions if each.withheld]
    unsure = withheld or [each for each in decisions if each.state == "unsure"]
    return sureness(unsure[0] if unsure else min(decisions, key=lambda each: abs(each.probability - 0.5)))


def _sentences(facts: Facts, unit: str) -> tuple[str, ...]:
    pairs = (("bore", facts.found, facts.left), ("face", facts.face_found, facts.face_left))
    said = [
        reportwords.both_run_outs(what, found.result if found else None, left.result if left else None, unit)
        for what, found, left in pairs
        if found or left
    ]
    said += [reportwords.part_run_out(part.result, unit) for part in facts.parts]
    if all(swept.result.decision.withheld for swept in facts.sweeps):
        return tuple(said)
    return (*said[:-1], f"{said[-1]} {reportwords.HOLDS}")


def _pair(facts: Facts) -> list[tuple[str, Swept]]:
    """What is drawn: the bore; the face of a job that has no bore."""
    bore = [("As found", facts.found), ("As left", facts.left)]
    face = [("Face as found", facts.face_found), ("Face as left", facts.face_left)]
    told = bore if any(swept for _, swept in bore) else face
    return [(heading, swept) for heading, swept in told if swept is not None]


def _clocks(facts: Facts, unit: str) -> tuple[Clock, ...]:
    pair = _pair(facts)
    far = firstpage.reach([swept.result for _, swept in pair])
    return tuple(
        Clock(
            heading=f"{heading}, {swept.pipeline.header.created[:10]}",
            picture=firstpage.housing_clock(swept.result, far, unit),
            verdict=reportwords.verdict_of_all(swept.result.decision, None)[1],
            lines=_beneath(swept, unit),
        )
        for heading, swept in pair
    )


def _beneath(swept: Swept, unit: str) -> tuple[str, ...]:
    ecc = swept.result.eccentricity
    if swept.result.decision.withheld:
        return (NOT_KNOWN,)
    if not ecc.detected:
        return ("too little to tell a direction",)
    if not ecc.has_direction:
        return (f"{show_length(ecc.amount, unit)} off, direction {NO_DIRECTION}",)
    if swept.result.feature == "face":
        return (f"high at {ecc.high_clock}",)
    stands = firstpage.towards(swept.result)
    return (f"the centre stands {show_length(ecc.amount, unit)} off, towards {stands}",)


def _legend(facts: Facts) -> str:
    swept = {"bore": facts.last, "face": facts.last_face}
    told = [feature for feature, last in swept.items() if last is not None]
    return reportwords.legend(told[0], told)


def _bars(facts: Facts, unit: str) -> str:
    sweeps = (facts.found, facts.left, facts.face_found, facts.face_left)
    names = ("bore, found", "bore, left", "face, found", "face, left")
    told = [(name, swept.result) for name, swept in zip(names, sweeps, strict=True) if swept is not None]
    bars = [
        Bar(name, result.tir.fitted, 2.0 * result.eccentricity.u95_amount, state_of(result.decision))
        for name, result in told
        if not result.decision.withheld  # no figure stands for what was hardly measured
    ]
    limit = min(result.decision.limit for _, result in told)
    return firstpage.run_out_bars(bars, limit, unit) if bars else ""


def _fitted(facts: Facts, unit: str) -> tuple[tuple[str, ...], str]:
    """What is in now, in words and as a picture ("" where nothing offset is)."""
    state = facts.job.state
    lines, picture = [], ""
    if state.fitted is not None:
        lines.append(f"Dowels: {seen(state.fitted.dowels, unit)}.")
        if state.fitted.dowels:
            lines += _from_the_line(state.fitted, facts.pins)
            picture = firstpage.dowels_as_fitted(state.fitted, _names(state.fitted, facts.pins), unit)
        if facts.comparison and (amiss := not_as_planned(facts.comparison.finding, unit)):
            lines.append(typeset(amiss))
    if (shimmed := state.face.shimmed) is not None and shimmed.shims:
        places = ", ".join(f"{show_length(size, unit)} at {clock(deg)}" for deg, size in shimmed.shims)
        lines.append(f"Shims under the face: {short(places, 4 * _LONGEST)}, seen from behind.")
    if state.nudged is not None:
        lines.append(f"Without offset dowels the housing was {tapped_words(state.nudged)}.")
    if not lines:
        lines.append("Nothing was fitted; the housing is as it came.")
    return tuple(lines), picture


def _from_the_line(fitted: Fitted, pins: Pins | None) -> list[str]:
    """The same angles however the engine lies, where the holes are known."""
    if pins is None:
        return []
    turns = list(dict.fromkeys(from_the_line(deg, pins) for _, deg in fitted.dowels))
    return [f"That is {' and '.join(turns)} {the_line(pins)}."]


def _names(fitted: Fitted, pins: Pins | None) -> tuple[str, str]:
    if pins is not None:
        first, second = names(pins)
        return f"{first} hole", f"{second} hole"
    return ("one", "the other") if fitted.dowels[0] == fitted.dowels[-1] else ("first", "second")


def _identity(facts: Facts) -> tuple[tuple[str, str], ...]:
    known = facts.job.details
    operators = dict.fromkeys(swept.record.operator for swept in facts.sweeps if swept.record.operator)
    dates = dict.fromkeys(swept.pipeline.header.created[:10] for swept in facts.sweeps)
    job = ", ".join(filter(None, (f"no. {known.number}" if known.number else "", known.title)))
    rows = (
        ("Job", job),
        *((label(name), text) for name, text in known.said("front") if name != "number"),
        ("Swept by", ", ".join(operators)),
        ("Swept on", ", ".join(dates)),
        ("Report of", facts.made[:10]),
    )
    return tuple((name, short(value, 60)) for name, value in rows if value.strip())


def label(name: str) -> str:
    """What a key of a job is called on paper."""
    return {"dowels": "Dowel holes"}.get(name, capital(name.replace("_", " ")))


def _cautions(facts: Facts, unit: str) -> tuple[str, ...]:
    """What spoils the newest sweeps first, then what always holds."""
    said = limit_sentences(facts.ruling, facts.job, unit)
    # What was left open may be filled in; the shop's page says that too.
    said += [edited_sentence(each) for each in facts.edited if each.before and each.key in _SHOWN]
    said += [doubt_sentence(doubt, unit) for doubt in doubts(facts)]
    said += [
        taken_sentence(each.record, each.pipeline.header.job) for each in facts.sweeps if each.record.taken
    ]
    said += kept_sentences(Kept(missing=facts.gone, replaced=facts.replaced))
    for swept in filter(None, (facts.last, facts.last_face)):
        said += [sentence(each, unit) for each in swept.result.remarks if each.level == "warning"]
    kept = [f"{capital(line)}." for line in (short(typeset(each), 260) for each in said)]
    kept = kept[:_MOST_CAUTIONS]
    if more := len(said) - len(kept):
        kept.append(f"{more} more on the following pages.")
    return (*kept, *reportwords.STANDING)


def _unfinished(facts: Facts, unit: str) -> str:
    """What is due, where the job is not done but for this report."""
    if not facts.job.state.unproved:
        return ""
    step = next_step(facts.job.state, unit)
    return f"{capital(step)}." if facts.job.state.closed else f"The job is not finished. Next: {step}."
