"""What the dial says of itself comes into the result, the same live, replayed and joined."""

import itertools
import math

import numpy as np
import pytest
from remarking import facts, kinds

from coaxly.job.recorded.pipeline import Pipeline, together
from coaxly.job.sweep.begin import new_header
from coaxly.logger.recording.records import Raw, Station, Undo

RATE = 10.0


def bore(deg):
    return -0.1 * math.sin(math.radians(deg))


def recording(lines_at, *, zeroed_at=None, unit="mm", reach=20):
    """Records of eight stations and a closing one; lines_at: lines that come at rest there in place of the readings
    just before it is taken; zeroed_at: after so many stations zero is pressed."""
    out, t, zero = [], 0.0, 0.0
    for k in range(9):
        for step in range(reach):
            t = round(t + 1.0 / RATE, 6)
            turned = min(step / 8.0, 1.0)
            value = round(bore(45.0 * (k - 1 + turned)) - zero, 4)
            line = f"{value:+.4f}"
            if k in lines_at and step >= reach - len(lines_at[k]):
                line = lines_at[k][step - reach]
            out.append(Raw(t, "indicator", line + "\r\n"))
        out.append(Station(t, 45.0 * k % 360.0))
        if k == zeroed_at:
            zero = round(bore(45.0 * k), 4)
            for _ in range(6):
                t = round(t + 1.0 / RATE, 6)
                out.append(Raw(t, "indicator", f"{bore(45.0 * k) - zero:+.4f}\r\n"))
    return out


def played(records_, cuts=()):
    pipeline = Pipeline(new_header(setup={"closing": True}, angle={"mode": "entered", "stations": 8}))
    edges = [0, *cuts, len(records_)]
    for a, b in itertools.pairwise(edges):
        pipeline.feed(records_[a:b])
    return pipeline


@pytest.mark.parametrize(
    ("kind", "line"),
    [
        ("over_range", "+99.9999"),
        ("held", "+0.1234 HOLD"),
        ("instrument_error", "E-1"),
        ("over_range", "-----"),
    ],
)
def test_a_mark_at_a_station_is_never_a_reading_and_names_the_station(kind, line):
    clean, kept = played(recording({})).result(), recording({3: [line] * 2})
    result = played(kept).result()
    assert kind in kinds(result) and "bad_lines" not in kinds(result)
    assert facts(result, kind) == {"port": "indicator", "count": 2, "at_s": pytest.approx(7.9), "word": line}
    assert facts(result, "not_live") == {"stations_deg": [135.0], "said": [kind]}
    assert result.eccentricity.vector == pytest.approx(clean.eccentricity.vector, abs=1e-9)
    assert played(kept, range(1, len(kept))).result() == result


def test_what_was_not_read_while_the_dial_was_on_hold_forbids_a_verdict():
    """Nothing came at four stations: the readings of half the bore, and no less sure for it."""
    lines = recording(dict.fromkeys(range(3, 7), ["+0.1234 HOLD"] * 20))
    kept = [each for k, each in enumerate(lines) if not (isinstance(each, Station) and 3 <= k // 21 <= 6)]
    result = played(kept).result()
    told = facts(result, "not_live")
    assert told["stations_deg"] == [] and told["said"] == ["held"] and told["gap_deg"] == 225.0
    assert "not_live" in result.decision.withheld and result.decision.state == "unsure"
    assert "not_live" not in kinds(played(recording({})).result())


def test_a_mark_between_stations_touches_none_and_a_station_taken_back_none_either():
    passing = recording({})
    passing.insert(4, Raw(passing[3].t, "indicator", "OL\r\n"))
    assert "over_range" in kinds(played(passing).result()) and "not_live" not in kinds(
        played(passing).result()
    )
    again = recording({8: ["OL"]})
    last = again[-1].t
    again += [Undo(last)]
    again += [Raw(round(last + 0.1 * k, 6), "indicator", "+0.0000\r\n") for k in range(1, 12)]
    again += [Station(round(last + 1.1, 6), 0.0)]
    result = played(again).result()
    assert "over_range" in kinds(result) and "not_live" not in kinds(result)


def test_a_low_battery_is_said_and_its_readings_are_used():
    clean = recording({})
    flagged = [
        r if isinstance(r, Station) else Raw(r.t, r.port, r.data.strip() + " LOBAT\r\n") for r in clean
    ]
    result = played(flagged).result()
    assert result.eccentricity == played(clean).result().eccentricity
    assert facts(result, "low_battery")["count"] == len([r for r in clean if isinstance(r, Raw)])
    assert not {"not_live", "bad_lines"} & set(kinds(result))


@pytest.mark.parametrize("after", [2, 4, 6])
def test_zero_pressed_in_mid_sweep_is_no_knock(after):
    clean, kept = played(recording({})).result(), recording({}, zeroed_at=after)
    result = played(kept).result()
    if abs(bore(45.0 * after)) > 0.02:
        assert "rezeroed" in kinds(result) and "step" not in kinds(result)
        assert abs(facts(result, "rezeroed")["size_mm"]) == pytest.approx(abs(bore(45.0 * after)), abs=1e-3)
        assert "zero_lost" in kinds(result) or np.allclose(
            result.eccentricity.vector, clean.eccentricity.vector, atol=0.005
        )
    assert played(kept, range(1, len(kept))).result() == result
    both = together([played(recording({})), played(kept)])
    assert "step" not in kinds(both)


def test_zero_pressed_before_the_first_station_is_what_one_does():
    before = [Raw(round(0.1 * k, 6), "indicator", "+0.3120\r\n") for k in range(1, 12)]
    later = [
        type(r)(round(r.t + 1.1, 6), *(getattr(r, f) for f in r.__struct_fields__[1:])) for r in recording({})
    ]
    result = played([*before, *later]).result()
    assert not {"rezeroed", "zero_lost", "step"} & set(kinds(result))


@pytest.mark.parametrize("switched_at", [90.0, 180.0, 300.0])
def test_a_unit_key_that_is_pressed_while_the_crank_turns_leaves_no_verdict(switched_at):
    """The dial is not zeroed, and turns on: in passing there is nobody who is asked to set it back."""

    def turning(switched):
        header = new_header(setup={}, angle={"mode": "encoder"}, instrument={"unit": "mm"})
        records, pipeline = [], Pipeline(header)
        for k in range(720):
            deg = 0.5 * k
            value = 0.6 + 0.1 * math.cos(math.radians(deg))
            shown = f"{value / 25.4:.5f}" if switched and deg >= switched_at else f"{value:.4f}"
            t = round(0.05 * k, 6)
            records.append(Raw(t, "encoder", f"{deg:.1f}\r\n"))
            records.append(Raw(round(t + 0.01, 6), "indicator", shown + "\r\n"))
        pipeline.feed(records)
        again = Pipeline(header)
        for record in records:
            again.feed([record])
        assert again.result() == pipeline.result()
        return pipeline.result()

    told = turning(switched=True)
    assert "unit_changed" in told.decision.withheld and told.decision.state == "unsure"
    assert facts(told, "unit_changed")["smaller"] is True
    assert facts(told, "unit_changed")["before_deg"] == pytest.approx(switched_at, abs=10.0)
    assert "unit_changed" not in kinds(turning(switched=False))
