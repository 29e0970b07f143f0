"""What an instrument says of itself is no reading, and no trouble of the line either."""

from dataclasses import replace

import numpy as np
import pytest

from coaxly.logger.line.decoder import Decoder
from coaxly.logger.marks import mark_of
from coaxly.logger.profile import Profile, built_in
from coaxly.logger.readings import Fault, Readings

LINES = {
    "over_range": ["99.999", "9.999", "+9.99999", "+99.99900", "+99.999", "-0099.999", "9999", "99999", "999999", "9999999", "OVER", "OL", "O.L.",
                   "-----", "--.---", "+ - - - -", "Over range", "OUT OF RANGE"],
    "held": ["+0.0305 H", "-0.512mm H", "0.0305H", "HOLD", "+0.512 HOLD", "hold 0.512", "+0.512 mm HLD"],
    "extreme": ["+0.512 MAX", "MIN -0.3", "PEAK 1.2"],
    "low_battery": ["LOW BATTERY", "LOBAT", "BATT", "BAT LOW"],
    "instrument_error": ["E-1", "E01", "Err", "ERR 05", "Error: 3", "ALARM"],
}  # fmt: skip


def events(profile, *lines, port="indicator"):
    decoder = Decoder(profile, port)
    decoder.feed("".join(f"{line}\r\n" for line in lines).encode("latin-1"), 1.0)
    return list(decoder.events())


@pytest.mark.parametrize(("kind", "line"), [(kind, line) for kind, lines in LINES.items() for line in lines])
def test_each_is_told_by_its_own_name(kind, line):
    (fault,) = events(built_in("stream-decimal"), line)
    assert isinstance(fault, Fault) and (fault.kind, fault.word) == (kind, line)
    assert fault.what == f"{kind.replace('_', ' ')}: {line!r}"


@pytest.mark.parametrize("line", ["garbage", "+-3", "\xff\xfe#!", "-", "batt=97", "MAXIMA", "HOLDER"])
def test_other_lines_say_nothing_of_the_instrument(line):
    (fault,) = events(built_in("stream-decimal"), line)
    assert fault.kind == "" and fault.serious


@pytest.mark.parametrize(
    "line", ["9.99", "99.9", "98.999", "9.998", "9.9995", "+09.9999", "99.998", "0.9999", "+99.990"]
)
def test_other_numbers_are_numbers(line):
    (block,) = events(built_in("stream-decimal"), line)
    assert isinstance(block, Readings)


def test_an_encoder_may_count_to_any_number():
    (block,) = events(built_in("encoder-counts"), "9998", "9999", "0", port="encoder")
    assert block.value.tolist() == [9998.0, 9999.0, 0.0]


def test_the_end_of_a_display_among_many_lines_is_found_whatever_the_short_cut():
    lines = [f"{k / 1000:+.3f}" for k in range(40)]
    lines[17] = "+99.999"
    blocks = events(built_in("stream-decimal"), *lines)
    (fault,) = (e for e in blocks if isinstance(e, Fault))
    values = np.concatenate([e.value for e in blocks if isinstance(e, Readings)])
    assert fault.kind == "over_range" and len(values) == 39 and values.max() < 1.0
    pairs = events(built_in("angle-and-value"), "45.0,+99.999", "9999,0.5")
    assert [getattr(e, "kind", "reading") for e in pairs] == ["over_range", "reading"]


def test_a_line_that_is_understood_and_says_hold_is_no_reading_but_a_name_is_no_word():
    held = Profile(name="own", pattern=r"(?P<value>[+-]?[\d.]+) mm HOLD")
    assert [e.kind for e in events(held, "+0.5 mm HOLD")] == ["held"]
    named = Profile(name="own", pattern=r'\{"pos":(?P<value>[\d.]+),"max":[\d.]+,"hold":\w+\}')
    assert isinstance(events(named, '{"pos":0.5,"max":1.8,"hold":false}')[0], Readings)


@pytest.mark.parametrize(
    ("flag", "kind"), [("OL", "over_range"), ("H", "flagged"), ("Err", "instrument_error"), ("HOLD", "held")]
)
def test_the_flag_of_a_profile_is_told_by_its_word(flag, kind):
    profile = Profile(name="own", pattern=r"(?P<value>[+-]?[\d.]+)\s*(?P<flag>[A-Za-z]*)")
    fault, block = events(profile, f"0.5 {flag}", "0.6")
    assert fault.kind == kind and block.value.tolist() == [0.6]


def test_a_low_battery_leaves_the_number_beside_it():
    for profile in (
        built_in("stream-decimal"),
        replace(built_in("typed"), pattern=r"(?P<value>[\d.]+)\s*(?P<flag>[A-Za-z]*)", unit="mm"),
    ):
        fault, block = events(profile, "0.5 LOBAT")
        assert fault.kind == "low_battery" and block.value.tolist() == [0.5]


def test_what_most_instruments_send_holds_no_such_word():
    for line in ("NML+00.5120", "ST,GS,+0000.512mm", "X=+   0.5120   R", "+0.512 mm D", "1\t0.512\tmm\tOK",
                 "pos=0.5120 unit=mm batt=97 temp=23.4", "  20.16 mil  N1", "$DIAL,+0.5120,MM*33"):  # fmt: skip
        assert mark_of(line) is None
