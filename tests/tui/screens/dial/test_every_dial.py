"""Find my dial, at every dial of the table (tests/helpers/dialtable.py): the questions of the page, answered by
who sees the display; and live sweeps with what was kept find the bore as it is.
"""

import asyncio
import contextlib

import clockwork
from dialperson import PERIOD_S, Person
from dialsweep import AMOUNT_MM, HIGH_DEG, swept
from dialtable import DIALS

from coaxly.fitter.geometry import difference
from coaxly.logger.line.listen import as_toml
from coaxly.logger.line.portscan import Hearing
from coaxly.logger.profile import Profile, load
from coaxly.screens.dial.dialquestions import DialQuestions
from coaxly.screens.small.askscreens import QuestionScreen

ROOM_MM, ROOM_DEG = 0.003, 1.0
"""The coarsest displays of the table have steps of 5 um and of half a thou."""
AT_ONCE = 36
PRESSES = 6
PATIENCE = 12
"""Questions after which the person leaves them."""


class Page:
    """Stands for the program: what it asks is answered by the person."""

    def __init__(self, person):
        self.person = person

    async def push_screen_wait(self, screen):
        answers = {key: name for key, name, _ in getattr(screen, "_answers", ())}
        listed = "; ".join(f"{key}: {text}" for key, _, text in getattr(screen, "_answers", ()))
        said = self.person.reads(f"{screen._question} {listed}. Type")
        await asyncio.sleep(0.5)
        if len(self.person.asked) > PATIENCE:
            return ""
        if not isinstance(screen, QuestionScreen):
            return said
        if "Does its display now show" in screen._question:
            return "no" if said else "yes"
        return answers.get(said, said)


async def speaks(person, hearing):
    """Ten lines a second, looked at as the page does."""
    for k in range(10_000):
        hearing.feed(person.sends(), k * PERIOD_S)
        hearing.feed(b"", k * PERIOD_S)  # a pause, which ends no line where something else does
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


def kept(profile, path):
    """The profile as it is written and read back."""
    path.write_text(as_toml(profile), encoding="utf-8")
    return load(str(path))


def test_each_dial_is_found_and_swept_with_rightly_or_refused(tmp_path):
    people = [Person(dial, "trembles") for dial in DIALS]
    found = dict(zip(people, clockwork.run(all_found(people)), strict=True))
    refused = {person.dial.name for person, profile in found.items() if profile is None}
    assert refused == {dial.name for dial in DIALS if dial.refused}
    taken = [person for person in people if found[person] is not None]
    profiles = [kept(found[person], tmp_path / f"{k}.toml") for k, person in enumerate(taken)]
    runs = []
    for k in range(0, len(taken), AT_ONCE):
        (folder := tmp_path / f"from {k}").mkdir()
        runs += clockwork.run(swept(taken[k : k + AT_ONCE], profiles[k : k + AT_ONCE], folder))
    assert {person.dial.name: wrong(run) for person, run in zip(taken, runs, strict=True) if wrong(run)} == {}


def wrong(run):
    """What is not as it truly is of a sweep; "" if all is."""
    if run.result is None:
        return f"{run.failure}, {len(run.pipeline.fitter.stations())} stations"
    found = run.result.eccentricity
    amount, deg = found.amount - AMOUNT_MM, abs(difference(found.high_deg, HIGH_DEG))
    right = abs(amount) < ROOM_MM and deg < ROOM_DEG
    return "" if right else f"{found.amount:.4f} mm at {found.high_deg:.1f}"
