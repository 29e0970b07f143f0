"""What a sweep is found to say. Plain frozen data; `to_dict` gives the object that `--json` prints.

Lengths in mm, angles in internal degrees (`fitter.geometry`), None where a thing is not known.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any, Final, Literal, cast

State = Literal["inside", "outside", "unsure"]
"""Of a decision; "unsure" where neither side is probable enough."""

Looks = Literal["high", "low", "sign", "unit", "point", "unmoved"]
"""What a bad station looks like: a burr, a notch, a reading that was taken down wrongly, or the place before
read once more."""

Level = Literal["warning", "note"]


class Facts:
    """What is printed as JSON and kept in recordings: the root of data classes."""

    __slots__ = ()

    def to_dict(self) -> dict[str, Any]:
        """As JSON-ready dictionaries and lists."""
        return asdict(cast(Any, self))


Kind = Literal[
    # of a sweep (`fitter.remarks`)
    "not_detected", "gap", "few_stations", "bad_station", "step", "closure", "hysteresis", "form", "rest",
    "drag", "mirrored", "unknown_keys", "unseen", "further", "sag_unstated", "zero", "delay",
    "two_numbers",
    # of its stations (`fitter.clues`)
    "tip_off", "dead_dial", "held_dial", "not_turned", "unit_changed", "wrong_angle", "tip_unmoved",
    # of its recording, added by whoever reads it
    "damaged", "torn", "bad_lines", "no_angle", "limits_differ", "other_unit", "too_large", "rig_old",
    # what the instrument said of itself, and what was done to it (`tui.job.marked`)
    "over_range", "held", "extreme", "low_battery", "instrument_error", "flagged", "rezeroed",
    "zero_lost", "not_live",
    # of the dowels there are (`fitter.dowels.plan.advice`)
    "form_beyond_dowels", "beyond_kit", "no_size_in_kit",
]  # fmt: skip
"""What there may be to remark. A kind that is in recordings keeps its name and its facts."""

FORBIDS: Final[Mapping[Kind, Literal["inside", "both"]]] = {
    "other_unit": "inside",
    "too_large": "both",
    "tip_off": "inside",
    "dead_dial": "both",
    "held_dial": "both",
    "not_turned": "both",
    "unit_changed": "both",
    "wrong_angle": "both",
    "tip_unmoved": "both",
    "not_live": "both",
    "zero_lost": "both",
}
"""Which verdicts each kind of doubt forbids. A dial that shows inches where mm were said, and a tip that
was off for part of the turn, can only hide run-out: what is outside stays outside. Of the others neither
verdict stands: readings too large to be in the unit that was said, a dial that did not move or said that it
was not live, a crank that did not turn, an angle or a unit that changed, a tip that stood where it stood
before, a zero that was set anew and could not be taken out."""


@dataclass(frozen=True, slots=True)
class Model:
    """What was fitted.

    harmonics: how many were fitted.
    drift: whether the closing reading corrected a drift.
    """

    harmonics: int
    drift: bool


@dataclass(frozen=True, slots=True)
class Tir:
    """Total indicator readings.

    swept: max - min of the station means.
    fitted: 2 e.
    opposed: largest |m(th) - m(th + 180)| where both were read.
    swept_excess: what noise is expected to have added to swept.
    swept_sd: standard uncertainty of swept.
    """

    swept: float
    fitted: float
    opposed: float | None
    swept_excess: float
    swept_sd: float


@dataclass(frozen=True, slots=True)
class Eccentricity:
    """The offset of the surface's centre from the crank's axis.

    vector: E = (x, y).
    amount: |E|.
    unbiased: the amount less what noise adds to any length.
    high_*: where the first harmonic reads highest.
    move_*: which way the housing must go.
    covariance: of E, mm^2, with `freedom` degrees (None: as good as infinite).
    u95_*: half-widths of 95 % intervals.
    detected: whether an offset was found, whichever way: the 95 % region of E leaves the origin out, but for
        what only turns E. If it does not, the direction means nothing.
    detectable: the largest amount that noise alone passes for.
    """

    amount: float
    unbiased: float
    high_deg: float
    high_clock: str
    move_deg: float
    move_clock: str
    vector: tuple[float, float]
    covariance: tuple[tuple[float, float], tuple[float, float]]
    freedom: float | None
    u95_amount: float
    u95_deg: float
    detected: bool
    detectable: float

    @property
    def has_direction(self) -> bool:
        """Whether a direction was found too: a bar of it that takes in half a turn or more says none."""
        return self.detected and self.u95_deg < 90.0


@dataclass(frozen=True, slots=True)
class Form:
    """Departure of the surface from a circle.

    ovality: amplitude of the second harmonic, read highest towards ovality_deg (and opposite).
    peak_to_valley: of the readings less the eccentricity.
    """

    peak_to_valley: float
    ovality: float | None
    ovality_deg: float | None


@dataclass(frozen=True, slots=True)
class Outlier:
    """A station that does not agree with the others.

    deg: where it is, and as clock text.
    residual: by how much, mm.
    weight: in the fit.
    like: what it looks like.
    probability: that it is a fault at all, None where nothing says.
    """

    deg: float
    clock: str
    residual: float
    weight: float
    like: Looks
    probability: float | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """A jump of the readings in mid-sweep: `size` mm, between two stations. probability: that there was one,
    None where nothing says."""

    size: float
    after_deg: float
    before_deg: float
    t: float
    probability: float | None = None


@dataclass(frozen=True, slots=True)
class Checks:
    """What the readings say of the rig.

    closure: last less first reading at the same place.
    cross: (12 + 6) - (3 + 9) o'clock.
    residual_sd: scatter about the model.
    hysteresis: clockwise less anticlockwise readings.
    neighbours: correlation of neighbouring sectors of a continuous sweep.
    """

    closure: float | None
    cross: float | None
    residual_sd: float | None
    outliers: tuple[Outlier, ...]
    step: Step | None
    hysteresis: float | None
    neighbours: float


@dataclass(frozen=True, slots=True)
class BudgetLine:
    """One source of uncertainty: standard uncertainty of the amount, mm. kind: A from scatter, B from
    what is known beforehand (JCGM 100:2008, 4.2 and 4.3)."""

    source: str
    kind: Literal["A", "B"]
    value: float


@dataclass(frozen=True, slots=True)
class Exact:
    """The vector by a true circle of known radius, how far it is from the harmonic one, and the
    second-order term e^2 / (4 R) that passes for ovality."""

    vector: tuple[float, float]
    difference: float
    second_order: float


@dataclass(frozen=True, slots=True)
class Decision:
    """Whether the true TIR of the eccentricity, 2 e, is within `limit` mm, and how probably. source:
    where the limit comes from, "" if nobody said. withheld: the kinds of remarks that forbid a verdict
    (`fitter.withheld`; `state` is "unsure" then, whatever the probability), empty if none does."""

    limit: float
    state: State
    probability: float
    source: str = ""
    withheld: tuple[Kind, ...] = ()


@dataclass(frozen=True, slots=True)
class Remark:
    """Something that whoever reads the result should know: facts, no sentence.

    kind: what it is.
    level: "warning", something is wrong or to be done; "note", always true of such a sweep.
    facts: its numbers and names, JSON-ready; lengths end in _mm, angles in _deg, times in _s.
    """

    kind: Kind
    level: Level
    facts: Mapping[str, Any]

    @classmethod
    def warning(cls, kind: Kind, **facts: Any) -> "Remark":
        """Something is wrong, or to be done."""
        return cls(kind, "warning", facts)

    @classmethod
    def note(cls, kind: Kind, **facts: Any) -> "Remark":
        """Nothing is known to be wrong."""
        return cls(kind, "note", facts)


@dataclass(frozen=True, slots=True)
class Result(Facts):
    """The whole finding of one sweep."""

    feature: str
    samples: int
    stations: int
    turns: int
    coverage_deg: float
    condition: float
    model: Model
    tir: Tir
    eccentricity: Eccentricity
    form: Form
    checks: Checks
    budget: tuple[BudgetLine, ...]
    decision: Decision
    corrections: dict[str, float] = field(default_factory=dict)
    exact: Exact | None = None
    remarks: tuple[Remark, ...] = ()
    unit: str = "mm"
