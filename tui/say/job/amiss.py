"""What is amiss with the files of a job, in sentences: recordings that it does not go by, files that are not
as its journal says, lines that no seal proves, and what job.toml says against what was said when it counted.
"""

import shlex
from itertools import takewhile
from typing import TYPE_CHECKING, Final

from ...entry.lengths import show_length

if TYPE_CHECKING:  # the list of jobs needs these words, and nothing that finds what is amiss
    from ...job.folder.journal import Journal, Sweep, Unproved
    from ...job.folder.kept import Kept
    from ...job.folder.snapshot import Snapshot
    from ...job.folder.sworn import Edited, Ruling
    from ...job.steps.noting import Reason, Stranger

_AMISS: "Final[dict[Reason, str]]" = {
    "copy": "it is a copy of {what}",
    "job": "it was made for another job, {what!r}",
    "journal": "it was begun when the journal held lines that are not in it now",
    "stage": "its stage is {what!r}, neither found nor left",
    "late": "it was begun {what}, before the last thing that was done",
    "damaged": "it was changed since it was written ({what})",
    "unsealed": "no seal says that it is as it was written ({what})",
    "no_result": "it holds no result",
    "second": "it is another copy of the journal, as a folder that several machines share leaves one",
    "unreadable": "it cannot be read ({what})",
}
_REMEDY: "Final[dict[Reason, str]]" = {
    "copy": "take it out of the folder",
    "damaged": "put back a copy that is whole",
    "second": "see which of the two holds more, and keep that one as journal.jsonl",
    "unreadable": "take it out of the folder, or put back a copy that is whole",
}


def stranger_sentence(stranger: "Stranger", job: "Snapshot") -> str:
    """Which, why it is not gone by, and what to do if it belongs all the same."""
    why = why_strange(stranger.why, stranger.what)
    stage = " --stage found (or left)" if stranger.why == "stage" else ""
    name = shlex.quote(stranger.path.name)
    anyway = " --anyway" if stranger.why == "job" and stranger.what else ""
    take = f"if it belongs: coaxly job take {job.called} {name}{stage}{anyway}"
    return f"{stranger.path.name} is not gone by: {why}; {_REMEDY.get(stranger.why, take)}"


def changed_sentence(name: str, what: str) -> str:
    """That a recording which the journal knows is not as it was. what: where that begins."""
    return f"{name}: {why_strange('damaged', what)}; {_REMEDY['damaged']}"


def taken_sentence(record: "Sweep", job: str) -> str:
    """That a recording counts because somebody said so. job: the one that its header names."""
    whose = f"made for another job, {job!r}, and " if record.taken == "job" and job else ""
    return f"{record.file} was {whose}taken in by hand"


def why_strange(why: "Reason", what: str) -> str:
    """Why a recording is not gone by. what: as a `Stranger` has it."""
    return "it names no job" if why == "job" and not what else _AMISS[why].format(what=what)


def kept_sentences(files: "Kept") -> list[str]:
    """What of a job's files is not as its journal says, with what to do."""
    told = (
        (
            files.missing,
            "not in the folder any more, though the journal names it: put it back "
            "(a new sweep takes the place of one that counts)",
        ),
        (files.other, "not the recording that the journal noted by that name: put that back"),
        (
            files.doubles,
            "another copy, or half of one, as folders that several machines share leave it: keep the better",
        ),
        (files.replaced, "not the file that was put there: its bytes are others than the journal noted"),
    )
    return [f"{name}: {what}" for names, what in told for name in names]


LOST = "what was chosen, fitted and proved before is not known"
"""Of a job without a journal."""


def unproved_words(record: "Unproved") -> str:
    """What was found, without where."""
    one = record.first >= record.last
    which = f"line {record.first}" if one else f"lines {record.first} to {record.last}"
    if record.state == "changed":
        return f"not as it was written: {record.found}"
    if record.state == "no_record":
        return f"bytes that are no record stood in {which} and were cut away: a power cut, or put in by hand"
    return f"{which} {'was' if one else 'were'} not sealed: a crash, or added by hand"


def unproved_lines(journal: "Journal") -> list[str]:
    """What a journal's seals do not prove, noted or seen now, with what to do."""
    return [
        f"! {journal.path}: {unproved_words(each)}. "
        + (
            "Put back a copy that is"
            if each.state == "changed"
            else "Make sure of it before you go by it ('coaxly job show' lists what it says)"
        )
        for each in journal.unproved
    ]


_LONGEST: Final = 60


def edited_sentence(one: "Edited") -> str:
    """One key that was changed by hand."""
    now, before = _around(one.now, one.before), _around(one.before, one.now)
    where = f"{one.file} says" if one.file else "the journal says"
    name = "whose limit it is" if one.key == "limit_source" else one.key.replace("_", " ")
    return f"job.toml was edited by hand: {name} is {now!r} now, {where} {before!r}"


def _around(text: str, other: str) -> str:
    """So much of a long text that where it begins to differ from the other is in it."""
    if len(text) <= _LONGEST:
        return text or "nothing"
    alike = sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(text, other, strict=False)))
    first = max(0, alike - _LONGEST // 2)
    return f"{'…' * (first > 0)}{text[first : first + _LONGEST]}{'…' * (first + _LONGEST < len(text))}"


def agree_words(job: "Snapshot") -> str:
    """What to do where it is right as it stands now."""
    return f"if that is right: coaxly job changed {job.called}"


def by_hand_sentence(ruled: "Ruling", job: "Snapshot", unit: str) -> str:
    """That sweeps are not judged by the limit that job.toml has now."""
    assert ruled.by_hand is not None
    return (
        f"the limit of {show_length(ruled.by_hand.tir, unit)} was put into job.toml by hand; "
        f"{_made_for(ruled, unit)}, and is judged by that; {agree_words(job)}"
    )


def limit_sentences(ruled: "Ruling", job: "Snapshot", unit: str) -> list[str]:
    """What is to be known of the limit beside a verdict; none where all were made for it."""
    if ruled.by_hand is not None:
        return [by_hand_sentence(ruled, job, unit)]
    if ruled.limit is None or not ruled.made_for:
        return []
    return [
        f"{_made_for(ruled, unit)}, and is judged by the limit of now, {show_length(ruled.limit.tir, unit)}"
    ]


def _made_for(ruled: "Ruling", unit: str) -> str:
    return "; ".join(f"{file} was swept for {show_length(limit, unit)}" for file, limit in ruled.made_for)
