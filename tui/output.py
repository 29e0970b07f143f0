"""Where output goes: one JSON object or plain text on standard output, messages on standard error."""

import json
import sys
from typing import Any

from . import SCHEMA


def json_object(content: dict[str, Any]) -> None:
    """The command's one object, marked with its schema."""
    print(json.dumps({"schema": SCHEMA, **content}, allow_nan=False))


def text(lines: list[str]) -> None:
    """The command's finding in plain text."""
    print("\n".join(lines))


def message(line: str) -> None:
    """A word in passing."""
    print(line, file=sys.stderr, flush=True)
