"""What is known of a job between its sweeps, in a small file beside its recordings.

It outlives the program: whoever starts it tomorrow in the same folder goes on where the work stands.
What was measured is read from the recordings themselves; the file says which one, and what was fitted.
"""

import re
from pathlib import Path
from typing import Any

import msgspec

from fitter.dowels.plan import Option
from logger.records import Header

from ..errors import UsageError
from .resume import unfinished

_LARGEST: int = 1 << 16


class JobState(msgspec.Struct, frozen=True):
    """Where a job stands.

    found: name of the bore's recording as found, "" for none.
    fitted: the dowels that were chosen last, as `Option.to_dict`; None before any were.
    """

    title: str
    found: str = ""
    fitted: dict[str, Any] | None = None

    @property
    def option(self) -> Option | None:
        """The dowels that were chosen last; None before, and where another version wrote them."""
        try:
            return None if self.fitted is None else msgspec.convert(self.fitted, Option)
        except msgspec.ValidationError:
            return None


def load(title: str, folder: Path) -> JobState:
    """The state of a job. Without a file, the newest sweep as found of that job is taken, and no dowels are
    known. Raises UsageError where the file cannot be understood."""
    path = _path(title, folder)
    try:
        with path.open("rb") as file:
            return msgspec.json.decode(file.read(_LARGEST), type=JobState)
    except FileNotFoundError:
        found = next(
            (path.name for path in recordings(title, "found", "bore", folder) if not unfinished(path)), ""
        )
        return JobState(title, found)
    except (OSError, msgspec.MsgspecError, UnicodeDecodeError, RecursionError) as error:
        raise UsageError(
            f"{path} says what is fitted, and cannot be read ({error}): mend or remove it"
        ) from error


def save(state: JobState, folder: Path) -> None:
    """Write it whole, or not at all. Raises UsageError."""
    path = _path(state.title, folder)
    draft = path.with_suffix(".tmp")
    try:
        draft.write_bytes(msgspec.json.format(msgspec.json.encode(state), indent=1) + b"\n")
        draft.replace(path)
    except OSError as error:
        raise UsageError(f"{path}: {error.strerror or error}: what is to be fitted is not kept") from error


def recordings(title: str, stage: str, feature: str, folder: Path) -> list[Path]:
    """Recordings of a job in a folder, the newest first."""
    wanted = _key(title), stage, feature
    kept = []
    for path in folder.glob("*.jsonl"):
        header = _header(path)
        if header is not None and (_key(header.job), header.stage, header.feature) == wanted:
            kept.append((path.stat().st_mtime_ns, path))
    return [path for _, path in sorted(kept, reverse=True)]


def _header(path: Path) -> Header | None:
    try:
        if not path.is_file():
            return None
        with path.open("rb") as file:
            return msgspec.json.decode(file.readline(_LARGEST), type=Header)
    except (OSError, msgspec.MsgspecError, UnicodeDecodeError, RecursionError):
        return None


def _key(title: str) -> str:
    return re.sub(r"\s+", " ", title.strip().lower())


def _path(title: str, folder: Path) -> Path:
    stem = re.sub(r"[^a-z0-9_-]+", "-", _key(title)).strip("-")
    return folder / f"{stem[:80] or 'sweep'}-job.json"
