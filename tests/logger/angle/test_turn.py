"""One turn of the crank tells an encoder's counts, direction and wrap, or is refused."""

import math

import pytest

from coaxly.logger.angle.encoder import EncoderScale, EncoderTrack
from coaxly.logger.angle.turn import TurnError, encoder_lines, turned
from coaxly.logger.profile import Profile


def hand(degrees=360.0, steps=150):
    """Degrees of a crank that a hand turns, faster in the middle, and that stands before and after."""
    return (
        [0.0] * 10
        + [degrees * (1 - math.cos(math.pi * k / steps)) / 2 for k in range(steps + 1)]
        + [degrees] * 10
    )


@pytest.mark.parametrize("direction", [1, -1])
@pytest.mark.parametrize("bits", [0, 16, 24, 32, 48])
@pytest.mark.parametrize("counts", [360, 1000, 1024, 4096, 20000])
def test_a_turn_tells_counts_direction_and_wrap(counts, bits, direction):
    wrap = 2**bits if bits else 0
    start = wrap - counts // 3 if direction > 0 else counts // 3
    raw = [start + direction * round(deg / 360 * counts) for deg in hand(361.0)]
    turn = turned([each % wrap if wrap else each for each in raw])
    assert (turn.usual, turn.direction) == (counts, direction)
    assert turn.wrap(counts) == (wrap or None)


@pytest.mark.parametrize("counts", [360, 4096])
def test_a_counter_of_one_turn_starts_anew_at_its_counts(counts):
    turn = turned([(1.0 + deg / 360 * counts) % counts for deg in hand()])
    assert (turn.usual, turn.direction, turn.wrap(counts)) == (counts, 1, counts)


def test_what_is_learnt_makes_the_angles_of_the_turn():
    raw = [(65000 - round(deg / 360 * 4096)) % 65536 for deg in hand()]
    turn = turned(raw)
    scale = EncoderScale(turn.usual, turn.wrap(turn.usual) or 0.0, direction=turn.direction)
    assert EncoderTrack(scale) and scale.degrees_per_count * (raw[0] - raw[-1]) == pytest.approx(-360.0)


@pytest.mark.parametrize(
    "values",
    [
        [5.0] * 50,
        [*hand()[:90], *hand()[90:20:-1]],
        [deg * 10 + (5000 if k > 80 else 0) for k, deg in enumerate(hand())],
        [],
    ],
    ids=["still", "to and fro", "a pause in its talk", "nothing"],
)
def test_what_is_no_turn_is_refused(values):
    with pytest.raises(TurnError):
        turned(values)


def test_a_counter_that_was_reset_is_not_taken_for_one_that_starts_anew():
    raw = [50_000 + round(deg * 10) if deg < 180 else round(deg * 10) - 1800 for deg in hand()]
    with pytest.raises(TurnError, match="no usual counter"):
        turned(raw).wrap(3600)


def test_a_number_that_is_not_what_came_is_refused():
    turn = turned([deg / 360 * 4096 for deg in hand(358.0)])
    turn.told(4096)
    for wrong in (1024, 2048, 360, 8192):
        with pytest.raises(TurnError, match="about 40"):
            turn.told(wrong)
    assert turned([deg / 360 * 3300 for deg in hand()]).usual == 0


LINES = {
    "counts": (lambda n: f"{n}", 10),
    "named": (lambda n: f"E: {n}", 10),
    "degrees with a sign": (lambda n: f"A {n / 10:05.1f}\xb0", 10),
    "hexadecimal": (lambda n: f"{n:04X}", 16),
    "hexadecimal with 0x": (lambda n: f"0x{n:06x}", 16),
}


@pytest.mark.parametrize("shape", LINES)
def test_it_is_seen_how_an_encoder_writes(shape):
    line, base = LINES[shape]
    data = "".join(f"{line(round(deg * 10))}\r\n" for deg in hand()).encode("latin-1")
    profile, values = encoder_lines(data, Profile())
    assert profile.base == base and len(values) == len(hand())
    assert turned(values).usual == (360 if "degrees" in shape else 3600)


def test_what_is_no_encoder_is_none():
    assert encoder_lines(b"\x80\xf3\r\n" * 40, Profile()) is None
    assert encoder_lines(b"", Profile()) is None
