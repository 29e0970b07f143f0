"""An encoder that is asked how it counts, in words."""

from typing import Final

from coaxly.logger.profile import Profile

from .sweep.dialhunt import setting_words

LITTLE: Final = "Turn the crank to and fro a little, for an encoder may be silent while it stands."
TURN: Final = (
    "Now set the crank just before 12 and stop. Turn it once clockwise, seen from behind the engine, past 12 "
    "and on to where you began. Slowly and evenly, and stop there ({seconds:.0f} s, from now)."
)
OFFER_COUNTS: Final = (
    "About {came:.0f} counts came: are they {usual} for one turn (360: it sends degrees)? Enter: yes. Else "
    "type how many one turn of the crank has."
)
ASK_COUNTS: Final = (
    "About {came:.0f} counts came, which is no usual number. Type how many one turn of the crank has: it "
    "stands on the encoder's plate."
)
ASK_WRAP: Final = (
    "Its counter did not start anew in this turn. Where does it, such as 65536? "
    "Enter: never, or nobody knows."
)
NOT_SO_MANY: Final = "That is no number of counts: type digits, such as 4096."


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
