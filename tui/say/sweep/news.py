"""What happened in a sweep, in words."""

from collections.abc import Callable
from typing import Final

from coaxly.fitter.geometry import clock
from coaxly.logger.watch.linewatch import MUTE

from ...job.sweep.news import News, What, Why
from ..portwords import named
from .marked import says
from .typed import typed_words

_SAME: Final = {
    What.ALL_READ: "all stations are read: finish, or undo one",
    What.GARBLED: "nothing to take: what comes is no reading",
    What.HELD: "held",
    What.MOVING: "hold still: the dial is moving",
    What.MUTE: MUTE,
    What.NO_ANGLE_MEANT: "that is no angle",
    What.NO_READING: "no reading to take: is the dial switched on and connected?",
    What.NOTHING_TO_RETAKE: "there is nothing to retake",
    What.NOTHING_TO_UNDO: "there is nothing to undo",
    What.PAUSED: "paused: nothing is taken",
    What.PAUSED_STILL: "paused: press P to go on",
    What.RESUMED: "goes on",
    What.SILENT: "nothing to take: the dial is silent",
    What.SWITCHED: "nothing to take: the dial jumped by 25.4 times, set it back",
    What.TAKEN_BACK: "last station undone",
    What.TURN: "one more turn",
    What.TURN_BACK: "one more turn, the other way",
    What.UNCHANGEABLE: "a replay cannot be changed",
    What.UNDONE: "last station undone: read it again",
    What.UNHEARD: "waiting for the first reading of the dial",
}

_WHY: Final = {
    Why.COMPLAINS: "not taken, the dial sends no reading",
    Why.GARBLED: "not taken, what comes is no reading",
    Why.MUTE: f"not taken, no reading has come since. {MUTE}",
    Why.RESTLESS: "not taken, the dial does not come to rest",
    Why.SEVERED: "not taken",
    Why.SILENT: "not taken, no reading has come since",
    Why.SWITCHED: "not taken, the dial jumped by 25.4 times",
    Why.TAKEN_BACK: "not taken",
}


def _station(news: News) -> str:
    return f"station {clock(news.deg)}" if news.deg is not None else "station"


def _still_due(news: News) -> str:
    due = f"{news.number:.0f} station{'s are' if news.number > 1 else ' is'} due"
    if news.what is What.STILL_TOO_FEW:
        return f"{due}, too few are read for a result: F again stops, to be gone on with later"
    return f"{due}: F again finishes without"


_MADE: Final[dict[What, Callable[[News], str]]] = {
    What.AT_STATION: lambda news: f"station at {news.number:g} deg",
    What.COMPLAINS: lambda news: f"nothing to take: {says(news.says)}",
    What.CONNECTED: lambda news: f"{named(*news.ports)} connected",
    What.FAILED: lambda news: news.text,
    What.LOST: lambda news: f"cable of the {named(*news.ports)} lost",
    What.NOT_TAKEN: lambda news: f"{_station(news)}: {_WHY[news.why or Why.SEVERED]}",
    What.NOTED: lambda news: news.text,
    What.NOT_TURNED: lambda news: (
        f"reads as at {clock(news.deg or 0.0)} seen from behind: did you turn? Undo if not"
    ),
    What.PACE: lambda news: f"{news.number:g} times as fast as life",
    What.PORTS_LOST: lambda news: f"the cable of the {named(*news.ports)} is lost: nothing can be taken",
    What.SAYS: lambda news: says(news.says, *news.ports),
    What.STILL_DUE: _still_due,
    What.STILL_TOO_FEW: _still_due,
    What.TAKEN: lambda news: f"{_station(news)} taken",
}


def told(news: News | None, unit: str = "thou") -> str:
    """What happened, in words, lengths in `unit`; "" where nothing has."""
    if news is None:
        return ""
    if news.doubt is not None:
        return typed_words(news.doubt, unit)
    made = _MADE.get(news.what)
    return made(news) if made is not None else _SAME[news.what]
