"""Where lines end, and lines that nothing ends; chunks never change what comes of them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coaxly.logger.line.checksums import fits, recognised
from coaxly.logger.line.decoder import Decoder
from coaxly.logger.line.framing import Framing, framing_of, split
from coaxly.logger.profile import Profile
from coaxly.logger.readings import Fault, Readings

FIXED = Profile(name="own", length=9, pattern=r"(?P<value>[+-]\d{4}\.\d{3})")


@pytest.mark.parametrize(
    ("data", "framing"),
    [
        (b"+0.5\r\n" * 3, Framing("\r\n")),
        (b"+0.5\r\n\x00" * 3, Framing("\r\n\x00")),
        (b"\n0.5mm\r\x03" * 3, Framing("\r\n\x03")),
        (b"\x02+0.5\x03" * 3, Framing("\x03")),
        (b"000512\x12" * 4, Framing("\x12")),
        (b"+0.5;" * 4, Framing(";")),
        (b"+0000.512-0000.345+0001.200", Framing("\r\n", 9)),
        (b"000512000345001200", Framing("\r\n")),
    ],
    ids=["usual", "NUL", "ETX beside CR", "ETX", "other", "mark", "length", "nobody can say"],
)
def test_where_lines_end_is_seen(data, framing):
    assert framing_of(data) == framing


def test_lines_of_one_length_begin_at_their_sign():
    lines, rest = split(b".512-0000.345+0001.200-00", Framing("\r\n", 9))
    assert lines == [b"-0000.345", b"+0001.200"] and rest == b"-00"


@given(st.lists(st.integers(1, 12), max_size=12))
def test_lines_of_one_length_come_out_alike_however_they_are_cut(sizes):
    data = b".512-0000.345+0001.200xx-0000.001+0000.002"

    def events(cuts):
        decoder, at = Decoder(FIXED), 0
        for size in cuts:
            decoder.feed(data[at : at + size], 1.0)
            at += size
        decoder.feed(data[at:], 1.0)
        return [
            ("fault", event.what) if isinstance(event, Fault) else ("reading", event.value.tolist())
            for event in decoder.events()
        ]

    values = [v for kind, value in events(sizes) if kind == "reading" for v in value]
    assert values == [-0.345, 1.2, -0.001, 0.002]
    assert [e for e in events(sizes) if e[0] == "fault"] == [e for e in events([]) if e[0] == "fault"]


def test_the_usual_checksums_are_recognised_and_others_are_not():
    # A sentence as it is often quoted for NMEA 0183 (from memory).
    assert fits("xor", "$GPGLL,5300.97914,N,00259.98174,E,125926,A*", "28")
    assert recognised(["$D,+0.5120*3C", "$D,-0.3450*3B"]) == ""
    assert recognised(["AB,1,C5", "AB,2,C6"]) == ""


def test_a_line_with_a_wrong_checksum_is_no_reading():
    def line(text):
        return f"{text}{sum(text.encode()) & 0xFF:02X}\r\n".encode()

    profile = Profile(name="own", check="sum", pattern=r"(?P<value>[+-][\d.]{5}),(?P<check>[0-9A-F]{2})")
    decoder = Decoder(profile)
    decoder.feed(line("+0.512,") + line("+0.512,").replace(b"5", b"6", 1) + line("-0.345,"), 1.0)
    kinds = [type(event) for event in decoder.events()]
    assert kinds == [Readings, Fault, Readings]


def test_a_sign_that_is_coded_apart_is_read_and_another_number_of_decimals_refused():
    profile = Profile(name="own", signs="01", scale=0.001, pattern=r"\d{4}(?P<sign>[01])3(?P<value>\d{8})")
    decoder = Decoder(profile)
    decoder.feed(b"41940300000512\r41941300000345\r41941200000345\r", 1.0)
    good, bad = decoder.events()
    assert good.value.tolist() == pytest.approx([0.512, -0.345]) and isinstance(bad, Fault)


PAUSES = Profile(name="own", pause_s=0.03, unit="mm", pattern=r"(?P<value>[+-]?\d+\.\d{3})")


def came_of(decoder):
    """Readings with their times, and words of what is none."""
    events = list(decoder.events())
    values = [
        (t, value)
        for each in events
        if isinstance(each, Readings)
        for t, value in zip(each.t, each.value, strict=True)
    ]
    return values, [each.what for each in events if isinstance(each, Fault)]


def by_pauses(*chunks):
    """What comes of chunks, one a second; b"" is a pause."""
    decoder = Decoder(PAUSES)
    for k, chunk in enumerate(chunks):
        decoder.feed(chunk, float(k))
    return came_of(decoder)


def test_a_pause_ends_a_line_and_its_time_is_that_of_its_last_byte():
    assert by_pauses(b"0.5", b"12", b"", b"-10.345", b"", b"", b"9.9") == ([(1.0, 0.512), (3.0, -10.345)], [])


def test_lines_that_a_pause_cut_in_two_or_that_came_as_one_are_never_read():
    values, said = by_pauses(
        b"1", b"", b"0.512", b"", b"0.100", b"", b"0.1000.200", b"", b"0.3", b"", b"0.400", b""
    )
    assert values == [(4.0, 0.1), (10.0, 0.4)] and len(said) == 4


def test_where_pauses_end_lines_is_seen_where_that_is_sure():
    assert framing_of(b"0.5120.5130.514" * 2, [b"0.512", b"0.513", b"10.514"] * 2) == Framing(pause_s=0.03)
    for parts in ([b"512", b"513", b"514"] * 2, [b"0.511", b"0.5120.513", b"0.514"] * 2):
        assert framing_of(b"".join(parts), parts) == Framing("\r\n")


@given(st.lists(st.sampled_from([b"+0.1", b"23", b"-7.001", b"", b"x"]), max_size=12))
def test_pauses_in_a_block_are_pauses_one_by_one(chunks):
    block = Decoder(PAUSES)
    block.feed_many(b"".join(chunks), list(map(len, chunks)), [float(k) for k in range(len(chunks))])
    assert came_of(block) == by_pauses(*chunks)
