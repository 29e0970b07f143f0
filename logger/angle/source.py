"""Where angles come from: the `angle` object of a recording's header, read and written in this place only."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any, Literal, NamedTuple

from ..profile import Profile, built_in
from ..recording.records import FEWEST_STATIONS, MODES, MOST_STATIONS, USUAL_STATIONS, Mode
from .encoder import AngleError, EncoderScale


class Source(NamedTuple):
    """Where an instrument is, and how it talks."""

    url: str
    """Device or pyserial URL."""
    profile: Profile


@dataclass(frozen=True, slots=True)
class AngleSource:
    """How the readings of one sweep get their angles."""

    mode: Mode = "entered"
    """entered: the operator stops at stations; combined: on the indicator's line; encoder: a second port."""
    scale: EncoderScale = field(default_factory=EncoderScale)
    """How the encoder's counts become degrees; only of that mode."""
    encoder: Profile | None = None
    """How the encoder talks; None: as encoder-degrees does."""
    opposite: Profile | None = None
    """How a second indicator, half a turn away, talks on a port of its own; None without one."""
    stations: int | None = None
    """How many stations a turn was to have; None where nobody said."""
    turn: Literal["", "cw", "ccw"] = ""
    """Which way the crank is turned, seen from behind, as somebody said; "" where nobody did."""

    @property
    def encoder_profile(self) -> Profile:
        """How the encoder talks, whether or not anybody said."""
        return self.encoder if self.encoder is not None else built_in("encoder-degrees")

    @classmethod
    def from_header(cls, angle: Mapping[str, Any]) -> "AngleSource":
        """From the `angle` object of a header. Raises AngleError or ProfileError, in words.

        A number of stations that cannot be meant is no number here: a replay needs none.
        """
        mode = angle.get("mode", "entered")
        if mode not in MODES:
            raise AngleError(f"mode is {str(mode)[:40]!r}, but must be one of {', '.join(MODES)}")
        encoder, opposite = angle.get("instrument"), angle.get("opposite")
        stations, turn = angle.get("stations"), angle.get("turn")
        return cls(
            mode=mode,
            scale=EncoderScale.from_header(angle),
            encoder=Profile.from_header(encoder) if isinstance(encoder, dict) else None,
            opposite=Profile.from_header(opposite) if isinstance(opposite, dict) else None,
            stations=stations if _may_be_stations(stations) else None,
            turn=turn if turn in ("cw", "ccw") else "",
        )

    def to_header(self) -> dict[str, Any]:
        """As the `angle` object of a header."""
        said = {
            "mode": self.mode,
            **(asdict(self.scale) if self.mode == "encoder" else {}),
            "stations": self.stations,
            "turn": self.turn or None,
            "instrument": self.encoder and self.encoder.to_header(),
            "opposite": self.opposite and self.opposite.to_header(),
        }
        return {key: value for key, value in said.items() if value is not None}


def stations_due(angle: Mapping[str, Any]) -> int:
    """How many stations a turn of a sweep that goes on has. Raises AngleError where that makes no sense."""
    stations = angle.get("stations", USUAL_STATIONS)
    if not _may_be_stations(stations):
        raise AngleError(
            f"stations is {str(stations)[:20]}, but must be {FEWEST_STATIONS} to {MOST_STATIONS}"
        )
    return int(stations)


def _may_be_stations(value: object) -> bool:
    return type(value) is int and FEWEST_STATIONS <= value <= MOST_STATIONS
