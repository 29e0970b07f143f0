"""What there is to say of dowels that may be fitted, in sentences."""

import math
from typing import TYPE_CHECKING

from ...entry.lengths import show_length, written

if TYPE_CHECKING:  # words need no arithmetic
    from coaxly.fitter.dowels.plan import Option

_PLAIN = {
    "nothing_found": "nothing was found that dowels could correct",
    "inside": "within the limit as it stands: leave it",
    "as_it_stands": "leave it as it stands",
    "no_direction": "no direction was found to turn them to: do not fit",
    "wrong_size": "wrong size: no angle brings it within the limit",
    "unlikely": "unlikely to end within the limit",
}


_SIZES = {True: "; get other sizes", False: ""}


def note(option: "Option", unit: str, *, best: bool = False, doubtful: bool = False) -> str:
    """One option in a sentence, lengths in `unit`. best: none of those at hand is better; doubtful: it is
    planned from a sweep that hardly measured what it seems to."""
    if doubtful:
        return "not to go by: sweep again first"
    if option.judged == "unlikely" and option.goes_on is not None and option.goes_on < 0.5:
        return "unlikely to go on"
    if option.judged == "as_it_stands" and option.probability < 0.5:
        return "nothing fitted: it stays outside the limit" + _SIZES[best]
    if option.judged in _PLAIN or not option.dowels:
        return _PLAIN.get(option.judged, _PLAIN["as_it_stands"])
    first = option.dowels[0]
    if option.pair == "split" and option.bind is not None and option.turn_deg is not None:
        bind, turned = show_length(abs(option.bind), unit), written(abs(option.turn_deg), ".3f")
        return f"beyond common practice: bind {bind}, the housing turns {turned} degrees"
    window, towards = option.sure_window_deg, f"both high sides to {first.clock} from behind"
    if window is None:
        return f"{towards}; no angle is 95 % sure to end inside"
    if window >= 180.0:
        return f"{towards}; any angle ends inside"
    return f"{towards}, within {math.floor(window)} degrees either way"
