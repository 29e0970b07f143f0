"""Live is record by record, a replay comes in blocks: not a bit may tell which it was."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from remarking import facts

from coaxly.fitter import FitterError
from coaxly.fitter.reading.stations import COLUMNS
from coaxly.job.recorded.pipeline import Pipeline
from coaxly.job.sweep.begin import new_header
from coaxly.logger.angle import encoder, pairing
from coaxly.logger.recording.records import Link, Note, Raw, Station, Undo

STEPS = st.sampled_from([0.0, 0.0, 0.001, 0.01, 0.01, 0.04, 0.3, 0.6, 1.4, 2.5, 40.0])
DIAL = {"entered": "stream-decimal", "encoder": "stream-decimal", "combined": "angle-and-value"}


def record(kind, t, deg, dial, port):
    """One record of a session, by a letter."""
    match kind:
        case "i":
            return Raw(t, "indicator", dial)
        case "p":  # half a line: the next one ends it
            return Raw(t, "indicator", dial[:3])
        case "z":
            return Raw(t, "indicator", dial * 9)
        case "r":  # a time that runs back
            return Raw(t - 3.0, "indicator", dial)
        case "e":
            return Raw(t, "encoder", f"A {deg % 360:.2f}\r\n")
        case "b":
            return Raw(t, port, "?!\n")
        case "l":
            return Link(t, port, "up")
        case "s":
            return Station(t, deg % 360)
        case "u":
            return Undo(t)
    return Note(t, "well")


@st.composite
def sessions(draw):
    """Mode and records of a session: dial, encoder, operator and trouble in any order."""
    mode = draw(st.sampled_from(["entered", "encoder", "encoder", "encoder", "combined"]))
    kinds = draw(st.lists(st.sampled_from("iiiieeeepzbsrnlu"), min_size=1, max_size=80))
    rng = np.random.default_rng(draw(st.integers(0, 1000)))
    steps = draw(st.lists(STEPS, min_size=len(kinds), max_size=len(kinds)))
    t, deg, records = 0.0, 350.0, []
    for kind, step in zip(kinds, steps, strict=True):
        t, deg = round(t + step, 6), deg + rng.uniform(-2, 9)
        value = f"{rng.normal(0, 0.1):+.4f}"
        dial = (f"{deg % 360:.2f},{value}" if mode == "combined" else value) + "\r\n"
        records.append(record(kind, t, deg, dial, str(rng.choice(["indicator", "encoder"]))))
    return mode, records


def outcome(mode, records, cuts):
    """Everything that a result is made of, bit by bit; cuts: where the records are cut into blocks."""
    pipeline = Pipeline(new_header(instrument={"profile": DIAL[mode]}, angle={"mode": mode}))
    for a, b in pairwise(sorted({0, len(records), *(c for c in cuts if c < len(records))})):
        pipeline.feed(records[a:b])
    table = pipeline.fitter.stations()
    try:
        remarks = pipeline.result().remarks
    except FitterError as error:
        remarks = (str(error),)
    pairing = pipeline.pairing
    columns = [getattr(table, name).tobytes() for name in COLUMNS]
    counts = (pipeline.fault_count, pairing.without_angle, pairing.outage_s, pipeline.fitter.samples)
    return columns, counts, pipeline.faults, remarks, pairing.encoder_behind_s


def crumbled(records, cuts):
    """The same bytes at the same times, in smaller pieces."""
    out = []
    for record, cut in zip(records, cuts, strict=True):
        if isinstance(record, Raw):
            out += [
                Raw(record.t, record.port, part) for part in (record.data[:cut], record.data[cut:]) if part
            ]
        else:
            out.append(record)
    return out


@given(sessions(), st.lists(st.integers(1, 79), max_size=8), st.data())
@settings(max_examples=300, deadline=None)
def test_no_cut_into_blocks_or_chunks_changes_a_bit(session, cuts, data):
    mode, records = session
    live = outcome(mode, records, range(len(records)))
    assert outcome(mode, records, []) == live
    assert outcome(mode, records, cuts) == live
    pieces = data.draw(st.lists(st.integers(0, 12), min_size=len(records), max_size=len(records)))
    crumbs = crumbled(records, pieces)
    assert outcome(mode, crumbs, []) == live
    assert outcome(mode, crumbs, range(len(crumbs))) == live


@pytest.fixture
def small_memory(monkeypatch):
    """So little memory that the few readings of an example overflow it."""
    monkeypatch.setattr(encoder, "MOST_IN_A_GAP", 4)
    monkeypatch.setattr(pairing, "MOST_IN_A_GAP", 4)
    monkeypatch.setattr(pairing, "MOST", 4)


def test_nor_does_one_where_the_memory_is_full(small_memory):
    @given(sessions(), st.lists(st.integers(1, 79), max_size=8))
    @settings(max_examples=200, deadline=None, database=None)
    def check(session, cuts):
        mode, records = session
        live = outcome(mode, records, range(len(records)))
        assert outcome(mode, records, []) == live
        assert outcome(mode, records, cuts) == live

    check()


def turning(seconds, dial_hz=100, encoder_hz=50, silent=(0.0, 0.0)):
    """Records of a crank turned at 36 degrees a second; the encoder says nothing for a while."""
    records = []
    for k in range(int(seconds * dial_hz)):
        t = round(k / dial_hz, 6)
        value = 0.1 * np.cos(np.deg2rad(36.0 * t - 40.0))
        records.append(Raw(t, "indicator", f"{value:+.5f}\r\n"))
        if k % (dial_hz // encoder_hz) == 0 and not silent[0] < t < silent[1]:
            records.append(Raw(t, "encoder", f"A {36.0 * t % 360.0:.3f}\r\n"))
    return records


def test_readings_in_an_outage_of_the_encoder_are_counted_said_and_not_used():
    records = turning(60.0, silent=(12.0, 52.0))
    pipeline = Pipeline(new_header(instrument={"profile": "stream-decimal"}, angle={"mode": "encoder"}))
    pipeline.feed(records)
    assert pipeline.pairing.without_angle == pytest.approx(4000, abs=3)
    assert pipeline.fitter.samples == pytest.approx(2000, abs=3)
    said = facts(pipeline.result(), "no_angle")
    assert said["count"] == pipeline.pairing.without_angle and said["silent_s"] == pytest.approx(
        40.0, abs=0.02
    )
    whole = Pipeline(new_header(instrument={"profile": "stream-decimal"}, angle={"mode": "encoder"}))
    whole.feed(turning(60.0))
    assert whole.pairing.without_angle == 0
    assert pipeline.result().eccentricity.amount == pytest.approx(0.1, abs=2e-4)


def test_a_second_indicator_is_not_taken_for_the_encoder():
    header = new_header(
        instrument={"profile": "two", "pattern": r"(?P<value>[+-]?[\d.]+);(?P<opposite>[+-]?[\d.]+)"},
        angle={"mode": "encoder"},
    )
    pipeline = Pipeline(header)
    for k in range(400):
        t = k / 100.0
        pipeline.feed([Raw(t, "indicator", "0.5;77.0\n"), Raw(t, "encoder", f"{t:.2f}\n")])
    assert pipeline.fitter.stations().deg.max() < 5.0


@given(st.integers(0, 3), st.integers(1, 30), st.lists(st.integers(1, 60), max_size=4))
@settings(max_examples=60, deadline=None)
def test_where_a_reading_stands_among_encoder_lines_of_its_time_changes_no_bit(place, late, cuts):
    """A late encoder line may come with its successors, before or after the reading of that moment."""
    records = turning(4.0, dial_hz=10, encoder_hz=10)
    at = 2 * late
    t = records[at].t
    together = [Raw(t, "encoder", f"A {deg:.3f}\r\n") for deg in (36.0 * t - 2.0, 36.0 * t - 1.0, 36.0 * t)]
    group = [*together[:place], records[at], *together[place:]]
    moved = [*records[:at], *group, *records[at + 2 :]]
    last = [*records[:at], *together, records[at], *records[at + 2 :]]
    live = outcome("encoder", last, range(len(last)))
    assert outcome("encoder", moved, range(len(moved))) == live
    assert outcome("encoder", moved, cuts) == live


@pytest.mark.parametrize("place", range(4))
def test_a_reading_takes_the_last_of_the_angles_that_arrive_with_it(place):
    angles = [Raw(1.0, "encoder", f"A {deg}\r\n") for deg in ("010.0", "011.0", "012.0")]
    pipeline = Pipeline(new_header(instrument={"profile": "stream-decimal"}, angle={"mode": "encoder"}))
    for record in (*angles[:place], Raw(1.0, "indicator", "+0.1\r\n"), *angles[place:]):
        pipeline.feed([record])
    assert pipeline.fitter.samples == 0  # another line of that time may come yet
    pipeline.feed([Raw(1.1, "encoder", "A 013.0\r\n")])
    assert pipeline.fitter.samples == 1 and pipeline.fitter.stations().deg.tolist() == [12.0]
