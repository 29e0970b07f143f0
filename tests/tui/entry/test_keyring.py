"""Names of other people's keys."""

import pytest

from coaxly.entry.keyring import OWN, know, known_keys
from coaxly.errors import UsageError


@pytest.mark.parametrize("name", ["../shop", "", "a" * 41, OWN])
def test_a_name_that_is_none_or_is_ones_own_is_refused(name):
    with pytest.raises(UsageError, match="is no name for a key"):
        know(name, "ab" * 32)
    assert "ab" * 32 not in known_keys()
