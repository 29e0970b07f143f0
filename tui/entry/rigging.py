"""How the indicator sits and what is asked of a sweep beside that, as options, jobs and rigs say it."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any, Final, Literal

from coaxly.fitter import Setup
from coaxly.fitter.keys import Choice, Group, Number, Whole, Words, YesNo, key
from coaxly.logger.recording.records import FEWEST_STATIONS, MOST_STATIONS, USUAL_STATIONS, Mode

from .keys import read_table

_DIAL: Final = Group("the dial and its angles")
_STOPS: Final = Group("stations")
_COUNT: Final = Number(0.0, 1e6, above=True)
_NAME: Final = Words(300)


@dataclass(frozen=True, slots=True)
class Rigging:
    """What lasts from sweep to sweep. setup: keys of the `setup` object of a recording's header; rig: name of
    what was measured before, "" for none."""

    setup: dict[str, Any] = field(default_factory=dict, metadata={"key": None})
    rig: str = key(
        "", _NAME, None, "rig", "what --feature sag and steps have measured: a name, or a .toml file", _DIAL
    )
    port: str = key("", _NAME, None, "port", "device or pyserial URL of the indicator", _DIAL)
    profile: str = key("stream-decimal", _NAME, None, "profile", "how it talks: a name or a TOML file", _DIAL)
    unit: str = key(
        "", Choice(("mm", "in", "thou", "um")), None, "unit",
        "of the dial, where its profile says none; thou, um: of typed numbers", _DIAL,
    )  # fmt: skip
    opposite: str = key(
        "",
        _NAME,
        None,
        "opposite",
        "port of a second indicator, half a turn away: cancels end float of a face",
        _DIAL,
    )
    angle: Mode = key(
        "entered", Choice(("entered", "combined", "encoder")), None, "angle",
        "where angles come from: entered at each stop, on the dial's own line, or from an encoder", _DIAL,
    )  # fmt: skip
    encoder: str = key("", _NAME, None, "encoder", "port of the encoder, with --angle encoder", _DIAL)
    encoder_profile: str = key("encoder-degrees", _NAME, None, "encoder-profile", "how it talks", _DIAL)
    counts_per_turn: float | None = key(
        None,
        Number(0.0, 1e12, above=True),
        None,
        "counts-per-turn",
        "of an encoder that sends counts, not degrees",
        _DIAL,
    )
    wrap: float | None = key(
        None, Number(0.0, 2.0**64), None, "wrap", "where its counter starts anew (counts; 0: never)", _DIAL
    )
    ratio: float | None = key(
        None, _COUNT, None, "ratio", "crank turns for one turn of the encoder, of a friction wheel (1)", _DIAL
    )
    direction: int | None = key(
        None, Choice((1, -1)), None, "direction", "-1: it counts against the crank (1)", _DIAL
    )
    turn: Literal["", "cw", "ccw"] = key(
        "", Choice(("cw", "ccw")), None, "turn",
        "which way you turn the crank, seen from behind: places are called out in that order, "
        "and an angle that comes by itself is doubted where it goes the other way",
        _DIAL,
    )  # fmt: skip
    stations: int = key(
        USUAL_STATIONS, Whole(FEWEST_STATIONS, MOST_STATIONS), None, "stations", "how many in a turn", _STOPS
    )
    no_closing: bool = key(
        False, YesNo(), None, "no-closing", "do not end at the first station again", _STOPS
    )
    no_study: bool = key(False, YesNo(), None, "no-study", "count without what the shop's study kept", _STOPS)
    auto: bool = key(False, YesNo(), None, "auto", "take each station when the dial is steady", _STOPS)

    def over(self, said: Mapping[str, Any], setup: Mapping[str, Any]) -> "Rigging":
        """With what was said besides, which counts."""
        return replace(self, **said, setup={**self.setup, **setup})


OLD_DAYS: Final = 365
"""A dial is looked at once a year (common practice, no source)."""


def age_days(found: str, used: str) -> int:
    """How many days old the measurements of a rig were when a sweep used them, by two ISO dates of which only
    the day counts; 0 where either is none. No clock is asked."""
    try:
        return (date.fromisoformat(used[:10]) - date.fromisoformat(found[:10])).days
    except ValueError:
        return 0


def rigging(table: Mapping[str, Any]) -> Rigging:
    """A rig table read. Raises UsageError, naming the key."""
    said, setup = read_table(table, Rigging, Setup)
    return Rigging().over(said, setup)
