"""What an audit finds, one thing at a time."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

PointKind = Literal[
    "seals", "signed", "false_signature", "unsigned", "damaged", "unreadable", "failed", "killed",
    "journal", "unproved", "partly_signed", "nobody_signed", "cut", "not_noted", "missing", "other",
    "replaced", "double", "twin", "stranger", "details", "no_details", "lost", "edited", "end_open",
    "no_result", "same_result", "reckoned_otherwise", "result_differs",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Point:
    """One thing that an audit found. facts: its numbers and names; `what`: in the words of the reader."""

    kind: PointKind
    facts: Mapping[str, Any]

    @classmethod
    def that(cls, kind: PointKind, **facts: Any) -> "Point":
        """With its facts by name."""
        return cls(kind, facts)
