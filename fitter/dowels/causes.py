"""What may have happened between two sweeps, by its name, and how often it does."""

from collections.abc import Iterable
from typing import Final, Literal

Cause = Literal[
    "as planned", "settled", "180 degrees out", "mirrored", "not turned to the mark", "not seated",
    "one dowel only", "wrong size", "dowels exchanged", "one half a turn out", "one mirrored",
    "found swept the other way", "left swept the other way", "both swept the other way",
    # where no plan was given
    "no shift", "shifted",
]  # fmt: skip

CANNOT_BE_TOLD: Final = "cannot be told"
"""Where none of them is likely enough to be named."""

OFTEN: Final[dict[Cause, float]] = {
    "as planned": 0.60,  # with "settled"; most pairs are set right
    "180 degrees out": 0.10,  # the low side for the high one: the classic mistake
    "mirrored": 0.08,  # dowels are set from the front, and angles are given from behind
    "not seated": 0.06,  # dirt, a burr, or the old dowels still in
    "one dowel only": 0.06,
    "not turned to the mark": 0.05,  # turned on by the housing, or a mark misread
    "wrong size": 0.05,
    "one half a turn out": 0.05,  # half as often as both: the two are compared when they stand side by side
    "one mirrored": 0.04,
    "dowels exchanged": 0.04,
    "both swept the other way": 0.04,  # a habit, or a front view, keeps for both sweeps
    "found swept the other way": 0.02,
    "left swept the other way": 0.02,
}
"""How often each happens, as shares that need not add up to one (common practice, no source). They decide
only where the shift does not; tests/bench/proof.py shows what comes of them."""

SAID: Final = 0.25
"""How much of that is left for a sweep whose way of turning somebody said: those that were read from the
front, and a few slips (common practice, no source)."""

TURNED: Final[dict[Cause, tuple[Literal["found", "left"], ...]]] = {
    "found swept the other way": ("found",),
    "left swept the other way": ("left",),
    "both swept the other way": ("found", "left"),
}
"""Which sweeps are the mirror image of what they should be: the crank was turned the other way than called
out, or the angles were read from the other end of the engine."""

FINE: Final[tuple[Cause, ...]] = ("as planned", "settled", "no shift", "shifted")
"""Causes that ask for nothing to be done: the plan came true, or none was given."""


def found_mirrored(causes: Iterable[str]) -> Literal["yes", "perhaps", "no"]:
    """Whether the sweep as found is believed to be mirrored, by those causes that are believed: "yes" leaves
    the sweep as left to choose dowels from, "perhaps" no sweep before somebody looked."""
    believed = set(causes)
    if believed == {"found swept the other way"}:
        return "yes"
    turned = {cause for cause, which in TURNED.items() if "found" in which}
    return "perhaps" if believed & turned else "no"
