"""Recordings that lie in a job's folder and are none that it goes by, in sentences."""

import shlex
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:  # the list of jobs needs these words, and nothing that finds strangers
    from ...job.folder.journal import Sweep
    from ...job.folder.kept import Kept
    from ...job.folder.snapshot import Snapshot
    from ...job.steps.sweeps import Reason, Stranger

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
    take = f"if it belongs: coaxly job take {job.folder} {name}{stage}{anyway}"
    return f"{stranger.path.name} is not gone by: {why}; {_REMEDY.get(stranger.why, take)}"


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
        (files.missing, "not in the folder any more, though the journal names it: put it back"),
        (files.other, "not the recording that the journal noted by that name: put that back"),
        (
            files.doubles,
            "another copy, or half of one, as folders that several machines share leave it: keep the better",
        ),
        (files.replaced, "not the file that was put there: its bytes are others than the journal noted"),
    )
    return [f"{name}: {what}" for names, what in told for name in names]
