"""Every dial of the table (tests/helpers/dialtable.py) on a pseudo-terminal: `listen` asks a person, writes a
profile, and a turn of the crank is read with it. None is read wrongly; one that cannot be read is refused.
"""

import asyncio
import io
import math
import re

import clockwork
import pytest
from carrying import Unhurried
from dialperson import Person
from dialtable import DIALS

from coaxly.commands import listen
from coaxly.logger.clock import SessionClock
from coaxly.logger.line.decoder import Decoder
from coaxly.logger.line.questions import OtherUnit, Question
from coaxly.logger.port.serialport import SerialSource
from coaxly.logger.profile import load
from coaxly.logger.readings import Fault, Readings
from coaxly.logger.rig.rigport import RigPort
from coaxly.main import main
from coaxly.plain import asking, dialasking
from coaxly.say.sweep.dialhunt import FITS_NOTHING

LINES = 60
PACE = {False: 1, True: 3}
"""A rig speaks every 20 ms; where a pause ends lines, one as long as that is none."""
ROOM_MM = 0.0065
"""The coarsest display of the table has steps of 5 um, and half a ten thousandth of an inch is 1.3."""


def truth(k):
    return round(0.3 + 0.8 * math.cos(math.tau * k / LINES), 4)


def terminal(person, monkeypatch):
    """A terminal at which the person sits: words to them, and lines from them."""
    told = [""]

    def message(words):
        told[0] = words
        person.reads(words) if "Enter" not in words else None

    for module in (dialasking, asking):
        monkeypatch.setattr(module, "message", message)
    stdin = io.StringIO()
    monkeypatch.setattr(stdin, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(stdin, "readline", lambda: person.reads(told[0]) + "\n", raising=False)
    monkeypatch.setattr("sys.stdin", stdin)


def listened(person, path, monkeypatch):
    """`coaxly listen --out` at the dial: its exit code."""
    with monkeypatch.context() as here:
        terminal(person, here)
        ports = []

        async def beside(work):
            async with RigPort(
                Unhurried(lambda t: person.sends(), every=PACE[person.dial.pause]), SessionClock()
            ) as port:
                ports.append(port.url)
                here.setattr(listen, "Ear", lambda name, *rest, **more: ear(port.url, *rest, **more))
                return await work

        ear = listen.Ear
        here.setattr(asyncio, "run", lambda work: clockwork.run(beside(work)))
        return main(["listen", "/dev/dial", "--out", str(path), "--seconds", "1"])


def swept(person, profile):
    """A turn of the crank with the dial as it is known now: mm and angle of each reading, and bad lines."""
    sent, events = [], []
    decoder = Decoder(profile)

    async def main():
        def line(t):
            k = len(sent)
            sent.append(k)
            return person.says(truth(k), 360.0 * k / LINES) if k < LINES else b""

        def heard(data):
            decoder.feed(data, float(len(sent)))
            events.extend(decoder.events())

        async with RigPort(Unhurried(line, every=PACE[person.dial.pause]), SessionClock()) as port:
            source = asyncio.create_task(SerialSource(port.url, profile, heard, lambda state: None).run())
            await clockwork.until(lambda: len(sent) > LINES + 5)  # some turns after the last
            source.cancel()
            await asyncio.gather(source, return_exceptions=True)

    clockwork.run(main())
    readings = [
        (value * (25.4 if event.unit == "in" else 1.0), None if event.angle is None else event.angle[n])
        for event in events
        if isinstance(event, Readings)
        for n, value in enumerate(event.value.tolist())
    ]
    return readings, [e for e in events if isinstance(e, Fault) and not e.kind and e.serious]


@pytest.mark.parametrize("dial", DIALS, ids=lambda dial: dial.name)
def test_each_dial_is_read_rightly_or_refused(dial, tmp_path, monkeypatch, capsys):
    person, path = Person(dial), tmp_path / "dial.toml"
    code = listened(person, path, monkeypatch)
    said = "".join(capsys.readouterr())
    if dial.refused:
        assert code != 0 and re.search(dial.refused, said) and not path.exists()
        return
    assert code == 0, (person.asked, said)
    readings, bad = swept(person, load(str(path)))
    # In order of time, and as late as a busy machine brings them.
    waiting = (truth(k) for k in range(LINES))
    for mm, angle in readings:
        assert any(abs(mm - true) < ROOM_MM for true in waiting), mm
        assert (angle is not None) is dial.angle
    assert len(readings) >= LINES // 3 - 2 and len(bad) <= 1, bad[:3]


class Never:
    """A dial whose display fits no factor of what its lines say."""

    question, reading = Question("shows"), "3F"

    def shows(self, text):
        if text == "cubits":
            raise ValueError(text)
        if text == "605 um":
            raise OtherUnit("mm", "in")
        return False


def asked(answers, monkeypatch, capsys):
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in answers)))
    assert clockwork.run(dialasking.asked_all(Never(), 1.0)) == FITS_NOTHING
    return capsys.readouterr().err


def test_who_is_asked_again_and_again_is_told_what_it_may_be(monkeypatch, capsys):
    said = asked(["1"] * 6, monkeypatch, capsys)
    assert (said.count("more than one way"), said.count("hexadecimal")) == (5, 4)


def test_what_is_no_number_or_in_another_unit_is_told_so_and_an_empty_line_stops(monkeypatch, capsys):
    said = asked(["1", "605 um", "cubits", "", "2"], monkeypatch, capsys)
    assert (
        "understood to show inches, and what was typed is in millimetres" in said
        and "That is no number" in said
    )
    assert said.count("more than one way") == 1 and "hexadecimal" not in said
