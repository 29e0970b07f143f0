"""Whether something comes out as often as is promised, from as few tries as tell it.

A fixed number of tries decides most questions long before it is through. Wald's test goes on only while what was
seen may still be either (A. Wald, Sequential Tests of Statistical Hypotheses, Ann. Math. Statist. 16 (1945) 117);
for the same chances to err it needs about a third.
"""

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any, Final

WRONGED: Final = 1e-4
"""Chance that what keeps its promise is turned down, over all seeds there are."""

MISSED: Final = 0.03
"""Chance that what is poor passes."""


class Tries:
    """Outcomes by seed, each made when it is first looked at, and kept."""

    def __init__(self, outcome: Callable[[int], Sequence[Any]], start: int = 0) -> None:
        """outcome(seed): what came of one try, several answers at once."""
        self._outcome, self._start = outcome, start
        self.made: list[Sequence[Any]] = []

    def column(self, place: int) -> Iterator[Any]:
        """One answer of each, for as long as it is asked for."""
        k = 0
        while True:
            if k == len(self.made):
                self.made.append(self._outcome(self._start + k))
            yield self.made[k][place]
            k += 1


def keeps(tries: Iterable[Any], promised: float = 0.95, poor: float = 0.83) -> bool:
    """Whether yes comes with a share of `promised`, not with one of `poor` or less."""
    yes, no = math.log(promised / poor), math.log((1.0 - promised) / (1.0 - poor))
    likelier = 0.0
    for each in tries:
        likelier += yes if each else no
        if likelier >= -math.log(MISSED):
            return True
        if likelier <= math.log(WRONGED):
            return False
    raise ValueError("too few tries to tell")


def seldom(tries: Iterable[Any], poor: float = 0.1) -> bool:
    """Whether yes comes once in a hundred times, not with a share of `poor` or more."""
    return keeps((not each for each in tries), 0.99, 1.0 - poor)
