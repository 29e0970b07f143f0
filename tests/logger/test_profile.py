import re
import tomllib
from dataclasses import fields

import pytest

from coaxly.logger.errors import ProfileError
from coaxly.logger.line.decoder import Decoder
from coaxly.logger.profile import _GROUPS, BUILT_IN, DEFAULT, Profile, built_in, load
from coaxly.logger.readings import Readings
from coaxly.say.manual import page


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


def test_the_page_about_profiles_has_each_key_and_each_group_with_a_line_that_it_reads():
    text = page("profiles")
    assert [key.name for key in fields(Profile) if key.name != "name" and f"`{key.name}`" not in text] == []
    examples = text.partition("(an encoder's as 4095)")[2].split("```")[1].strip().splitlines()
    groups = set()
    for line, pattern, *key in (re.split(" {2,}", each) for each in examples):
        profile = Profile.from_header({"name": "own", "pattern": pattern, **tomllib.loads("\n".join(key))})
        groups |= set(profile.regex.groupindex)
        decoder = Decoder(profile, "encoder" if "index" in pattern else "indicator")
        decoder.feed(f"{line}\r\n".encode(), 1.0)
        reading = list(decoder.events())[-1]
        assert isinstance(reading, Readings) and reading.value.tolist() in ([0.512], [4095.0]), line
    assert groups == _GROUPS


def test_no_pattern_can_hang_the_line():
    profile = Profile.from_header({"pattern": r"(?P<value>(?:\d+)*)*!", "name": "own"})
    decoder = Decoder(profile)
    decoder.feed(b"1" * 250 + b"\n", 0.0)
    assert len(list(decoder.events())) == 1
