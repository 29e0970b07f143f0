"""Recordings that lie in a job's folder and are none that it goes by, in sentences."""

import shlex
from typing import Final

from ...job.folder.snapshot import Snapshot
from ...job.steps.sweeps import Reason, Stranger

_AMISS: Final[dict[Reason, str]] = {
    "copy": "it is a copy of {what}",
    "job": "it was made for another job, {what!r}",
    "journal": "it was begun when the journal held lines that are not in it now",
    "stage": "its stage is {what!r}, neither found nor left",
    "late": "it was begun {what}, before the last thing that was done",
    "damaged": "it was changed since it was written ({what})",
    "unsealed": "no seal says that it is as it was written ({what})",
    "no_result": "it holds no result",
    "unreadable": "it cannot be read ({what})",
}
_REMEDY: Final[dict[Reason, str]] = {
    "copy": "take it out of the folder",
    "damaged": "put back a copy that is whole",
    "unreadable": "take it out of the folder, or put back a copy that is whole",
}


def stranger_sentence(stranger: Stranger, job: Snapshot) -> str:
    """Which, why it is not gone by, and what to do if it belongs all the same."""
    why = _AMISS[stranger.why].format(what=stranger.what)
    if stranger.why == "job" and not stranger.what:
        why = "it names no job"
    stage = " --stage found (or left)" if stranger.why == "stage" else ""
    name = shlex.quote(stranger.path.name)
    take = f"if it belongs: coaxly job take {job.folder} {name}{stage}"
    return f"{stranger.path.name} is not gone by: {why}; {_REMEDY.get(stranger.why, take)}"
