"""How the setups of several sweeps become one that stands for all in the budget and the verdict: a rule for
each kind of key.

Each rule takes the name of a field and the sweeps, and gives the same for any order of them.
"""

import math
from collections.abc import Sequence
from typing import Any

from ..errors import SetupError
from ..geometry import direction, upwards
from ..keys import Share


def same(name: str, sweeps: Sequence[Share]) -> Any:
    """What cannot differ. Raises SetupError."""
    found = _values(name, sweeps)
    if len(set(found)) > 1:
        said = " and ".join(sorted({str(value) for value in found}))
        raise SetupError(name, said, "the same in all sweeps that are put together")
    return found[0]


def agreed(name: str, sweeps: Sequence[Share]) -> Any:
    """What each sweep has used for itself, and nothing asks of all: the usual value where they differ."""
    found = _values(name, sweeps)
    usual = type(sweeps[0].setup).__dataclass_fields__[name].default
    return found[0] if all(value == found[0] for value in found) else usual


def weighted(name: str, sweeps: Sequence[Share]) -> float:
    """An error of the shop's one rig, the same way in every sweep: sizes add up by weight."""
    return float(sum(sweep.weight * abs(getattr(sweep.setup, name)) for sweep in sweeps))


def anew(name: str, sweeps: Sequence[Share]) -> float:
    """An error that is another at every station: variances add up by the share of the stations."""
    return math.sqrt(sum(sweep.stations * getattr(sweep.setup, name) ** 2 for sweep in sweeps))


def by_tangent(name: str, sweeps: Sequence[Share]) -> float:
    """An angle of the tip: what its error does goes with the tangent."""
    tilts = (sweep.weight * math.tan(math.radians(abs(getattr(sweep.setup, name)))) for sweep in sweeps)
    return math.degrees(math.atan(sum(tilts)))


def sag_doubt(name: str, sweeps: Sequence[Share]) -> float:
    """How well the sag is known, where it is not said as a share of it: sizes add up by weight."""
    return float(sum(sweep.weight * sweep.setup.sag_uncertainty_mm for sweep in sweeps))


def repeats(name: str, sweeps: Sequence[Share]) -> float:
    """What differs from sweep to sweep averages down over sweeps. One that does not say it is taken to be no
    better than the worst of those that do."""
    worst = max(_values(name, sweeps))
    return math.sqrt(sum((sweep.weight * (getattr(sweep.setup, name) or worst)) ** 2 for sweep in sweeps))


def least(name: str, sweeps: Sequence[Share]) -> Any:
    """The strictest, or the one that is worth least; None only where nobody said one."""
    return min((value for value in _values(name, sweeps) if value is not None), default=None)


def of_the_strictest(name: str, sweeps: Sequence[Share]) -> str:
    """Whose the strictest limit is: somebody's sooner than nobody's."""
    limit = least("limit_mm", sweeps)
    names = {str(getattr(sweep.setup, name)) for sweep in sweeps if sweep.setup.limit_mm == limit}
    return min(names, key=lambda text: (not text, text))


def most_unless_unsaid(name: str, sweeps: Sequence[Share]) -> Any:
    """The largest; the usual where a sweep does not say it."""
    found = _values(name, sweeps)
    return None if None in found else max(found)


def largest_table(name: str, sweeps: Sequence[Share]) -> Any:
    """The table with the largest correction."""
    return max(_values(name, sweeps), key=lambda table: (max((abs(v) for _, v in table), default=0.0), table))


def level_if_any(name: str, sweeps: Sequence[Share]) -> str:
    """Weight that pulls in one sweep pulls in the vector of all."""
    return "level" if "level" in _values(name, sweeps) else "upright"


def weighted_where_level(name: str, sweeps: Sequence[Share]) -> float:
    """What weight does, by the weight of the sweeps that it pulls in."""
    found = _values(name, sweeps)
    if all(value == found[0] for value in found) and all(sweep.setup.crank == "level" for sweep in sweeps):
        return float(found[0])
    return weighted(name, [sweep for sweep in sweeps if sweep.setup.crank == "level"])


def mean_direction(name: str, sweeps: Sequence[Share]) -> float:
    """A direction between those of the sweeps, by weight."""
    found = _values(name, sweeps)
    if all(value == found[0] for value in found):
        return float(found[0])
    ups = [(sweep.weight, upwards(getattr(sweep.setup, name))) for sweep in sweeps]
    x, y = (sum(weight * up[axis] for weight, up in ups) for axis in (0, 1))
    tilt = direction(-x, y)
    return tilt - 360.0 if tilt > 180.0 else tilt


def together(name: str, sweeps: Sequence[Share]) -> str:
    """All names that there are."""
    return " + ".join(sorted({str(value) for value in _values(name, sweeps)} - {""}))


def oldest(name: str, sweeps: Sequence[Share]) -> str:
    """The earliest date that was said."""
    return min((str(value) for value in _values(name, sweeps) if value), default="")


def all_of(name: str, sweeps: Sequence[Share]) -> bool:
    """Only where it holds for each."""
    return all(_values(name, sweeps))


def any_of(name: str, sweeps: Sequence[Share]) -> bool:
    """Where it holds for one."""
    return any(_values(name, sweeps))


def in_each(name: str, sweeps: Sequence[Share]) -> tuple[str, ...]:
    """What is named in every one, in alphabetical order."""
    first, *others = (set(value) for value in _values(name, sweeps))
    return tuple(sorted(first.intersection(*others)))


def _values(name: str, sweeps: Sequence[Share]) -> list[Any]:
    return [getattr(sweep.setup, name) for sweep in sweeps]
