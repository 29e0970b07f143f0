"""The following pages, for the shop: stations, budget, checks, proof, journal, seals, software."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import zip_longest

import msgspec

from coaxly.fitter import Result

from ..entry.lengths import number, show_length, whole_degrees, written
from ..job.folder.details import NAME
from ..job.steps.audit import Audit
from ..job.sweep.request import TYPED
from ..say.job import reportwords
from ..say.job.amiss import edited_sentence
from ..say.job.audits import audit_words
from ..say.job.jobwords import dowels_in_words, record_words
from ..say.job.listwords import came_words
from ..say.smallwords import capital, likely
from ..say.sweep.features import SWEPT
from ..say.sweep.findings import comparison_lines, corrections, of_two_numbers, stations_words, sureness
from ..say.sweep.pilotwords import pilot_lines
from ..say.sweep.warnings import sentence
from ..version import __version__
from .facts import Facts, Round, Sealed, Swept
from .front import label, short, typeset
from .readingpages import Row, plot, rows

_LONGEST = 2_000


@dataclass(frozen=True, slots=True)
class Part:
    """The sweeps of the bore, or of the face, side by side.

    stages, abouts, plots: one a sweep.
    rows: of stations, each with a cell of a sweep or None.
    budget: source, kind, value of each sweep. checks: label, value of each sweep.
    remarks: stage and sentence.
    """

    heading: str
    stages: tuple[str, ...]
    abouts: tuple[str, ...]
    plots: tuple[str, ...]
    rows: tuple[tuple[Row | None, ...], ...]
    budget: tuple[tuple[str, str, tuple[str, ...]], ...]
    checks: tuple[tuple[str, tuple[str, ...]], ...]
    remarks: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Back:
    """The pages in words and pictures. rounds, journal, seals: rows of their tables. unit: of all lengths."""

    parts: tuple[Part, ...]
    at_pilot: tuple[str, ...]
    proof: tuple[str, ...]
    rounds: tuple[tuple[str, ...], ...]
    journal: tuple[tuple[str, str, str], ...]
    seals: tuple[tuple[str, str], ...]
    proves: tuple[tuple[str, str], ...]
    details: tuple[tuple[str, str], ...]
    software: str
    unit: str
    too_many: str = reportwords.TOO_MANY


def back(facts: Facts, unit: str) -> Back:
    """The pages of a job."""
    return Back(
        parts=_parts(facts, unit),
        at_pilot=() if facts.at_pilot is None else tuple(map(typeset, pilot_lines(facts.at_pilot, unit))),
        proof=_proof(facts, unit),
        rounds=tuple(_round(k, each, unit) for k, each in enumerate(facts.rounds, 1)),
        journal=tuple(
            (
                record.time[:16].replace("T", " "),
                short(record_words(record, unit), _LONGEST),
                short(record.operator, 30),
            )
            for record in facts.job.records
        ),
        seals=(
            *(_seals(each) for each in facts.recordings),
            _journal_seals(facts),
            # What stands in this report and nobody said but by an editor.
            *((NAME, short(edited_sentence(each), 300)) for each in facts.edited),
        ),
        proves=_proves(facts),
        details=tuple((label(name), short(text, _LONGEST)) for name, text in facts.job.details.said("back")),
        software=_software(facts),
        unit=unit,
    )


def _parts(facts: Facts, unit: str) -> tuple[Part, ...]:
    groups: list[tuple[str, Sequence[Swept | None]]] = [
        ("Face", [facts.face_found, facts.face_left]),
        ("Bore", [facts.found, facts.left]),
        *((capital(SWEPT[part.result.feature]), [part]) for part in facts.parts),
    ]
    return tuple(
        _part(heading, sweeps, unit)
        for heading, several in groups
        if (sweeps := [swept for swept in several if swept is not None])
    )


def _part(heading: str, sweeps: Sequence[Swept], unit: str) -> Part:
    stages = tuple(f"as {swept.record.stage}" for swept in sweeps)
    remarks = [
        (stage, short(typeset(sentence(remark, unit)), 500))
        for stage, swept in zip(stages, sweeps, strict=True)
        for remark in swept.result.remarks
    ]
    return Part(
        heading=heading,
        stages=stages,
        abouts=tuple(_about(swept) for swept in sweeps),
        plots=tuple(plot(swept, unit) for swept in sweeps),
        rows=tuple(zip_longest(*(rows(swept, unit) for swept in sweeps))),
        budget=_budget(sweeps, unit),
        checks=_side_by_side([_checks(swept.result, unit) for swept in sweeps]),
        remarks=_merged(remarks, stages),
    )


def _about(swept: Swept) -> str:
    header, result = swept.pipeline.header, swept.result
    when = header.created[:16].replace("T", " ")
    typed = ", typed" if swept.pipeline.profile.name == TYPED else ""
    resumed = swept.pipeline.resumed
    times = "" if resumed == 1 else f" {resumed} times"
    broken = f", broken off and taken up again{times}" if resumed else ""
    read = stations_words(result)
    if not of_two_numbers(result):
        read += f", {result.samples} readings{typed}{broken}"
    return short(", ".join(filter(None, (swept.record.file, when, read))), 160)


def _merged(remarks: Sequence[tuple[str, str]], stages: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """What is remarked of all of the sweeps is said once."""
    words = dict.fromkeys(said for _, said in remarks)
    return tuple((", ".join(stage for stage in stages if (stage, said) in remarks), said) for said in words)


def _budget(sweeps: Sequence[Swept], unit: str) -> tuple[tuple[str, str, tuple[str, ...]], ...]:
    lines = [{(line.source, line.kind): line.value for line in swept.result.budget} for swept in sweeps]
    keys = dict.fromkeys(key for each in lines for key, value in each.items() if value > 0.0)
    return tuple(
        (source, kind, tuple(number(each.get((source, kind), 0.0), unit, finer=2) for each in lines))
        for source, kind in keys
    )


def _side_by_side(checks: Sequence[tuple[tuple[str, str], ...]]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    tables = [dict(each) for each in checks]
    labels = dict.fromkeys(label for each in checks for label, _ in each)
    return tuple((label, tuple(each.get(label, "") for each in tables)) for label in labels)


def _checks(result: Result, unit: str) -> tuple[tuple[str, str], ...]:
    checks, ecc, form = result.checks, result.eccentricity, result.form
    lengths = (
        ("dial TIR, largest less smallest", result.tir.swept),
        ("largest between opposite stations", result.tir.opposed),
        ("out of round" if result.feature in ("bore", "pilot") else "out of flat", form.peak_to_valley),
        ("oval (2nd harmonic)", form.ovality),
        ("scatter about the model (sd)", checks.residual_sd),
        ("closing less first reading", checks.closure),
        ("12 + 6 less 3 + 9 o'clock", checks.cross),
        ("one way less the other", checks.hysteresis),
        ("knock in mid-sweep", checks.step.size if checks.step else None),
    )
    told = not result.decision.withheld
    found = [
        ("run-out", reportwords.run_out_words(result, unit) if told else "not known"),
        ("verdict", reportwords.short_verdict(result.decision)),
        ("", sureness(result.decision)),
    ]
    if ecc.has_direction and told:
        within = written(ecc.u95_deg, ".0f")
        found.append(("high point", f"{ecc.high_clock}, {whole_degrees(ecc.high_deg)} ± {within} deg"))
    found += [(label, show_length(value, unit)) for label, value in lengths if value is not None]
    found.append(("largest gap between stations", f"{written(result.coverage_deg, '.0f')} deg"))
    found += corrections(result.corrections, unit)
    return tuple(found)


def _proof(facts: Facts, unit: str) -> tuple[str, ...]:
    if facts.comparison is None:
        if facts.job.state.nudged is not None and facts.left is not None:
            return ("The housing was tapped into place; the sweep as left is the proof.",)
        if facts.left is None or facts.job.state.fitted is None or not facts.job.state.fitted.dowels:
            return ("Nothing was fitted and swept again, so there is nothing to prove.",)
        return (f"What the dowels did was not proved: coaxly verify {facts.job.folder}",)
    left = facts.left.result if facts.left else None
    return tuple(typeset(" ".join(line.split())) for line in comparison_lines(facts.comparison, unit, left))


def _round(number_: int, each: Round, unit: str) -> tuple[str, ...]:
    answer = each.left.answer if each.left is not None else None
    came = came_words(msgspec.to_builtins(answer), unit) if answer else "not swept"
    proof = f"{each.proof.cause} ({likely(each.proof.probability)})" if each.proof else "not proved"
    return (
        str(number_),
        each.fitted.time[:10],
        dowels_in_words(each.fitted.dowels, unit),
        came,
        short(proof),
    )


def _level(audited: Audit) -> str:
    """What its seals are worth, as `reportwords.PROVES` names it; what is wrong, where something is."""
    if audited.state not in ("ok", "different"):
        return audited.state
    return "signed" if audited.key and audited.signer else "finished" if audited.finished else "unfinished"


def _seals(each: Sealed) -> tuple[str, str]:
    words = audit_words(each.audit)
    if not each.noted:
        words = f"NOT the recording that the journal noted; {words}"
    return short(each.record.file, 60), short(words, 400)


def _journal_seals(facts: Facts) -> tuple[str, str]:
    points = tuple(point for point in facts.journal.points if point.kind != "edited")  # in rows of their own
    words = audit_words(replace(facts.journal, points=points))
    if facts.journal.state == "ok" and facts.journal.signer:
        words += ", every line is as it was written"
    return facts.job.journal.path.name, short(words, 600)


def _proves(facts: Facts) -> tuple[tuple[str, str], ...]:
    levels = dict.fromkeys(_level(each.audit) for each in facts.recordings)
    return tuple((level, reportwords.PROVES[level]) for level in levels if level in reportwords.PROVES)


def _software(facts: Facts) -> str:
    made_by = ", ".join(dict.fromkeys(swept.pipeline.header.software or "unknown" for swept in facts.sweeps))
    names = dict.fromkeys(swept.pipeline.profile.name for swept in facts.sweeps)
    dials = ", ".join(
        "readings were typed" if name == TYPED else f"the dial talks as {name}" for name in names
    )
    return (
        f"Reckoned by coaxly {__version__}; recorded by {short(made_by)}; {short(dials)}. "
        f"Made {facts.made.replace('T', ' ').replace('Z', ' UTC')}; all times are UTC."
    )
