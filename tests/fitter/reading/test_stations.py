import numpy as np
import pytest

from coaxly.fitter.reading.stations import EnteredStations


def entered(*degrees):
    stations = EnteredStations()
    for k, deg in enumerate(degrees):
        stations.add(deg, np.array([0.1 * k]), np.array([float(k)]))
    return stations


def test_a_station_is_the_mean_of_its_dwell():
    stations = EnteredStations()
    stations.add(45.0, np.array([1.0, 2.0, 3.0]), np.array([0.1, 0.2, 0.3]))
    table = stations.table()
    assert (table.value[0], table.count[0], table.scatter[0]) == (2.0, 3, 1.0)
    assert table.t[0] == pytest.approx(0.2)


def test_undo_takes_back_the_last_only():
    stations = entered(0, 90)
    assert stations.undo() and len(stations) == 1
    assert stations.undo() and not stations.undo()


def test_repeated_places_are_turns_and_counted_once():
    table = entered(0, 120, 240, 0, 120, 240).table()
    assert table.turn.tolist() == [0, 0, 0, 1, 1, 1]
    assert table.places() == pytest.approx([0, 120, 240])
    assert table.largest_gap() == 120


def test_sense_follows_the_way_of_turning():
    assert entered(0, 90, 180, 90, 0).table().sense.tolist() == [1, 1, 1, -1, -1]


def test_places_close_around_twelve_are_one():
    assert entered(359.8, 0.2, 120, 240).table().places() == pytest.approx([120, 240, 359.8])


def test_no_station_is_one_gap():
    assert EnteredStations().table().largest_gap() == 360.0
