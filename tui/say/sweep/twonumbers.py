"""What two numbers of a plain dial are worth, in words."""

from collections.abc import Mapping
from typing import Any

from ...entry.lengths import show_length, written


def in_full(facts: Mapping[str, Any], unit: str) -> str:
    """How good they are, and what they cannot show."""
    blind = "Out of round, a drift and a slip would not show: a sweep of eight places would show them"
    return f"{short(facts, unit)}. {blind}"


def short(facts: Mapping[str, Any], unit: str) -> str:
    """How good they are."""
    allowed = show_length(facts["within_mm"], unit)
    return f"of two numbers, good to +- {allowed} and {written(facts['within_deg'], 'g')} degrees"
