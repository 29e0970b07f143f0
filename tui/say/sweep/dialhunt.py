"""Looking for the dial, in words: what each port says, and what to do."""

from typing import Final

from ...job.many.allports import Ear

_STATE: Final = {
    "opening": "opening it",
    "silent": "... silent",
    "senseless": "? no sense in it yet",
    "speaks": "speaks",
    "failed": "X",
}
LISTENING: Final = "LISTENING"
MOVE_IT: Final = "MOVE IT"
NONE: Final = "NO PORT"
KEYS: Final = "Enter this one  Up, Down another  P name a port  A ask  T typed by hand  Q back"
ASK_PORT: Final = "Which port? A device such as /dev/ttyUSB0, or socket://host:port"
ASK_NAME: Final = "What is this dial called? Its lines are kept under that name."
FOUND: Final = "The dial is known now, and used until another is found (F)."
UNIT_OF_DIAL: Final = (
    "No line says the unit. What does the dial show? A feeler gauge under the plunger tells, if in doubt."
)
TYPED_UNIT: Final = "In which unit are readings typed that carry none?"

_NO_PORT: Final = (
    "No serial port is here. Plug the dial in: it is listened to as soon as it is there. "
    "P: name a port yourself."
)
_WAIT: Final = "Leave the dial alone for a moment: each port is heard at one speed after the other."
_PUSH: Final = "Push the plunger in and out, a turn of the hand or more. The line that follows is your dial."
_THIS: Final = "This one moves. Enter takes it."
_CRANK: Final = (
    "Now leave the dial alone and turn the crank a little: its line may hold the angle too. Enter when done, "
    "or if it does not."
)


def ear_line(ear: Ear, width: int) -> str:
    """One port: its name, how it is heard, what came last."""
    hearing = ear.hearing
    line = hearing.line
    said = _STATE[ear.state]
    if ear.state == "failed":
        # What to do about one port among many is seen on the port itself.
        said = f"X {ear.why.removeprefix(f'{ear.port}: ').partition('. ')[0]}"
    elif ear.state == "speaks":
        said = f"{line.baud} {line.bytesize}{line.parity}{line.stopbits:g}  {hearing.newest}"
        said += "   * MOVES" if hearing.moved > 1.0 else ""
    else:
        asked = ", asked" if line.request else ""
        said += f"  ({line.baud} {line.bytesize}{line.parity}{line.stopbits:g}{asked})"
    room = min(max(width // 3, 24), 60)
    name = ear.port if len(ear.port) <= room else f"..{ear.port[2 - room :]}"
    return f"{name:<{room}} {said}"


def what_to_do(ears: list[Ear], picked: Ear | None, *, crank: bool) -> tuple[str, str]:
    """A few large characters, and the instruction."""
    if picked is None:
        return NONE, _NO_PORT
    if crank:
        return _large(picked), _CRANK
    if picked.hearing.moved > 1.0:
        return _large(picked), _THIS
    if any(ear.hearing.at_rest for ear in ears):
        return MOVE_IT, _PUSH
    return LISTENING, _WAIT


def _large(ear: Ear) -> str:
    reading = ear.hearing.reading.replace(",", ".").replace(" ", "")
    return reading if reading and set(reading) <= set("0123456789+-.") else MOVE_IT


UNITS_OF_DIALS: Final = [("i", "in", "inches"), ("m", "mm", "millimetres")]
"""Answers to the question of the unit."""
UNITS_TYPED: Final = [("t", "thou", "thou"), *UNITS_OF_DIALS]
