"""The lines of a recording: JSON Lines, one object a line, told apart by `kind`.

Times `t` are seconds since the start of the session, monotonic, to the microsecond. Keys that are
not known here are ignored, and so is a line of an unknown kind: later versions may add both.
"""

from typing import Annotated, Any, Final, Literal, TypeVar

import msgspec

_Kind = TypeVar("_Kind")

FORMAT: Final = "coaxly-recording"
VERSION: Final = 1
INDICATOR: Final = "indicator"
ENCODER: Final = "encoder"
OPPOSITE: Final = "opposite"
"""A second indicator half a turn from the first: their half difference cancels the crank's end float."""

Mode = Literal["entered", "combined", "encoder"]
MODES: Final[tuple[Mode, ...]] = ("entered", "combined", "encoder")
"""Where angles come from."""

USUAL_STATIONS: Final = 8
FEWEST_STATIONS: Final = 3
MOST_STATIONS: Final = 360

LARGEST_DEG: Final = 1e6
"""Beyond this a number is no angle that was meant."""

Seconds = Annotated[float, msgspec.Meta(ge=0.0, le=1e9)]
Degrees = Annotated[float, msgspec.Meta(ge=-LARGEST_DEG, le=LARGEST_DEG)]


class Header(msgspec.Struct, tag_field="kind", tag="header", frozen=True, omit_defaults=False):
    """Line 1: what was measured, how, with what, by whom."""

    format: str
    version: int
    created: str = ""
    software: str = ""
    feature: str = "bore"
    setup: dict[str, Any] = {}
    instrument: dict[str, Any] = {}
    angle: dict[str, Any] = {}
    job: str = ""
    stage: str = ""
    operator: str = ""
    ends: bool = False
    """Whether its writer puts an `end` record behind a finished sweep; earlier versions did not."""
    journal: str | msgspec.UnsetType = msgspec.UNSET
    """The last seal of the job's journal when this was begun, by its hash, for a recording of a job."""
    before: dict[str, Any] | msgspec.UnsetType = msgspec.UNSET
    """The job's sweep before this one, where nothing was done since: its file, feature, and what was read."""
    earlier: dict[str, Any] | msgspec.UnsetType = msgspec.UNSET
    """The same of the job's last sweep of this surface, whatever was done since: by its form the surface is
    known again."""


class Raw(msgspec.Struct, tag_field="kind", tag="raw", frozen=True, gc=False):
    """Bytes as they arrived on a port, as Latin-1 text so that any byte survives."""

    t: Seconds
    port: str
    data: str


class Station(msgspec.Struct, tag_field="kind", tag="station", frozen=True, gc=False):
    """The operator confirmed a station at the angle `deg` of the scale."""

    t: Seconds
    deg: Degrees


class Undo(msgspec.Struct, tag_field="kind", tag="undo", frozen=True, gc=False):
    """The operator took the last station back."""

    t: Seconds


class FaultNote(msgspec.Struct, tag_field="kind", tag="fault", frozen=True, gc=False, omit_defaults=True):
    """Something that came in on a port and was no reading. For the reader; replay finds it anew.

    says: what the instrument says of itself by it (`Fault.kind`), "" where it says nothing.
    """

    t: Seconds
    port: str
    what: str
    says: str = ""


class Link(msgspec.Struct, tag_field="kind", tag="link", frozen=True, gc=False):
    """A port came up or was lost."""

    t: Seconds
    port: str
    state: str


class Note(msgspec.Struct, tag_field="kind", tag="note", frozen=True, gc=False):
    """Words of the operator."""

    t: Seconds
    text: str


class ResultRecord(msgspec.Struct, tag_field="kind", tag="result", frozen=True, omit_defaults=True):
    """What was made of everything before this line. fit: version of the model of a sweep that made it; 0: of
    before any was said."""

    t: Seconds
    result: dict[str, Any]
    fit: int = 0


class Seal(msgspec.Struct, tag_field="kind", tag="seal", frozen=True, gc=False):
    """SHA-256 over every byte before this line, of which there are `lines` lines."""

    t: Seconds
    lines: int
    sha256: str


class End(msgspec.Struct, tag_field="kind", tag="end", frozen=True, gc=False, omit_defaults=True):
    """The recording is finished; only a seal follows.

    records: lines before this one.
    sha256: over all their bytes.
    key, signature: of the workshop, see `logger.recording.signing`; empty where it has no key.
    """

    t: Seconds
    records: int
    sha256: str
    key: str = ""
    signature: str = ""


class Signed(msgspec.Struct, tag_field="kind", tag="signed", frozen=True, gc=False):
    """A workshop's signature over a file that goes on, a job's journal; a seal follows.

    lines: before this one. sha256: over all their bytes.
    since: the first line that was written by whoever signs; those before it were found there.
    """

    lines: int
    sha256: str
    since: int
    key: str
    signature: str = ""


class Unknown(msgspec.Struct, frozen=True):
    """A line of a kind that this version does not know: kept in the file, skipped here."""

    kind: str


Known = Header | Raw | Station | Undo | FaultNote | Link | Note | ResultRecord | End | Seal
Record = Known | Unknown

_encode = msgspec.json.Encoder().encode


def encode(record: msgspec.Struct) -> bytes:
    """One line without its end. What is no Unicode text (odd bytes of a command line) is replaced."""
    try:
        return _encode(record)
    except UnicodeEncodeError:
        return _encode(msgspec.convert(_as_text(msgspec.to_builtins(record)), type(record)))


UNDECODABLE: Final = (msgspec.MsgspecError, RecursionError, UnicodeDecodeError)
"""What decoders raise of a line that is not what they decode."""


def decoded(decoder: msgspec.json.Decoder[_Kind], line: bytes) -> _Kind | None:
    """What a line is; None where it is nothing that the decoder knows."""
    try:
        return decoder.decode(line)
    except UNDECODABLE:
        return None


class _Timed(msgspec.Struct):
    t: float | None = None


_timed: Final = msgspec.json.Decoder(_Timed)


def time_of(line: bytes) -> float | None:
    """The time of a record, of whatever kind; None where it has none or is no record."""
    timed = decoded(_timed, line)
    return timed.t if timed is not None else None


def end_message(end: End) -> bytes:
    """What a workshop's key signs: the whole recording, by its count of lines and their hash."""
    return f"coaxly-recording end\n{end.t!r}\n{end.records}\n{end.sha256}\n".encode("ascii")


def signed_message(signed: Signed) -> bytes:
    """What a workshop's key signs of a journal."""
    return f"coaxly-journal signed\n{signed.since}\n{signed.lines}\n{signed.sha256}\n".encode()


def _as_text(value: Any) -> Any:
    if isinstance(value, str):
        return value.encode("utf-8", "replace").decode("utf-8")
    if isinstance(value, dict):
        return {_as_text(key): _as_text(inner) for key, inner in value.items()}
    return [_as_text(inner) for inner in value] if isinstance(value, list) else value
