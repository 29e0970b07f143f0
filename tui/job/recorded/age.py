"""How many days old the measurements of a rig were when a sweep used them; both dates come from files, no
clock is asked.
"""

from datetime import date
from typing import Final

OLD_DAYS: Final = 365
"""A dial is looked at once a year (common practice, no source)."""


def age_days(found: str, used: str) -> int:
    """Days from one ISO date to another, of which only the day counts; 0 where either is none."""
    try:
        return (date.fromisoformat(used[:10]) - date.fromisoformat(found[:10])).days
    except ValueError:
        return 0
