"""Encoders and second indicators from the command line: real parser, real ports, simulated time."""

import asyncio
import json
import math
from functools import partial

import pytest
from benching import Wire
from carrying import carried
from clockwork import until
from commanding import command

from coaxly.job.recorded.pipeline import replay
from coaxly.logger.line.decoder import SETTLE_S

CENTRE = (0.06, -0.08)


def bore(deg):
    """What the dial reads at an angle of the crank, mm."""
    a = math.radians(deg)
    return -CENTRE[0] * math.sin(a) - CENTRE[1] * math.cos(a)


@pytest.fixture
def sweep(monkeypatch, capsys, tmp_path):
    """`coaxly sweep --headless --json` with these options; gives the result, checked against its file."""

    def run(life, *options):
        out = tmp_path / "s.jsonl"
        code, text, said = command(
            monkeypatch, capsys, life, "sweep", "--unit", "mm", "--headless", "--json", "--out", out, *options
        )
        assert code in (0, 1), said
        result = json.loads(text)
        again = json.loads(json.dumps(replay(out).result().to_dict()))
        assert again["eccentricity"] == result["eccentricity"]
        return result

    return run


@pytest.fixture
def wire(tmp_path):
    """Make a pseudo-terminal of a name."""
    made = []

    def plug(name):
        made.append(Wire(tmp_path / name))
        return made[-1]

    yield plug
    for each in made:
        each.unplug()


async def one_turn(operator, say):
    """Turn the crank once round in six seconds of life, 5 degrees at a time, and finish."""
    await operator.hears("connected")
    await asyncio.sleep(4 * SETTLE_S)
    for step in range(75):
        await say(5.0 * step)
        await asyncio.sleep(0.08)
    operator.types("done")


ENCODERS = {
    "degrees": ([], lambda deg: f"A {deg % 360.0:05.1f}\r\n"),
    "counts": (["--counts-per-turn", "3600"], lambda deg: f"{round(deg * 10)}\r\n"),
    "backwards": (
        ["--counts-per-turn", "3600", "--direction", "-1"],
        lambda deg: f"{round(-deg * 10)}\r\n",
    ),
    "wrapping": (
        ["--counts-per-turn", "3600", "--wrap", "1000"],
        lambda deg: f"{round(deg * 10) % 1000}\r\n",
    ),
    "on the rim": (
        ["--counts-per-turn", "720", "--ratio", "0.1"],
        lambda deg: f"{round(deg * 20)}\r\n",
    ),
}


@pytest.mark.parametrize("kind", ENCODERS)
def test_an_encoder_of_any_kind_gives_the_engines_vector(sweep, wire, kind):
    options, line = ENCODERS[kind]
    dial, encoder = wire("dial"), wire("encoder")
    if options:
        options = [*options, "--encoder-profile", "encoder-counts"]

    async def say(deg):
        # The crank stands meanwhile, so that it does not matter how long a line is under way.
        await carried(encoder, line(deg).encode())
        await carried(dial, f"{bore(deg):+.5f}\r\n".encode())
        await carried(encoder, line(deg).encode())

    result = sweep(
        partial(one_turn, say=say),
        "--port", dial.link, "--angle", "encoder", "--encoder", encoder.link, *options,
    )  # fmt: skip
    assert result["samples"] > 60
    assert result["eccentricity"]["vector"] == pytest.approx(CENTRE, abs=1e-3)


def test_an_angle_on_the_dials_own_line(sweep, wire):
    dial = wire("dial")
    result = sweep(
        partial(one_turn, say=lambda deg: carried(dial, f"{deg % 360:05.1f},{bore(deg):+.5f}\r\n".encode())),
        "--port", dial.link, "--profile", "angle-and-value", "--angle", "combined",
    )  # fmt: skip
    assert result["eccentricity"]["vector"] == pytest.approx(CENTRE, abs=1e-4)


def test_a_second_indicator_opposite_cancels_the_end_float(sweep, wire):
    """The face leans by 0.05 mm at the dial towards 3:00; the crank floats by far more."""
    near, far = wire("near"), wire("far")

    async def life(operator):
        await operator.hears("connected")
        await asyncio.sleep(4 * SETTLE_S)
        for k, floated in enumerate([0.0, 0.3, -0.2, 0.1]):
            lean = 0.05 * math.sin(math.radians(90.0 * k))
            for _ in range(15):
                near.say(f"{lean + floated:+.5f}\r\n".encode())
                far.say(f"{-lean + floated:+.5f}\r\n".encode())
                await asyncio.sleep(0.1)
            operator.types("")
            async with asyncio.timeout(20):
                while operator.said.count(" taken") <= k:
                    near.say(f"{lean + floated:+.5f}\r\n".encode())
                    far.say(f"{-lean + floated:+.5f}\r\n".encode())
                    await asyncio.sleep(0.1)
        operator.types("done")

    result = sweep(
        life, "--port", near.link, "--opposite", far.link, "--feature", "face", "--face-radius", "100mm",
        "--stations", "4", "--no-closing",
    )  # fmt: skip
    assert result["eccentricity"]["amount"] == pytest.approx(0.05, abs=1e-6)
    assert result["eccentricity"]["high_clock"] == "3:00"


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--angle", "encoder"], "--encoder PORT"),
        (["--opposite", "/dev/other", "--angle", "combined"], "leave --angle out"),
        (["--angle", "encoder", "--encoder", "/dev/no-encoder"], "/dev/no-encoder: no such port"),
        (["--opposite", "/dev/no-second-dial"], "/dev/no-second-dial: no such port"),
    ],
)
def test_options_and_ports_that_cannot_be_are_refused_in_words(
    monkeypatch, capsys, tmp_path, wire, options, words
):
    async def life(operator):
        await until(lambda: words in operator.said)

    code, out, said = command(
        monkeypatch, capsys, life, "sweep", "--port", wire("dial").link, "--unit", "mm", "--headless",
        "--out", tmp_path / "s.jsonl", *options,
    )  # fmt: skip
    assert code in (2, 3) and out == "" and words in said and "Traceback" not in said
