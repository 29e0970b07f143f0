"""Headers of new recordings: the one place that looks at the calendar."""

from datetime import UTC, datetime
from typing import Any

from coaxly.logger.recording.records import FORMAT, VERSION, Header

from ...entry.names import is_text
from ...errors import UsageError
from ...version import __version__


def new_header(**content: Any) -> Header:
    """A header of now, by this version; `content` are the other fields of `Header`.

    Raises UsageError where a person's words are bytes that are no text.
    """
    for key in ("job", "stage", "operator"):
        if not is_text(content.get(key, "")):
            raise UsageError(f"--{key} holds bytes that are no text (UTF-8): write it anew")
    return Header(
        format=FORMAT,
        version=VERSION,
        created=datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
        software=__version__,
        **content,
    )
