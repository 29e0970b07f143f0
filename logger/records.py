"""The lines of a recording: JSON Lines, one object a line, told apart by `kind`.

Times `t` are seconds since the start of the session, monotonic, to the microsecond. Keys that are
not known here are ignored, and so is a line of an unknown kind: later versions may add both.
"""

from typing import Any, Final

import msgspec

FORMAT: Final = "coaxly-recording"
VERSION: Final = 1
INDICATOR: Final = "indicator"
ENCODER: Final = "encoder"
OPPOSITE: Final = "opposite"
"""A second indicator half a turn from the first: their half difference cancels the crank's end float."""


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


class Raw(msgspec.Struct, tag_field="kind", tag="raw", frozen=True, gc=False):
    """Bytes as they arrived on a port, as Latin-1 text so that any byte survives."""

    t: float
    port: str
    data: str


class Station(msgspec.Struct, tag_field="kind", tag="station", frozen=True, gc=False):
    """The operator confirmed a station at the angle `deg` of the scale."""

    t: float
    deg: float


class Undo(msgspec.Struct, tag_field="kind", tag="undo", frozen=True, gc=False):
    """The operator took the last station back."""

    t: float


class FaultNote(msgspec.Struct, tag_field="kind", tag="fault", frozen=True, gc=False):
    """Something that came in on a port and was no reading. For the reader; replay finds it anew."""

    t: float
    port: str
    what: str


class Link(msgspec.Struct, tag_field="kind", tag="link", frozen=True, gc=False):
    """A port came up or was lost."""

    t: float
    port: str
    state: str


class Note(msgspec.Struct, tag_field="kind", tag="note", frozen=True, gc=False):
    """Words of the operator."""

    t: float
    text: str


class ResultRecord(msgspec.Struct, tag_field="kind", tag="result", frozen=True):
    """What the software of the header made of everything before this line."""

    t: float
    result: dict[str, Any]


class Seal(msgspec.Struct, tag_field="kind", tag="seal", frozen=True, gc=False):
    """SHA-256 over every byte before this line, of which there are `lines` lines."""

    t: float
    lines: int
    sha256: str


class Unknown(msgspec.Struct, frozen=True):
    """A line of a kind that this version does not know: kept in the file, skipped here."""

    kind: str


Known = Header | Raw | Station | Undo | FaultNote | Link | Note | ResultRecord | Seal
Record = Known | Unknown

encode = msgspec.json.Encoder().encode
