"""A sweep as it is asked for, on a screen or the command line: values, and their defaults, in one place."""

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Literal

from coaxly.fitter import Setup
from coaxly.fitter.clues.before import Before
from coaxly.logger.angle.encoder import EncoderScale
from coaxly.logger.angle.source import AngleSource, Source
from coaxly.logger.profile import TYPED as TYPED
from coaxly.logger.profile import Profile, load
from coaxly.logger.recording.records import ENCODER, INDICATOR, OPPOSITE, Mode
from coaxly.logger.recording.session import TYPED_DWELL_S

from ...entry.rigging import Rigging
from ...errors import UsageError
from .schedule import Plan, against


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepRequest:
    """Everything that a new sweep needs to know. What is wrong in itself was refused where it was entered."""

    dial: Source
    """The indicator, its unit known or said by its lines; its url is "" where readings are typed."""
    opposite: Source | None = None
    """A second indicator, half a turn away."""
    encoder: Source | None = None
    """Gives the angles, in mode "encoder"."""
    mode: Mode = "entered"
    """Where angles come from."""
    scale: EncoderScale = field(default_factory=EncoderScale)
    """How the encoder's counts become degrees."""
    plan: Plan = field(default_factory=Plan)
    """Which stations are stopped at, in mode "entered"."""
    setup: Setup = field(default_factory=Setup)
    """How the indicator sits, and the limit; `closing` is what the plan says."""
    job: str = ""
    stage: str = "found"
    operator: str = ""
    out: Path | None = None
    """Recording to write; None: named by job and stage, in the current folder."""
    turn: Literal["", "cw", "ccw"] = ""
    """Which way the crank is turned, seen from behind; "" where nobody said."""
    before: Before | None = None
    """The sweep of the job before this one, with nothing done since."""
    earlier: Before | None = None
    """Its last sweep of the same surface, whatever was done since."""
    any_number: bool = False
    """Whether that is NAME-NUMBER and any number will do, should another program take this one first."""

    @property
    def typed(self) -> bool:
        """Whether readings are typed by hand."""
        return self.dial.profile.name == TYPED

    @property
    def sources(self) -> dict[str, Source]:
        """The ports to be opened, by their name in the recording."""
        named = {INDICATOR: self.dial, ENCODER: self.encoder, OPPOSITE: self.opposite}
        return {} if self.typed else {name: source for name, source in named.items() if source is not None}

    @property
    def stops(self) -> Plan:
        """The plan as it counts: where angles come by themselves no turn is closed by a station."""
        closing = self.plan.closing and self.mode == "entered"
        return replace(self.plan, closing=closing, against=against(self.turn, self.setup))

    @property
    def setup_in_use(self) -> Setup:
        """The setup as it counts."""
        setup = replace(self.setup, closing=self.stops.closing)
        return replace(setup, dwell_s=TYPED_DWELL_S) if self.typed else setup

    @property
    def angle(self) -> AngleSource:
        """Where angles come from, as the header says it."""
        return AngleSource(
            mode=self.mode,
            scale=self.scale,
            encoder=self.encoder.profile if self.encoder is not None else None,
            opposite=self.opposite.profile if self.opposite is not None else None,
            stations=self.plan.stations if self.mode == "entered" else None,
            turn=self.turn,
        )


def asked(rig: Rigging, dial: Source, setup: Setup, **words: Any) -> SweepRequest:
    """A sweep as a job, a rig or options ask for it. words: the other fields of `SweepRequest`. Raises
    UsageError or LoggerError."""
    if dial.profile.name != TYPED and rig.opposite and rig.angle != "entered":
        raise UsageError("--opposite works with stations that are stopped at: leave --angle out")
    scale = {name: getattr(rig, name) for name in ("counts_per_turn", "wrap", "ratio", "direction")}
    encoder = encoder_of(rig, dial.profile)
    scale = {**_kept_scale(encoder), **{key: value for key, value in scale.items() if value is not None}}
    plan = Plan(rig.stations, closing=not rig.no_closing, auto=rig.auto)
    return SweepRequest(
        dial=dial,
        opposite=Source(rig.opposite, dial.profile) if rig.opposite and dial.url else None,
        encoder=encoder,
        mode=rig.angle,
        turn=rig.turn,
        scale=EncoderScale.from_header(scale),
        setup=setup,
        **{"plan": plan, **words},
    )


def _kept_scale(encoder: Source | None) -> dict[str, float]:
    """What the encoder's own profile says of its counts, as keys of an `angle` object."""
    if encoder is None or not encoder.profile.counts_per_turn:
        return {}
    profile = encoder.profile
    return {key: getattr(profile, key) for key in ("counts_per_turn", "wrap", "direction")}


def encoder_of(rig: Rigging, profile: Profile) -> Source | None:
    """Where the angles of a dial that talks so come from; None where they are entered. Raises UsageError."""
    if rig.angle != "encoder" or profile.name == TYPED:
        return None
    if not rig.encoder:
        raise UsageError("--angle encoder needs --encoder PORT")
    return Source(rig.encoder, load(rig.encoder_profile))
