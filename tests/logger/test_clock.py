from coaxly.logger.clock import SessionClock


def test_time_runs_from_zero_at_its_speed_and_is_stored_exactly():
    wall = iter([100.0, 100.0, 100.1234567891])
    clock = SessionClock(10.0, source=lambda: next(wall))
    assert clock() == 0.0
    assert clock() == 1.234568
    assert clock.wall(5.0) == 0.5
