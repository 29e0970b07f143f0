"""What is doubtful about a typed line, in sentences."""

from typing import Final

from ...entry.lengths import show_length
from ...job.recorded.slips import NotTaken, Slip
from .marked import says

_BARE: Final = {"in": ".0149", "mm": "0.378"}
_LIKE: Final = {
    "point": ", perhaps the decimal point slipped",
    "thou": ", perhaps thou were typed",
    "mm": ", perhaps mm were typed",
    None: "",
}


def typed_words(doubt: Slip | NotTaken, unit: str) -> str:
    """One doubt and what to do about it, lengths in `unit`."""
    if isinstance(doubt, Slip):
        far = show_length(doubt.far_mm, unit, signed=True)
        return f"that is {far} from the readings before it{_LIKE[doubt.like]}: undo if so"
    if doubt.says:
        return f"{doubt.text.strip()[:24]!r} was not taken: {says(doubt.says)}, then read it again"
    why = "it has no unit" if doubt.bare else "it is no reading"
    bare = f", or {_BARE[doubt.unit]} for {doubt.unit}" if doubt.unit else ""
    return f"{doubt.text.strip()[:24]!r} was not taken, {why}: write it like 14.9thou or 0.378mm{bare}"
