"""Which port is the dial: by what moves when the plunger is moved, whatever else stands on its lines."""

import math

import pytest

from coaxly.logger.line.portscan import Hearing
from coaxly.logger.line.questions import OtherUnit
from coaxly.logger.profile import Profile


def heard(line, seconds=6.0, rate=10.0, moves_from=2.5):
    """Feed what an instrument says: `line(t, reading)`, its plunger pushed from a moment on."""
    hearing = Hearing(Profile())
    for k in range(int(seconds * rate)):
        t = k / rate
        pushed = 0.25 * math.sin(3.0 * (t - moves_from)) if t > moves_from else 0.0
        hearing.feed(line(t, 0.0123 + 0.0001 * (k % 2) + pushed), t)
        if k % 4 == 0:
            hearing.look()
    hearing.look()
    return hearing


LINES = {
    "a number alone": lambda t, r: b"%+.4f\r\n" % r,
    "text around it": lambda t, r: b"<ID7> probe=%+.4f mm ok;\r\n" % r,
    "a clock before it": lambda t, r: b"%d,%.4f\r\n" % (5000 + 100 * t, r),
    "a clock behind it": lambda t, r: b"%.4f;%d\r\n" % (r, 5000 + 100 * t),
    "a name, a counter and a temperature": lambda t, r: b"D2 %04d %.4f 21.5\r\n" % (10 * t, r),
    "an angle at rest": lambda t, r: b"045.0,%+.4f\r\n" % r,
    "a comma": lambda t, r: (b"%+.4f\r\n" % r).replace(b".", b","),
}


@pytest.mark.parametrize("name", LINES)
def test_the_number_that_moves_with_the_plunger_is_the_reading(name):
    hearing = heard(LINES[name])
    assert hearing.moved > 1.0
    assert float(hearing.reading.replace(",", ".")) == pytest.approx(
        0.0123 + 0.0001 * (59 % 2) + 0.25 * math.sin(3.0 * (5.9 - 2.5)), abs=1e-4
    )


@pytest.mark.parametrize(
    "line",
    [
        lambda t, r: b"+0.0123\r\n",
        lambda t, r: b"%+.4f\r\n" % (0.0123 + 0.0003 * math.sin(40.0 * t)),
        lambda t, r: b"%d\r\n" % (1000 * t),
        lambda t, r: b"%.2f\r\n" % (20.0 + 3.0 * math.sin(5.0 * t)),
    ],
    ids=["still", "trembles", "counts", "moves by itself"],
)
def test_what_does_not_move_more_than_at_rest_is_not_taken_for_the_dial(line):
    assert heard(line, moves_from=99.0).moved < 1.0


def test_a_number_that_stayed_may_be_an_angle_until_the_crank_was_turned():
    hearing = heard(LINES["an angle at rest"])
    assert hearing.question.about == "crank" and not hearing.understood.has_angle
    hearing.turn_crank()
    for k in range(20):
        hearing.feed(b"%05.1f,+0.0123\r\n" % (45 + 3 * k), 6.0 + k / 10.0)
    hearing.look()
    assert hearing.understood.has_angle and hearing.question.about == "unit"
    assert heard(LINES["a number alone"]).question.about == "unit"


@pytest.mark.parametrize(
    ("times", "word"),
    [(1, "cm"), (1, ""), (10, "mm"), (1e4, "um"), (1e4, "\xb5m"), (1e4, " MICRON"), (1e4, "\u03bcm")],
)
def test_what_the_display_shows_may_be_typed_with_its_unit(times, word):
    hearing = heard(lambda t, r: b"%+.4f cm\r\n" % r)
    assert hearing.shows(f"{float(hearing.reading) * times:.4f}{word}")
    assert hearing.told.factor == pytest.approx(1.0)


def test_what_is_typed_in_a_unit_that_is_none_or_not_the_dials_is_refused():
    hearing = heard(lambda t, r: b"%+.4f cm\r\n" % r)
    with pytest.raises(OtherUnit) as caught:
        hearing.shows("18.81 mil")
    assert (caught.value.typed, caught.value.has) == ("in", "mm")
    for text in ("12 apples", "cm", "1.2.3"):
        with pytest.raises(ValueError, match=text) as told:
            hearing.shows(text)
        assert not isinstance(told.value, OtherUnit)


@pytest.mark.parametrize("size", [1, 7, 4096])
def test_chunks_do_not_matter_and_a_fast_instrument_is_no_burden(size):
    hearing = Hearing(Profile())
    data = b"".join(b"%+.4f\r\n" % (0.1 if k < 2000 else 0.1 + (k % 9) / 50.0) for k in range(6000))
    for at in range(0, len(data), size):
        hearing.feed(data[at : at + size], at / len(data) * 6.0)
        if at % 8192 < size:
            hearing.look()
    hearing.look()
    assert hearing.moved > 1.0 and hearing.came == 6000
    assert max(len(kept) for kept in hearing._lines.values()) <= 160


def test_noise_is_no_dial():
    hearing = heard(lambda t, r: bytes((7 * int(100 * t) + k * k) % 256 for k in range(12)))
    assert hearing.understood is None and hearing.moved == 0.0 and hearing.reading == ""


def test_it_is_at_rest_once_its_lines_made_sense_for_long_enough():
    """Noise at a wrong speed is no rest, however long it lasts."""
    hearing = Hearing(Profile())
    for k in range(31):  # to 3 s
        hearing.feed(b"\x80\x01\xf8\n", k / 10.0)
        hearing.look()
    assert not hearing.at_rest and hearing.understood is None
    steady = Hearing(Profile())
    times = [
        0.0,
        0.5,
        *(0.6 + k / 10.0 for k in range(14)),
        2.0,
    ]  # the first line may be cut: it counts from .5
    for t in times[:-1]:
        steady.feed(b"+0.0123\r\n", t)
        steady.look()
    assert steady.understood is not None and not steady.at_rest
    steady.feed(b"+0.0123\r\n", times[-1])
    assert steady.at_rest


@pytest.mark.parametrize(("seconds", "kept"), [(1, 40), (2, 80), (3, 120)])
def test_of_an_instrument_that_speaks_fast_so_many_lines_a_second_are_looked_at(seconds, kept):
    hearing = Hearing(Profile())
    hearing.feed(b"+0.0123\r\n", 0.0)
    for k in range(100 * seconds):
        hearing.feed(b"+0.0123\r\n", k / 100.0)
    hearing.look()
    assert hearing.understood.lines == kept
