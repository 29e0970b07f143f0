from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coaxly.logger.angle import encoder
from coaxly.logger.angle.encoder import AngleError, EncoderScale, EncoderTrack
from coaxly.logger.readings import Readings


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
    """Angles at times that rise, each asked for as soon as there is a value not before it."""
    track, faults, degrees, before = EncoderTrack(scale), [], [], -np.inf
    for block in blocks:
        faults += track.add(block)
        now = np.array([t for t in at if before < t <= track.newest], float)
        degrees += track.at(now)[0].tolist()
        before = track.newest
    return degrees, faults


def known(track, *at):
    """Which of some times the track has an angle for."""
    return track.at(np.array(at, float))[1].tolist()


def regular(seconds, apart, start=0.0):
    t = start + np.arange(0.0, seconds, apart)
    return counts(t, np.mod(t * 30.0, 360.0))


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
    with pytest.raises(AngleError, match=key):
        EncoderScale.from_header({key: value})


@pytest.mark.parametrize(
    ("apart", "gap", "bridged"),
    [
        (0.01, 0.24, True),
        (0.01, 0.3, False),
        (0.1, 0.45, True),
        (0.1, 0.6, False),
        (0.8, 1.9, True),
        (1.5, 2.1, False),
    ],
)
def test_a_gap_is_bridged_only_if_the_rhythm_of_the_encoder_allows_it(apart, gap, bridged):
    track = EncoderTrack(EncoderScale())
    track.add(regular(20.0 * apart, apart))
    last = track.newest
    track.add(counts([last + gap], [5.0]))
    assert known(track, last, last + gap / 2, last + gap) == [True, bridged, True]
    assert track.outage_s == pytest.approx(0.0 if bridged else gap / 2)


@pytest.mark.parametrize(("gap", "bridged"), [(1.9, True), (2.1, False)])
def test_before_the_rhythm_is_known_two_seconds_are_the_limit(gap, bridged):
    track = EncoderTrack(EncoderScale())
    track.add(counts([0.0, 0.01, 0.02], [0.0, 1.0, 2.0]))
    track.add(counts([0.02 + gap], [5.0]))
    assert known(track, 1.0) == [bridged]


def test_an_encoder_that_has_grown_slow_is_believed_once_that_is_its_rhythm():
    track = EncoderTrack(EncoderScale())
    track.add(regular(2.0, 0.01))
    track.add(regular(60.0, 0.6, start=track.newest + 0.6))
    assert known(track, 3.1) == [False]
    assert known(track, track.newest - 0.3) == [True]


def test_nothing_is_bridged_over_a_cable_that_was_out():
    track = EncoderTrack(EncoderScale())
    track.add(regular(2.0, 0.01))
    last = track.newest
    track.severed()
    track.add(counts([last + 0.02, last + 0.04], [1.0, 2.0]))
    assert known(track, last + 0.01, last + 0.02, last + 0.03) == [False, True, True]


GAPS = st.lists(st.sampled_from([0.0, 0.01, 0.01, 0.01, 0.1, 0.3, 0.7, 1.2, 3.0]), min_size=2, max_size=200)


@given(GAPS, st.lists(st.integers(1, 200), max_size=6), st.booleans())
def test_outages_are_the_same_however_values_are_cut_into_blocks(gaps, cuts, unplugged):
    t = np.cumsum(gaps)
    n = len(t)
    at = np.unique(np.concatenate([t, (t[1:] + t[:-1]) / 2]))

    def outages(edges):
        track, seen, before = EncoderTrack(EncoderScale()), [], -np.inf
        for a, b in pairwise(edges):
            if unplugged and a == n // 2:
                track.severed()
            track.add(counts(t[a:b], np.mod(t[a:b] * 50.0, 360.0)))
            now = at[(at > before) & (at <= track.newest)]
            degrees, known = track.at(now)
            seen += [
                (x, d) for x, d, k in zip(now.tolist(), degrees.tolist(), known.tolist(), strict=True) if k
            ]
            before = track.newest
        return seen, track.outage_s

    half = {n // 2} if unplugged else set()
    whole = outages(sorted({0, n, *half}))
    assert outages(sorted({0, n, *half, *(c for c in cuts if c < n)})) == whole
    assert outages(range(n + 1)) == whole


def test_no_more_readings_of_one_gap_get_an_angle_than_any_dial_sends(monkeypatch):
    monkeypatch.setattr(encoder, "MOST_IN_A_GAP", 5)
    whole, pieces = EncoderTrack(EncoderScale()), EncoderTrack(EncoderScale())
    for track in (whole, pieces):
        track.add(counts([0.0, 1.0], [0.0, 10.0]))
    assert known(whole, *[0.5] * 3, *[1.0] * 4) == [True] * 5 + [False] * 2
    assert known(pieces, *[0.5] * 3, 1.0) == [True] * 4
    assert known(pieces, 1.0, 1.0, 1.0) == [True, False, False]


def test_counts_that_are_no_whole_numbers_are_put_right_to_the_same_bit():
    """What several pulses showed missing is summed first, then added, in one block or in many."""
    scale = EncoderScale.from_header({"counts_per_turn": 360.0})
    rng = np.random.default_rng(2)
    raw = np.cumsum(rng.uniform(0.0, 40.0, 60))
    pulses = rng.random(60) < 0.3
    t = np.arange(60.0)
    whole = angles(scale, [counts(t, raw, pulses)], t)
    assert len(whole[1]) > 5
    assert (
        angles(scale, [counts(t[k : k + 1], raw[k : k + 1], pulses[k : k + 1]) for k in range(60)], t)
        == whole
    )
