"""Whatever a line brings: a right reading or one fault, and the same however it is cut."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from coaxly.logger.line.decoder import LONGEST_LINE, SETTLE_S, Decoder
from coaxly.logger.line.numerals import COUNTS, DEGREES
from coaxly.logger.profile import BUILT_IN, Profile, built_in
from coaxly.logger.readings import Fault, Readings

PIECES = st.sampled_from(
    [b"+00.1234\r\n", b"-1.5\r", b".5\n", b"\r\n", b"12", b"garbage\r\n", b"+-3\r\n", b"1_0\n", b"nan\n", b"inf\n",
     b"1e5\n", b"45.0,0.123\r\n", b"1,2,3\n", b"- 0.5\r\n", b"9999999\n", b"0" * 300 + b"\n", b"\xff\x00\n", b"0.1 mm\r\n"]
)  # fmt: skip
STREAMS = st.lists(PIECES | st.binary(max_size=20), max_size=30).map(b"".join)


def decode(profile, chunks, times=None):
    """All events, flattened to comparable tuples."""
    decoder = Decoder(profile)
    for k, chunk in enumerate(chunks):
        decoder.feed(chunk, float(k) if times is None else times[k])
    return flat(decoder)


def everything(decoder, chunks, times):
    """Everything that comes out, times, units, pulses and the bits of every number."""
    for chunk, t in zip(chunks, times, strict=True):
        decoder.feed(chunk, t)
    out = []
    for event in decoder.events():
        if isinstance(event, Fault):
            out.append((event.t, event.what, event.serious))
            continue
        columns = [event.t, event.value, event.angle, event.index]
        for k in range(len(event)):
            row = [None if column is None else column[k].tobytes() for column in columns]
            out.append((*row, event.port, event.unit))
    return out


def flat(decoder, with_time=False):
    out = []
    for event in decoder.events():
        if isinstance(event, Fault):
            out.append(("fault", event.what, *((event.t,) if with_time else ())))
        else:
            angles = event.angle if event.angle is not None else [None] * len(event)
            for t, value, angle in zip(event.t, event.value, angles, strict=True):
                entry = ("reading", float(value), None if angle is None else float(angle), event.unit)
                out.append((*entry, float(t)) if with_time else entry)
    return out


@given(STREAMS, st.sampled_from(BUILT_IN), st.lists(st.integers(0, 400), max_size=8))
@example(b"+00.1234\r\n" * 5, "stream-decimal", [3, 9, 10])
@example(b"1" * 600 + b"\n0.5\n", "stream-decimal", [100, 300, 580])
def test_cutting_into_chunks_changes_nothing(stream, name, cuts):
    profile = built_in(name)
    whole = decode(profile, [stream])
    edges = sorted({0, len(stream), *(c for c in cuts if c <= len(stream))})
    assert decode(profile, [stream[a:b] for a, b in pairwise(edges)]) == whole
    assert decode(profile, [stream[k : k + 1] for k in range(len(stream))]) == whole


class LineByLine(Decoder):
    """The same decoder without any short cut: the regular expression on every line."""

    def _one(self, data, t):
        return False

    def _fast(self, text, positions, t):
        return False


FORMATS = st.sampled_from(["%+09.4f", "%.4f", "%+.3f", "%08.3f", "%d", "%g", "%+d", "%.18f"])
WORDS = st.sampled_from(["", "A ", "A", "ang: ", "E=", " deg "])
ENDS = st.sampled_from(["\r\n", "\n", "\r", "\n\n", "\n\r"])
TROUBLE = st.sampled_from([b"", b"+-3\r\n", b"1+2\n", b"--1\n", b".\n", b"-0\n", b"00-.5\n", b"1.2.3\r\n", b"1,2,3\n",
                           b",\n", b"A A 5\n", b"5 Z\r\n", b"Z\n", b"9" * 300 + b"\n", b"12345678\n", b"0." + b"1" * 200 + b"\n",
                           b"\xff\n", b"7"])  # fmt: skip


@st.composite
def dialects(draw):
    """Whole streams as instruments send them: one shape of line, with trouble in between."""
    name = draw(st.sampled_from(BUILT_IN))
    form, end, word = draw(FORMATS), draw(ENDS), draw(WORDS) if name.startswith("encoder") else ""
    count, seed = draw(st.integers(1, 80)), draw(st.integers(0, 1000))
    values = np.random.default_rng(seed).normal(0, draw(st.sampled_from([0.1, 10.0, 5e5])), count)
    pair, marks = name == "angle-and-value", name == "encoder-counts" and draw(st.booleans())
    stream = b""
    at, trouble = draw(st.integers(0, 80)), draw(TROUBLE)
    for k, value in enumerate(values):
        mark = " Z" if marks and k % 7 == 0 else ""
        head = form % (k * 4.7) + "," if pair else word
        stream += (trouble if k == at else b"") + (head + form % value + mark + end).encode()
    return name, stream


@given(dialects(), st.lists(st.integers(0, 1500), max_size=6))
@settings(max_examples=300, deadline=None)
def test_every_short_cut_gives_the_bits_of_a_line_by_itself(dialect, cuts):
    name, stream = dialect
    profile = built_in(name)
    edges = sorted({0, len(stream), *(c for c in cuts if c < len(stream))})
    chunks = [stream[a:b] for a, b in pairwise(edges)] if stream else []
    times = [k / 8.0 for k in range(len(chunks))]
    expected = everything(LineByLine(profile), chunks, times)
    assert everything(Decoder(profile), chunks, times) == expected
    joined = Decoder(profile)
    joined.feed_many(stream, list(map(len, chunks)), times)
    assert everything(joined, (), ()) == expected
    lines = stream.splitlines(keepends=True)
    one_by_one = everything(Decoder(profile), lines, [0.0] * len(lines))
    assert one_by_one == everything(LineByLine(profile), [stream], [0.0])


@given(st.lists(STREAMS, min_size=1, max_size=6))
def test_many_chunks_at_once_are_the_same_as_one_by_one_times_included(chunks):
    profile, times = built_in("stream-decimal"), [k / 8.0 for k in range(len(chunks))]
    single, joined = Decoder(profile), Decoder(profile)
    for chunk, t in zip(chunks, times, strict=True):
        single.feed(chunk, t)
    joined.feed_many(b"".join(chunks), list(map(len, chunks)), times)
    assert flat(joined, with_time=True) == flat(single, with_time=True)


@given(STREAMS, st.sampled_from(BUILT_IN))
def test_no_byte_sequence_makes_a_number_that_is_none(stream, name):
    decoder = Decoder(built_in(name))
    decoder.feed(stream, 0.0)
    for event in decoder.events():
        if isinstance(event, Readings):
            assert np.isfinite(event.value).all() and (np.abs(event.value) <= 1e6).all()


@given(st.lists(st.integers(-99999, 99999), min_size=1, max_size=50))
def test_plain_numbers_come_back_exactly(numbers):
    values = [n / 10000 for n in numbers]
    stream = "".join(f"{v:+08.4f}\r\n" for v in values).encode()
    assert [entry[1] for entry in decode(built_in("stream-decimal"), [stream])] == values


@pytest.mark.parametrize(
    ("line", "value"), [(b"+ 0.5", 0.5), (b"-  1", -1.0), (b"  .25  ", 0.25), (b"5.", 5.0), (b"-0", 0.0)]
)
def test_odd_but_honest_lines(line, value):
    assert decode(built_in("stream-decimal"), [line + b"\r\n"]) == [("reading", value, None, "mm")]


def test_typed_numbers_may_have_a_comma_and_a_unit():
    typed = replace(built_in("typed"), unit="mm")
    assert decode(typed, [b"0,25\n-.5 in\n"]) == [
        ("reading", 0.25, None, "mm"),
        ("reading", -0.5, None, "in"),
    ]


def test_angle_and_value():
    assert decode(built_in("angle-and-value"), [b"045.0,+00.1234\r\n90,1\r\n"]) == [
        ("reading", 0.1234, 45.0, "mm"),
        ("reading", 1.0, 90.0, "mm"),
    ]


def test_encoder_lines_may_begin_with_a_letter():
    assert decode(built_in("encoder-degrees"), [b"A 045.2\r\n"])[0][1] == 45.2


def test_a_flag_or_an_unknown_unit_is_a_fault():
    profile = Profile.from_header(
        {"pattern": r"(?P<value>[+-]?[\d.]+)\s*(?P<unit>\w*)\s*(?P<flag>!?)", "name": "own"}
    )
    kinds = [entry[0] for entry in decode(profile, [b"1.0mm\n1.0mm!\n1.0ell\n"])]
    assert kinds == ["reading", "fault", "fault"]


def test_the_patterns_of_the_encoders_are_those_that_are_read_without_a_regular_expression():
    assert built_in("encoder-degrees").pattern == DEGREES
    assert built_in("encoder-counts").pattern == COUNTS


def test_scale_and_signs():
    profile = Profile.from_header({"pattern": r"(?P<value>[PN]?\d+)", "signs": "PN", "scale": 0.001})
    assert [e[1] for e in decode(profile, [b"P120\nN5\n"])] == pytest.approx([0.12, -0.005])


def test_an_endless_line_is_one_fault_and_bounded_memory():
    decoder = Decoder(built_in("stream-decimal"))
    for _ in range(1000):
        decoder.feed(b"7" * 1000, 0.0)
        assert len(decoder._rest) <= LONGEST_LINE
    decoder.feed(b"\r\n+1.0\r\n", 1.0)
    kinds = [entry[0] for entry in flat(decoder)]
    assert kinds == ["fault", "reading"]


def test_the_first_line_after_connecting_is_dropped_only_if_it_may_be_cut():
    for delay, kinds in ((SETTLE_S / 2, ["fault", "reading"]), (SETTLE_S * 2, ["reading", "reading"])):
        decoder = Decoder(built_in("stream-decimal"))
        decoder.connected(10.0)
        decoder.feed(b"1.5\r\n+1.5\r\n", 10.0 + delay)
        assert [entry[0] for entry in flat(decoder)] == kinds


def test_what_was_half_received_before_a_loss_is_void():
    decoder = Decoder(built_in("stream-decimal"))
    decoder.feed(b"+1.2", 1.0)
    decoder.connected(2.0)
    decoder.feed(b"+3.5\r\n", 3.0)
    assert flat(decoder) == [("reading", 3.5, None, "mm")]


def test_a_reading_has_the_time_of_the_end_of_its_line():
    decoder = Decoder(built_in("stream-decimal"))
    decoder.feed(b"+1.", 1.0)
    decoder.feed(b"5\r", 2.0)
    decoder.feed(b"\n", 3.0)
    assert flat(decoder, with_time=True) == [("reading", 1.5, None, "mm", 2.0)]


def test_two_indicators_on_one_line():
    profile = Profile.from_header(
        {"name": "two", "pattern": r"(?P<value>[+-]?[\d.]+);(?P<opposite>[+-]?[\d.]+)"}
    )
    assert profile.has_opposite
    decoder = Decoder(profile)
    decoder.feed(b"0.5;-0.5\n", 1.0)
    assert [(e.port, e.value.tolist()) for e in decoder.events()] == [
        ("opposite", [-0.5]),
        ("indicator", [0.5]),
    ]


@pytest.mark.parametrize(
    ("line", "value", "unit"),
    [(b"14.9thou\n", 0.0149, "in"), (b"14.9 THOU\n", 0.0149, "in"), (b"-3 um\n", -0.003, "mm"), (b"2\xb5m\n", 0.002, "mm")],
)  # fmt: skip
def test_small_units_typed_behind_a_number(line, value, unit):
    assert decode(built_in("typed"), [line]) == [("reading", pytest.approx(value), None, unit)]


def test_a_bare_number_where_nobody_has_said_the_unit_is_no_reading():
    ((kind, what, *_),) = decode(built_in("typed"), [b"0.25\n"])
    assert kind == "fault" and "no unit" in what


def test_powers_of_ten():
    profile = Profile(pattern=r"(?P<value>[+-]?\d+\.\d*[eE][+-]?\d+)")
    assert decode(profile, [b"+1.120e-02\n-2.5E0\n"]) == [
        ("reading", pytest.approx(0.0112), None, "mm"),
        ("reading", -2.5, None, "mm"),
    ]


def test_a_block_of_empty_lines_is_passed_over_at_one_stroke(monkeypatch):
    def singly(*_):
        raise AssertionError("looked at line by line")

    decoder = Decoder(built_in("stream-decimal"))
    monkeypatch.setattr(decoder, "_line", singly)
    decoder.feed_many(b"\r\n" * 200, [200, 200], [1.0, 2.0])
    assert list(decoder.events()) == []
    decoder.feed(b"0.5\r\n\r\n0.6\r\n", 3.0)
    assert [v for block in decoder.events() for v in block.value.tolist()] == [0.5, 0.6]


@pytest.mark.parametrize("chunk", [1, 11, 4096])
def test_a_counter_may_be_as_large_as_whole_numbers_are_exact_and_a_dial_may_not(chunk):
    data = (
        b"".join(b"%d\r\n" % (16_777_210 + k) for k in range(20))
        + b"9007199254740991\r\n9007199254740994\r\n"
    )
    values = {}
    for port, profile in (("encoder", built_in("encoder-counts")), ("indicator", Profile(unit="mm"))):
        decoder = Decoder(profile, port)
        for at in range(0, len(data), chunk):
            decoder.feed(data[at : at + chunk], 1.0)
        blocks = [event.value.tolist() for event in decoder.events() if isinstance(event, Readings)]
        values[port] = [value for block in blocks for value in block]
    assert values["encoder"] == [*(16_777_210.0 + k for k in range(20)), 9007199254740991.0]
    assert values["indicator"] == []
