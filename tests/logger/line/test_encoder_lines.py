"""How encoders write their values: degree signs, hexadecimal, counters of 64 bit."""

import pytest

from coaxly.logger.errors import ProfileError
from coaxly.logger.line.decoder import Decoder
from coaxly.logger.profile import Profile, built_in, load
from coaxly.logger.readings import Readings
from coaxly.logger.recording.records import ENCODER

HEX = r"\s*(?P<value>(?:0x)?[0-9A-Fa-f]+)\s*"


def values(profile, *lines, port=ENCODER):
    decoder = Decoder(profile, port)
    decoder.feed("".join(f"{line}\r\n" for line in lines).encode("latin-1"), 1.0)
    return [
        value for event in decoder.events() if isinstance(event, Readings) for value in event.value.tolist()
    ]


@pytest.mark.parametrize("behind", ["\xb0", " \xb0", "\xc2\xb0", "\xba", " deg", " DEG "])
def test_a_degree_sign_behind_an_angle_is_no_hindrance(behind):
    profile = built_in("encoder-degrees")
    assert values(profile, f"A 045.2{behind}", f"-7.5{behind}", "12.0") == [45.2, -7.5, 12.0]
    assert values(profile, f"0.5{behind}", port="indicator") == []  # a dial shows no degrees


def test_hexadecimal_counts_are_read_as_such_and_none_as_decimal():
    profile = Profile(name="hex", pattern=HEX, base=16)
    assert values(profile, "00FF", "0x0100", "10", "00ff") == [255.0, 256.0, 16.0, 255.0]
    counts = built_in("encoder-counts")
    plain = Profile(name="hex", pattern=counts.pattern, base=16)
    assert values(plain, "10") == [16.0]  # not by the short way for decimals


def test_a_counter_of_64_bit_is_exact_on_both_sides_of_nought():
    profile = Profile(name="hex", pattern=HEX, base=16)
    assert values(profile, "FFFFFFFFFFFFFFFE", "0000000000000001") == [-2.0, 1.0]
    assert values(built_in("encoder-counts"), "18446744073709551614", "1") == [-2.0, 1.0]
    assert values(profile, "7000000000000001") == []  # more than a number holds exactly
    assert values(profile, "10000000000000001") == []  # and more than 64 bit


@pytest.mark.parametrize(("key", "value"), [("base", 8), ("direction", 0), ("wrap", -1)])
def test_what_an_encoder_cannot_mean_is_named(tmp_path, key, value):
    path = tmp_path / "turn.toml"
    path.write_text(f"{key} = {value}\n")
    with pytest.raises(ProfileError, match=key):
        load(str(path))


def test_a_header_says_of_an_encoder_only_what_is_unusual():
    assert not {"base", "counts_per_turn", "wrap", "direction"} & Profile().to_header().keys()
    profile = Profile(name="x", pattern=HEX, base=16, counts_per_turn=4096.0, wrap=65536.0, direction=-1)
    assert Profile.from_header(profile.to_header()) == profile
