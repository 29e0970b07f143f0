from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.encoder import EncoderError, EncoderScale, EncoderTrack
from logger.readings import Readings


def counts(t, values, index=None):
    return Readings(
        "encoder",
        np.array(t, float),
        np.array(values, float),
        None,
        "mm",
        None if index is None else np.array(index),
    )


def angles(scale, blocks, at):
    track = EncoderTrack(scale)
    faults = [fault for block in blocks for fault in track.add(block)]
    return track.at(np.array(at, float))[0].tolist(), faults


def test_degrees_go_on_over_a_turn():
    deg, _ = angles(EncoderScale(), [counts([0, 1, 2], [350, 10, 30])], [0.5, 1.5])
    assert deg == [360.0, 380.0]


def test_counts_with_a_ratio_and_a_direction():
    scale = EncoderScale.from_header({"counts_per_turn": 1000, "ratio": 0.1, "direction": -1})
    deg, _ = angles(scale, [counts([0, 1], [0, 500])], [1.0])
    assert deg == [-18.0]


def test_a_counter_that_wraps():
    scale = EncoderScale.from_header({"counts_per_turn": 4096, "wrap": 65536})
    deg, _ = angles(scale, [counts([0, 1], [65000, 65535]), counts([2], [465])], [2.0])
    assert deg[0] == pytest.approx((65536 + 465) * 360 / 4096)


def test_lost_counts_are_found_at_the_index_and_put_right():
    """1000 counts a turn; 30 are lost in the second turn."""
    scale = EncoderScale.from_header({"counts_per_turn": 1000})
    raw, pulses = [0, 500, 1000, 1500, 1970, 2470], [True, False, True, False, True, False]
    deg, faults = angles(scale, [counts(range(6), raw, pulses)], [4.0, 5.0])
    assert len(faults) == 1 and "lost 30 counts" in faults[0].what
    assert deg == pytest.approx([720.0, 900.0])


@given(st.lists(st.integers(1, 60), max_size=5))
def test_cutting_into_blocks_changes_nothing(cuts):
    scale = EncoderScale.from_header({"counts_per_turn": 1000, "wrap": 4096})
    rng = np.random.default_rng(3)
    raw = np.mod(np.cumsum(rng.integers(-5, 90, 60)), 4096)
    pulses = rng.random(60) < 0.1
    t = np.arange(60.0)
    whole = angles(scale, [counts(t, raw, pulses)], t)
    edges = sorted({0, 60, *(c for c in cuts if c < 60)})
    pieces = [counts(t[a:b], raw[a:b], pulses[a:b]) for a, b in pairwise(edges)]
    assert angles(scale, pieces, t) == whole


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("counts_per_turn", 0),
        ("counts_per_turn", "many"),
        ("wrap", -1),
        ("ratio", float("inf")),
        ("direction", 0),
    ],
)
def test_a_description_that_makes_no_sense_names_its_key(key, value):
    with pytest.raises(EncoderError, match=key):
        EncoderScale.from_header({key: value})
