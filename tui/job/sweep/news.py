"""What happened in a sweep, and what is to be done next: facts, for `coaxly.say` to put in words."""

from dataclasses import dataclass
from enum import StrEnum, auto

from coaxly.fitter.geometry import EnteredDeg, InternalDeg
from coaxly.logger.marks import FaultKind

from ..recorded.slips import NotTaken, Slip


class What(StrEnum):
    """What happened, or why nothing did."""

    ALL_READ = auto()
    COMPLAINS = auto()
    """Nothing can be taken: the dial says only what is wrong with it (`says`)."""
    BUTTON = auto()
    """Nothing was asked for: the dial has a button that takes the station."""
    BY_ITSELF = auto()
    """Nothing was asked for: angles come by themselves."""
    CONNECTED = auto()
    DOUBT = auto()
    """A typed reading is doubtful; `doubt` says how."""
    FAILED = auto()
    """`text` is what the error says."""
    GARBLED = auto()
    HELD = auto()
    JUST_READ = auto()
    """The key that would finish came too soon after the last reading to be meant so."""
    LOST = auto()
    MOVING = auto()
    MUTE = auto()
    NO_ANGLE_MEANT = auto()
    NO_READING = auto()
    NOTHING_TYPED = auto()
    NOT_TAKEN = auto()
    NOT_TURNED = auto()
    """The newest station reads as the one before, at `deg`, where the fit expects otherwise."""
    NOTED = auto()
    """A fault, as it stands in the recording: `text`."""
    NOTHING_TO_RETAKE = auto()
    NOTHING_TO_UNDO = auto()
    PACE = auto()
    PAUSED = auto()
    PAUSED_STILL = auto()
    PORTS_LOST = auto()
    RESUMED = auto()
    SAYS = auto()
    """An instrument says something of itself: `says`, on `ports`."""
    SILENT = auto()
    STILL_DUE = auto()
    STILL_TOO_FEW = auto()
    """As few as are read give no result."""
    SWITCHED = auto()
    TAKEN = auto()
    TAKEN_BACK = auto()
    TURN = auto()
    TURN_BACK = auto()
    UNCHANGEABLE = auto()
    UNDONE = auto()
    UNHEARD = auto()


class Why(StrEnum):
    """Why a station that was asked for is not taken."""

    COMPLAINS = auto()
    GARBLED = auto()
    MUTE = auto()
    RESTLESS = auto()
    SEVERED = auto()
    SILENT = auto()
    SWITCHED = auto()
    TAKEN_BACK = auto()


@dataclass(frozen=True, slots=True)
class News:
    """One thing that happened."""

    what: What
    deg: InternalDeg | None = None
    """Of the station it is about."""
    why: Why | None = None
    ports: tuple[str, ...] = ()
    number: float = 0.0
    """Stations still due, or the pace of a replay."""
    doubt: Slip | NotTaken | None = None
    """About what was typed."""
    says: FaultKind = ""
    """Of itself, by an instrument."""
    text: str = ""
    """Words that were not made here: of an error, or of a fault in the recording."""


class Do(StrEnum):
    """What the operator is to do now."""

    ALL_ROUND = auto()
    """Angles come by themselves, and have come from everywhere: finish, or turn on."""
    FINISH = auto()
    HOLD_STILL = auto()
    KEPT = auto()
    OVER = auto()
    LAY_STEP = auto()
    """A gauge step goes under the tip: `step_mm`, `inwards`."""
    MEND_DIAL = auto()
    """The dial says only what is wrong with it: `says`."""
    MEND_LINE = auto()
    """Bytes come, and no reading."""
    PLUG_IN = auto()
    SET_BACK = auto()
    """The dial seems to have been switched to `unit`."""
    SWEEP_AGAIN = auto()
    """It was switched while the crank turned: nothing makes that good."""
    SWITCH_ON = auto()
    """Nothing comes from the dial."""
    TURN_ROUND = auto()
    TURN_TO = auto()
    UNPAUSE = auto()
    WATCH = auto()
    WAIT_FOR_REST = auto()


@dataclass(frozen=True, slots=True)
class Task:
    """One thing to be done."""

    do: Do
    deg: InternalDeg | None = None
    """Where the crank is to be turned."""
    scale_deg: EnteredDeg | None = None
    """The same on the operator's own scale, where that is another."""
    closing: bool = False
    """The turn ends there."""
    back: bool = False
    """The crank is turned the other way than in the first turn."""
    on_demand: bool = False
    """The dial has a button, to be pressed there."""
    typed: bool = False
    """The reading is typed by hand."""
    feature: str = "bore"
    """What is swept (`fitter.reading.setup.Feature`)."""
    step_mm: float | None = None
    """The gauge step that is to lie under the tip."""
    inwards: bool = True
    """Whether the plunger is to go in onto it."""
    unit: str = ""
    says: FaultKind = ""
    """Of itself, by the dial."""
    ports: tuple[str, ...] = ()
    at_s: float = 0.0
    """How far a replay has come."""
    held: bool = False
    """Whether the replay is held."""
