"""Headers of new recordings: the one place that looks at the calendar."""

from datetime import UTC, datetime
from typing import Any

from logger.records import FORMAT, VERSION, Header

from . import __version__


def new_header(**content: Any) -> Header:
    """A header of now, by this version; `content` are the other fields of `Header`."""
    return Header(
        format=FORMAT,
        version=VERSION,
        created=datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
        software=__version__,
        **content,
    )
