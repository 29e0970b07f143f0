"""Find my dial, at every dial of the table (tests/helpers/dialtable.py): the questions of the page, answered by
who sees the display; and what was kept reads a turn of the crank rightly.
"""

import asyncio
import contextlib
import math

import clockwork
import pytest
from dialperson import PERIOD_S, Person
from dialtable import DIALS

from coaxly.logger.line.decoder import Decoder
from coaxly.logger.line.portscan import Hearing
from coaxly.logger.profile import Profile
from coaxly.logger.readings import Fault, Readings
from coaxly.screens.dial.dialquestions import DialQuestions
from coaxly.screens.small.questionscreen import QuestionScreen

LINES = 60
ROOM_MM = 0.0065
"""The coarsest display of the table has steps of 5 um, and half a ten thousandth of an inch is 1.3."""
PRESSES = 6


class Page:
    """Stands for the program: what it asks is answered by the person."""

    def __init__(self, person):
        self.person = person

    async def push_screen_wait(self, screen):
        answers = {key: name for key, name, _ in getattr(screen, "_answers", ())}
        listed = "; ".join(f"{key}: {text}" for key, _, text in getattr(screen, "_answers", ()))
        said = self.person.reads(f"{screen._question} {listed}. Type")
        await asyncio.sleep(0.5)
        if not isinstance(screen, QuestionScreen):
            return said
        if "Does its display show" in screen._question:
            return "no" if said else "yes"
        return answers.get(said, said)


async def speaks(person, hearing):
    """Ten lines a second, looked at as the page does."""
    for k in range(10_000):
        hearing.feed(person.sends(), k * PERIOD_S)
        if k % 4 == 3:
            hearing.look()
        await asyncio.sleep(PERIOD_S)


async def found(person):
    """The profile that is kept, None if nothing is."""
    hearing = Hearing(Profile(name="heard"))
    speaking = asyncio.create_task(speaks(person, hearing))
    try:
        await asyncio.sleep(2.5)
        for _ in range(PRESSES):
            if hearing.understood is None or hearing.understood.says:
                return None
            asking = DialQuestions(Page(person), hearing)
            settled = asyncio.create_task(asking.settled())
            while not settled.done():
                person.reads(asking.words)
                await asyncio.sleep(3.0)
                asking.done()
            if settled.result():
                return hearing.understood.profile
            person.reads(asking.words)
            await asyncio.sleep(3.0)
        return None
    finally:
        speaking.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await speaking


async def all_found(people):
    """All of them at once."""
    return await asyncio.gather(*map(found, people))


def truth(k):
    return round(0.3 + 0.8 * math.cos(math.tau * k / LINES), 4)


def swept(person, profile):
    """A turn of the crank: (line, mm, angle) of each reading, and lines that were no reading."""
    decoder = Decoder(profile)
    readings, bad = [], []
    for k in range(LINES):
        decoder.feed(person.says(truth(k), 360.0 * k / LINES), k * PERIOD_S)
        for event in decoder.events():
            if isinstance(event, Fault):
                bad += [event] if event.serious and not event.kind else []
            elif isinstance(event, Readings):
                mm = event.value * (25.4 if event.unit == "in" else 1.0)
                angles = [None] * len(event) if event.angle is None else event.angle.tolist()
                readings += [(k, *each) for each in zip(mm.tolist(), angles, strict=True)]
    return readings, bad


@pytest.mark.parametrize("rest", ["trembles"])
def test_each_dial_is_read_rightly_or_refused(rest):
    wrong, refused = [], set()
    people = [Person(dial, rest) for dial in DIALS]
    for person, profile in zip(people, clockwork.run(all_found(people)), strict=True):
        dial = person.dial
        if profile is None:
            refused.add(dial.name)
            continue
        readings, bad = swept(person, profile)
        near = [min(abs(mm - truth(max(n, 0))) for n in (k - 1, k)) < ROOM_MM for k, mm, _ in readings]
        angles = all((angle is not None) is dial.angle for *_, angle in readings)
        if not (all(near) and angles and len(near) >= LINES // 3 - 2 and len(bad) <= 1):
            wrong.append((dial.name, readings[:3], bad[:2]))
    assert wrong == []
    assert refused == {dial.name for dial in DIALS if dial.refused}
