import math

import pytest

from coaxly.logger.rig.engine import Engine, Rig


def test_the_bore_reads_high_where_the_wall_is_close():
    engine = Engine(centre=(0.0, 0.1), mean=0.0)
    assert engine.distance(0.0, 0.0) == pytest.approx(-0.1)
    assert engine.distance(180.0, 0.0) == pytest.approx(0.1)


def test_sag_drift_knock_and_hole_are_what_they_are_called():
    engine = Engine(mean=0.0, sag=0.02, drift=0.001, knocks=((5.0, 0.1),), hole=(80.0, 100.0, 2.0))
    assert engine.distance(0.0, 0.0) == pytest.approx(-0.02)
    assert engine.distance(180.0, 4.0) == pytest.approx(0.02 + 0.004)
    assert engine.distance(180.0, 5.0) == pytest.approx(0.02 + 0.005 + 0.1)
    assert engine.distance(90.0, 0.0) == pytest.approx(-2.0)


def test_each_lobe_of_a_form_is_high_where_it_says():
    engine = Engine(mean=0.0, form=((2, 0.01, 30.0), (3, 0.004, 100.0)))
    assert engine.distance(30.0, 0.0) == pytest.approx(0.01 + 0.004 * math.cos(math.radians(3.0 * 70.0)))
    assert engine.distance(100.0, 0.0) == pytest.approx(0.004 + 0.01 * math.cos(math.radians(2.0 * 70.0)))


def test_the_hand_arrives_when_it_says():
    rig = Rig(Engine())
    arrival = rig.turn_to(90.0, 1.0)
    assert arrival == pytest.approx(1.0 + 90.0 / rig.turn_deg_s)
    assert rig.angle(1.0) == 0.0 and rig.angle(arrival) == 90.0
    assert 0.0 < rig.angle(1.0 + 0.5 * (arrival - 1.0)) < 90.0


def test_a_moment_before_the_hand_began_is_one_at_rest():
    rig = Rig(Engine())
    rig.turn_to(90.0, 1.0)
    assert rig.angle(0.2) == rig.angle(-5.0) == 0.0


def test_the_same_seed_gives_the_same_readings():
    a, b = (Rig(Engine(noise=0.01), seed=4) for _ in range(2))
    assert [a.reading(t) for t in range(9)] == [b.reading(t) for t in range(9)]


def test_readings_come_in_steps_of_the_resolution():
    rig = Rig(Engine(noise=0.01, resolution=0.005))
    for t in range(50):
        steps = rig.reading(float(t)) / 0.005
        assert math.isclose(steps, round(steps), abs_tol=1e-6)
