import pytest

from coaxly.logger.errors import ProfileError
from coaxly.logger.profile import BUILT_IN, DEFAULT, Profile, built_in, load


@pytest.mark.parametrize("name", BUILT_IN)
def test_every_built_in_profile_survives_a_header(name):
    profile = built_in(name)
    assert Profile.from_header(profile.to_header()) == profile


def test_keys_missing_from_a_header_are_those_of_the_profile_it_names():
    profile = Profile.from_header({"name": "polled-decimal", "unit": "in"})
    assert profile.request == "\r" and profile.unit == "in"
    assert Profile.from_header({}).name == DEFAULT


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("baud = 12", "baud"),
        ("baud = 9600.5", "baud"),
        ('unit = "furlong"', "unit"),
        ('pattern = "(?P<value>"', "regular expression"),
        ('pattern = "x"', "group"),
        ('pattern = "(?P<value>x)(?P<other>y)"', "unknown group"),
        ('pattern = "(?P<value>(x+)+y)(?=z)"', "regular expression"),
        ("scale = 0", "scale"),
        ('signs = "++"', "signs"),
        ('terminator = ""', "terminator"),
        ("bytesize = 9", "bytesize"),
        ("colour = 1", "unknown key"),
        ("= 3", "not proper TOML"),
    ],
)
def test_a_bad_profile_says_what_is_wrong(tmp_path, text, what):
    path = tmp_path / "own.toml"
    path.write_text(text)
    with pytest.raises(ProfileError, match=what):
        load(str(path))


def test_a_profile_of_ones_own(tmp_path):
    path = tmp_path / "bench.toml"
    path.write_text('baud = 4800\nunit = "in"\n')
    assert (load(str(path)).baud, load(str(path)).name) == (4800, "bench")


def test_an_unknown_profile_lists_those_there_are(tmp_path):
    with pytest.raises(ProfileError, match="stream-decimal"):
        load("nope")
    with pytest.raises(ProfileError, match="No such file"):
        load(str(tmp_path / "nope.toml"))


def test_no_pattern_can_hang_the_line():
    from coaxly.logger.line.decoder import Decoder

    profile = Profile.from_header({"pattern": r"(?P<value>(?:\d+)*)*!", "name": "own"})
    decoder = Decoder(profile)
    decoder.feed(b"1" * 250 + b"\n", 0.0)
    assert len(list(decoder.events())) == 1
