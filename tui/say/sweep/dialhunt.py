"""Looking for the dial, in words: what each port says, and what to do."""

from typing import Final

from coaxly.logger.line.listen import Trial, Understood
from coaxly.logger.line.portscan import TRIAL_SHARE, Hearing
from coaxly.logger.line.questions import CODED, About, OtherUnit, Role
from coaxly.logger.profile import Profile

from ...job.many.oneport import Ear
from .markwords import says

_STATE: Final = {
    "opening": "opening it",
    "silent": "... silent",
    "senseless": "? no sense in it yet",
    "speaks": "speaks",
    "failed": "X",
}
SLOWLY: Final = "takes its time to open, as Bluetooth does"
OPENS_SLOWLY: Final = f"the port {SLOWLY}: wait, or leave by Ctrl-C"
LISTENING: Final = "LISTENING"
MOVE_IT: Final = "MOVE IT"
NONE: Final = "NO PORT"
KEYS: Final = "Enter this one  Up, Down another  P name a port  A ask all  E encoder  T typed by hand  Q back"
ASK_PORT: Final = "Which port? A device such as /dev/ttyUSB0, or socket://host:port"
ASK_NAME: Final = "What is this dial called? It is found again by that name. Enter alone: dial."
FOUND: Final = "The dial is known now, and used until another is found (F)."
UNIT_OF_DIAL: Final = (
    "No line says the unit. What does the dial show? A feeler gauge under the plunger tells, if in doubt."
)
TYPED_UNIT: Final = "You will type what the dial reads, such as 14.9. In which unit?"
BY_HAND: Final = "A dial with a hand and no cable? Press T: its readings, or two numbers, are typed."

_NO_PORT: Final = (
    "No serial port is here. Plug the dial in: it is listened to as soon as it is there. "
    "P: name a port yourself."
)
_WAIT: Final = "Leave the dial alone for a moment: each port is heard at one speed after the other."
PUSH: Final = "Push the plunger in and out, a turn of the hand or more. The line that follows is your dial."
_THIS: Final = "This one moves. Enter takes it."
_ROLES: Final[dict[Role, str]] = {
    "value": "the reading",
    "angle": "the angle",
    "clock": "a clock, a counter or another number, not used",
    "label": "a name, not used",
}
QUESTIONS: Final[dict[About, str]] = {
    "plunger": (
        "Push the plunger in and out, slowly, again and again: no number of its line has followed it yet."
    ),
    "which": "Several numbers of its line follow the plunger. Which one stands on the dial's display now?",
    "crank": (
        "Does the same line also tell where the crank stands? Then turn the crank a little now, and leave "
        "the dial alone. If not, do nothing."
    ),
    "unit": UNIT_OF_DIAL,
    "shows": (
        "Its line says {reading}, which cannot be all that it shows. Leave the dial alone. What does its "
        "display show now, sign and point as they stand there?"
    ),
    "sign": (
        "its number has no sign, and a letter or figure beside it changes where it passes nought. What that "
        "means is not guessed: a profile by hand says it (the manual, profiles). Not kept."
    ),
    "wraps": (
        "its number starts anew below nought, with 65535 or the like. Set the instrument to send a sign. Not "
        "kept."
    ),
}
"""The same on the screen and in `listen`, one at a time, in this order."""
SHOWN: Final = "Leave the dial alone. What does its display show now, sign and point as they stand there?"
AGAIN: Final = (
    "That fits more than one way, or none. Push the plunger a good part of its travel in, hold it there, and "
    "type what the display shows then."
)
AGAIN_TOLD: Final = (
    f"{AGAIN} Still so? Then it may be another number of the line, or one that is hexadecimal or does not "
    "count from nought: the manual (profiles) says what cannot be read. To stop, or to choose another "
    "number, {stop}."
)
"""After two answers that did not help."""
FITS_NOTHING: Final = (
    "what the display shows cannot be made of what its lines say: they may be coded or hexadecimal. Not kept."
)
NO_SENSE: Final = "its lines make no sense with what was said. Not kept."
NOTHING_FOLLOWS: Final = "nothing on its line followed the plunger. Not kept."
NOT_A_NUMBER: Final = "That is no number: type it as the display shows it, such as -0.345 or -0.345 mm."
OTHER_UNIT: Final = (
    "This dial was understood to show {has}, and what was typed is in {typed}: type what stands on the "
    "display, or find the dial anew in the other unit."
)
CONFIRM: Final = "Leave the dial alone. Does its display now show {display}?"
TRY: Final = "A last check: push the plunger in and out, slowly, until the time is up."
_PATIENT: Final = 2
"""Answers that settle nothing before it is said what else it may be."""
ENTER_WHEN_DONE: Final = "Enter when done."
CONFIRM_ANSWERS: Final = [("y,enter", "yes", "yes"), ("n", "no", "no: type what it shows")]


def within(seconds: float) -> str:
    """How long there is for what was asked."""
    return f"({seconds:.0f} s, from now)"


def not_kept_words(hearing: Hearing) -> str:
    """Why what was tried is not kept."""
    about = hearing.question.about if hearing.question is not None else None
    return QUESTIONS[about] if about in CODED else trial_words(hearing.trial)


def typed_words(error: ValueError) -> str:
    """Why what was typed as the display's is not taken."""
    if isinstance(error, OtherUnit):
        return OTHER_UNIT.format(has=_UNIT_NAMES[error.has], typed=_UNIT_NAMES[error.typed])
    return NOT_A_NUMBER


def again_words(times: int, stop: str) -> str:
    """What is said to who has told what the display shows so many times, and it settled nothing. stop: how
    it is left off."""
    return AGAIN if times < _PATIENT else AGAIN_TOLD.format(stop=stop)


def trial_words(trial: Trial) -> str:
    """Why a profile is not kept."""
    if trial.lines < 4:
        return "almost nothing came: is the dial on? Not kept."
    if trial.share < TRIAL_SHARE:
        return f"only {100 * trial.share:.0f} % of its lines were understood while it moved. Not kept."
    return "the reading did not move while the plunger was pushed. Not kept."


def question_words(hearing: Hearing) -> str:
    """What is to be asked next; "" for nothing."""
    about = hearing.question.about if hearing.question is not None else None
    return QUESTIONS[about].format(reading=hearing.reading) if about is not None else ""


def choices_of(understood: Understood) -> list[tuple[str, str, str]]:
    """Answers to the question which number it is: key, its place among the choices, what it shows."""
    choices = understood.question.choices if understood.question is not None else ()
    return [(str(k + 1), str(k), text) for k, (_, text) in enumerate(choices[:9])]


def field_lines(understood: Understood) -> list[str]:
    """Each number of a line in words: "1: 2300, 2310, 2320 counts up: a clock ..."."""
    return [
        f"{k}: {', '.join(texts)} {behaviour}: {_ROLES[role]}"
        for k, (texts, behaviour, role) in enumerate(understood.fields, 1)
    ]


def check_words(understood: Understood) -> str:
    """What is said of its checksum."""
    if understood.check == "ignored":
        return "each line ends in a checksum of an unknown kind: not checked"
    return (
        f"each line ends in a checksum ({understood.check}): checked from now on" if understood.check else ""
    )


def says_words(understood: Understood) -> str:
    """What the dial says of itself on every line, in place of a reading, and what to do."""
    return f"{understood.examples[0].strip()!r}: {says(understood.says)}" if understood.says else ""


def setting_words(line: Profile) -> str:
    """A line setting: "9600 baud 8N1"."""
    return _setting(line).replace(" ", " baud ")


def _setting(line: Profile) -> str:
    return f"{line.baud} {line.bytesize}{line.parity}{line.stopbits:g}"


def ear_line(ear: Ear, width: int) -> str:
    """One port: its name, how it is heard, what came last."""
    hearing = ear.hearing
    line = hearing.line
    said = _STATE[ear.state]
    if ear.state == "failed":
        # What to do about one port among many is seen on the port itself.
        said = f"X {ear.why.removeprefix(f'{ear.port}: ').partition('. ')[0]}"
    elif ear.state == "speaks":
        said = f"{_setting(line)}  {hearing.newest}"
        said += "   * MOVES" if hearing.moved > 1.0 else ""
    elif ear.slow:
        said = SLOWLY
    else:
        asked = ", asked" if line.request else ""
        said += f"  ({_setting(line)}{asked})"
    room = min(max(width // 3, 24), 60)
    name = ear.port if len(ear.port) <= room else f"..{ear.port[2 - room :]}"
    return f"{name:<{room}} {said}"


def what_to_do(ears: list[Ear], picked: Ear | None) -> tuple[str, str]:
    """A few large characters, and the instruction."""
    if picked is None:
        return NONE, _NO_PORT
    hearing = picked.hearing
    if hearing.understood is not None and hearing.understood.says:
        return "NO READING", says_words(hearing.understood)
    if hearing.moved > 1.0:
        return _large(picked), _THIS
    if any(ear.hearing.at_rest for ear in ears):
        return MOVE_IT, PUSH
    return LISTENING, _WAIT


def _large(ear: Ear) -> str:
    """The reading and its unit as they will be kept."""
    number, _, unit = ear.hearing.display.partition(" ")
    plain = unit.replace("\xb5", "u").upper().replace('"', "IN")
    return f"{number} {plain}".strip() if number and plain.isascii() else number or MOVE_IT


UNITS_OF_DIALS: Final = [("i", "in", "inches"), ("m", "mm", "millimetres")]
"""Answers to the question of the unit."""
_UNIT_NAMES: Final = {unit: name for _, unit, name in UNITS_OF_DIALS}
UNITS_TYPED: Final = [("t", "thou", "thou"), *UNITS_OF_DIALS]
