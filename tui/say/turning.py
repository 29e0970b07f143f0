"""An encoder that is asked how it counts, in words."""

from typing import Final

from coaxly.logger.angle.turn import Turn
from coaxly.logger.profile import Profile

from ..job.many.oneport import EncoderEar
from .sweep.dialhunt import SLOWLY, setting_words

LITTLE: Final = "Turn the crank to and fro a little, for an encoder may be silent while it stands."
TURN: Final = (
    "Now set the crank just before 12 and stop. Turn it once clockwise, seen from behind the engine, past 12 "
    "and on to where you began. Slowly and evenly, and stop there."
)
AGAIN: Final = "That turn does not count: turn it again."
TITLE: Final = "The crank's encoder: one turn tells how it counts   seen from BEHIND"
SET: Final = "Set the crank just before 12 and stop. Space begins."
THEN: Final = (
    "Turn it once CLOCKWISE, past 12 and on to where you began. Slowly and evenly. Space once it stands."
)
_OFFER_COUNTS: Final = (
    "About {came:.0f} counts came: are they {usual} for one turn (360: it sends degrees)? {yes}: yes. Else "
    "type how many one turn of the crank has."
)
_ASK_COUNTS: Final = (
    "About {came:.0f} counts came, which is no usual number. Type how many one turn of the crank has: it "
    "stands on the encoder's plate."
)
ASK_WRAP: Final = (
    "Its counter did not start anew in this turn. Where does it, such as 65536? "
    "Enter: never, or nobody knows."
)
NOT_SO_MANY: Final = "That is no number of counts: type digits, such as 4096."
KNOWN: Final = "The crank's encoder is known: {words}. Sweeps take their angles from it. Now the dial."
GONE: Final = (
    "the crank's encoder ({port}) is not there: plug it in; or F, then E, has another learnt or this one "
    "forgotten"
)
FORGOTTEN: Final = "The crank's encoder is forgotten: the crank is stopped at the places that are called out."
ASK_AGAIN: Final = "The crank's encoder is the one at {port}. What now?"
AGAIN_ANSWERS: Final = [
    ("t,enter", "turn", "turn the crank: the port that is picked is its encoder"),
    ("f", "forget", "forget it: the crank is stopped at places"),
]


def counts_question(turn: Turn, yes: str) -> str:
    """How many counts one turn has; yes: the key that takes what is offered."""
    words = _OFFER_COUNTS if turn.usual else _ASK_COUNTS
    return words.format(came=turn.counts, usual=turn.usual, yes=yes)


def ear_words(ear: EncoderEar) -> str:
    """What its port says now."""
    if ear.state == "failed":
        return f"X {ear.why}"
    if ear.slow:
        return f"{ear.port} {SLOWLY}"
    if not ear.hearing.speaks:
        return f"{ear.port}: {setting_tried(ear.hearing.line)}. {LITTLE}"
    return f"{ear.port} speaks, {setting_words(ear.hearing.line)}"


def setting_tried(line: Profile) -> str:
    """At which setting it is listened to now."""
    return f"listening at {setting_words(line)}"


def encoder_words(profile: Profile) -> list[str]:
    """What was learnt."""
    way = "with" if profile.direction > 0 else "against"
    wrap = f"starts anew at {profile.wrap:.0f}" if profile.wrap else "never starts anew"
    base = ", hexadecimal" if profile.base == 16 else ""
    return [
        f"{setting_words(profile)}{base}: {profile.counts_per_turn:g} counts for one turn, {way} the crank; "
        f"{wrap}"
    ]
