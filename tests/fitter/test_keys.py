"""One table of keys: what it holds, and what it refuses to be without."""

from dataclasses import dataclass

import pytest

from coaxly.fitter import Setup
from coaxly.fitter.keys import Words, apart, key, keys_of


def test_a_field_that_declares_no_key_is_refused():
    @dataclass
    class Forgotten:
        colour: str = "red"

    with pytest.raises(TypeError, match=r"Forgotten\.colour has no key"):
        keys_of(Forgotten)


def test_what_nobody_says_is_apart():
    @dataclass
    class Both:
        colour: str = key("red", Words(), name="colour")
        found: tuple[str, ...] = apart(())

    assert list(keys_of(Both)) == ["colour"] and Both() == Both("red", ())


@pytest.mark.parametrize("name", keys_of(Setup))
def test_a_key_that_people_say_has_its_place_in_the_help(name):
    one = keys_of(Setup)[name]
    assert bool(one.name) == bool(one.says) == (one.group is not None)


@pytest.mark.parametrize("name", keys_of(Setup))
def test_the_usual_value_is_one_that_the_key_takes(name):
    one = keys_of(Setup)[name]
    assert one.usual is None or one.kind.taken(one.usual) == one.usual
