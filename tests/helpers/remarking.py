"""What a result remarks, as tests ask for it."""

from collections.abc import Mapping
from typing import Any

from coaxly.fitter import Result


def kinds(result: Result) -> list[str]:
    """Kinds of all remarks, in their order."""
    return [remark.kind for remark in result.remarks]


def facts(result: Result, kind: str) -> Mapping[str, Any]:
    """The facts of the one remark of this kind; empty where there is none."""
    found = [remark.facts for remark in result.remarks if remark.kind == kind]
    assert len(found) <= 1, found
    return found[0] if found else {}
