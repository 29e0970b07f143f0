"""Tables that people wrote, as data classes: one sentence for each mistake."""

import re
from dataclasses import dataclass
from typing import Annotated

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import Meta

from coaxly.logger.files import checked, open_regular

_Size = Annotated[float, Meta(gt=0.0, le=25.0, description="a number from 0 to 25")]


@dataclass(frozen=True)
class Thing:
    size: _Size
    names: Annotated[tuple[str, ...], Meta(description="a list of names")] = ()
    sure: Annotated[bool | None, Meta(description="true or false")] = None
    source: str = ""


@pytest.mark.parametrize("name", ["a\0b", "a\ud800b", "x" * 300])
def test_a_name_that_no_file_can_have_is_an_error_as_any_other(tmp_path, name):
    with pytest.raises(OSError, match=r"name|called so"):
        open_regular(tmp_path / name)


def test_a_table_becomes_what_it_describes():
    assert checked(Thing, {"size": 2.5, "names": ["a", "b"]}) == Thing(2.5, ("a", "b"))
    whole = checked(Thing, {"size": 2, "sure": False}).size
    assert whole == 2 and isinstance(whole, int)


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ({"size": True}, "size is True, but must be a number from 0 to 25"),
        ({"size": float("nan")}, "size is nan, but must be a number"),
        ({"size": 0}, "size is 0, but must be"),
        ({"size": "x" * 90}, "size is 'xxxx"),
        ({}, "size is missing: it must be a number from 0 to 25"),
        ({"size": 1.0, "names": "ab"}, "names is 'ab', but must be a list of names"),
        ({"size": 1.0, "sure": 0}, "sure is 0, but must be true or false"),
        ({"size": 1.0, "source": "x"}, "unknown key 'source'; use names, size, sure"),
    ],
)
def test_a_mistake_is_one_sentence(table, said):
    with pytest.raises(ValueError, match="^" + re.escape(said)) as caught:
        checked(Thing, table)
    assert len(str(caught.value)) < 120


anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)


@given(st.dictionaries(st.sampled_from(["size", "names", "sure", "source", "x"]), anything, max_size=4))
def test_any_table_is_a_thing_or_a_mistake_in_words(table):
    try:
        thing = checked(Thing, table)
    except ValueError as error:
        assert "\n" not in str(error)
    else:
        assert 0.0 < thing.size <= 25.0 and thing.sure in (None, True, False)
