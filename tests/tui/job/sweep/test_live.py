"""What an operator asks of a live sweep, and what the dial answers, in simulated time."""

import dataclasses
import json

import pytest
from handrun import HandRun
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coaxly.job.recorded.pipeline import replay
from coaxly.job.sweep.linestate import LinkState
from coaxly.job.sweep.schedule import Plan, Schedule
from coaxly.job.sweep.stops import PATIENCE_S, Capture
from coaxly.logger.profile import Profile, built_in
from coaxly.logger.recording.reader import RecordingReader
from coaxly.logger.recording.records import ENCODER, INDICATOR, OPPOSITE, FaultNote
from coaxly.say.sweep import live as phrases
from coaxly.say.sweep.sweepwords import prompt, told


@pytest.fixture
def make(tmp_path):
    """A sweep worked by hand, connected; its file is closed in the end."""
    made = []

    def build(*plan, ports=(INDICATOR,), **setup):
        hand = HandRun(tmp_path / f"s{len(made)}.jsonl", *plan, **setup)
        hand.connect(*ports)
        made.append(hand)
        return hand

    yield build
    for hand in made:
        hand.run.session.writer.abandon()


@pytest.fixture
def hand(make):
    return make()


def test_a_slow_dial_never_gives_a_station_the_reading_of_the_place_before(hand):
    hand.rest(0.10, 3.0, period=1.0)
    hand.run.confirm()
    hand.say(0.10, 0.9)
    assert hand.values == [0.10]
    hand.rest(0.10, 2.0, period=1.0)
    hand.wait(0.4)  # the crank is turned to 3:00, and space pressed before the dial speaks again
    hand.run.confirm()
    assert hand.values == [0.10]
    assert hand.run.view().waiting_for_steady
    hand.say(0.55, 0.6)
    assert hand.values == [0.10], "the dial has only just come to this place"
    hand.say(0.55, 1.0)
    assert hand.values == [0.10, 0.55]
    hand.run.stop()
    assert [round(float(v), 4) for v in replay(hand.path).fitter.stations().value] == [0.10, 0.55]


def test_a_slow_second_dial_is_waited_for_as_well(make):
    second = built_in("stream-decimal").to_header()
    hand = make(ports=(INDICATOR, OPPOSITE), angle={"opposite": second})
    hand.say(-0.3, port=OPPOSITE)
    hand.rest(0.1)
    hand.run.confirm()
    hand.rest(0.1)
    assert hand.values == [], "the second dial has not spoken since"
    hand.say(-0.1, port=OPPOSITE)
    hand.say(0.1)
    assert hand.values == [0.1]


def test_asked_twice_a_slow_dial_still_has_to_speak(hand):
    hand.rest(0.10, 3.0, period=1.0)
    hand.run.confirm()
    hand.run.confirm()
    assert hand.values == []
    hand.say(0.70, 0.9)
    assert hand.values == [0.70]


def test_a_prompt_that_waits_says_what_a_second_press_does(hand):
    hand.rest(0.0)
    hand.say(0.5)
    hand.run.confirm()
    assert "Space again takes it as it stands" in prompt(hand.run.view().task)


def test_nothing_from_the_start_is_said_with_what_to_check(hand):
    hand.wait(2.5)
    assert hand.run.view().link is LinkState.MUTE
    for word in ("power", "data key", "cable", "port", "baud"):
        assert word in told(hand.run.view().news)
    hand.run.confirm()
    assert "nothing comes from the dial" in told(hand.run.view().news)
    assert not any("moving" in said for said in hand.said)
    assert "nothing comes" in phrases.status(hand.run.view())
    hand.say(0.1)
    assert hand.run.view().link is LinkState.UP


def test_garbage_only_is_said_as_what_it_is(hand):
    for _ in range(30):
        hand.bytes(b"\xfe\x81 7#\r\n")
    assert hand.run.view().link is LinkState.GARBLED
    assert r"what comes ('þ\x81 7#') is no reading" in told(hand.run.view().news)
    assert "no reading" in told(hand.run.view().news) and "baud" in told(hand.run.view().news)
    hand.run.confirm()
    assert "moving" not in told(hand.run.view().news) and not hand.run.view().waiting_for_steady
    hand.say(0.1)
    assert hand.run.view().link is LinkState.UP


def test_a_stray_byte_and_then_nothing_is_silence_not_garbage(hand):
    hand.bytes(b"\xff\r\n")
    hand.wait(3.0)
    assert hand.run.view().link is LinkState.MUTE


def test_a_dial_that_speaks_rarely_is_not_called_silent(hand):
    for _ in range(6):
        hand.say(0.1, 3.0)
    before = len(hand.said)
    for _ in range(4):
        hand.say(0.1, 3.0)
    assert len(hand.said) == before


def test_a_dial_with_a_button_may_be_silent(make):
    hand = make(profile=Profile.from_header({"name": "button", "on_demand": True}))
    hand.wait(10.0)
    assert hand.run.view().link is LinkState.UP


def test_a_station_asked_for_is_given_up_when_the_dial_falls_silent(hand):
    hand.rest(0.1)
    hand.run.confirm()
    hand.wait(3.0)
    assert not hand.run.view().waiting_for_steady
    assert any("12:00: not taken" in said for said in hand.said)
    hand.rest(0.9)
    assert hand.values == [], "whoever asked may have turned on"


def test_a_station_asked_for_is_given_up_when_the_dial_never_rests(hand):
    hand.rest(0.1)
    hand.run.confirm()
    for k in range(int(PATIENCE_S / 0.1) + 5):
        hand.say(0.2 * (k % 2))
    assert any("does not come to rest" in said for said in hand.said) and hand.values == []


def test_two_ports_have_two_states_and_the_lost_one_is_named(make):
    hand = make(mode="encoder", ports=(INDICATOR, ENCODER))
    hand.run._linked(ENCODER, "lost")
    hand.say(0.1)
    hand.run._linked(INDICATOR, "up")
    view = hand.run.view()
    assert view.link is LinkState.LOST and view.lost == (ENCODER,)
    assert "LOST: encoder" in phrases.status(view) and "encoder" in prompt(view.task)
    hand.run._linked(ENCODER, "up")
    assert hand.run.view().link is LinkState.UP


def test_lost_never_stands_beside_a_steady_dial(hand):
    hand.rest(0.1)
    assert "dial steady" in phrases.status(hand.run.view())
    hand.run._linked(INDICATOR, "lost")
    assert not hand.run.view().steady and "steady" not in phrases.status(hand.run.view())
    hand.run.confirm()
    assert "lost" in told(hand.run.view().news) and not hand.run.view().waiting_for_steady


def test_an_added_turn_stays_when_a_station_is_taken_back(make):
    hand = make(Plan(4))
    hand.take(0.1)
    assert hand.run.remaining == 4
    hand.run.another_turn()
    assert hand.run.remaining == 9
    hand.run.undo()
    assert hand.run.remaining == 10 and hand.run.next_deg == 0.0


def test_the_closing_reading_never_sends_the_crank_backwards(make):
    hand = make(Plan(4))
    for value in (0.1, 0.0, -0.1, 0.0):
        hand.take(value)
    to_do = prompt(hand.run.view().task)
    assert "back" not in to_do and "turn on, the same way, to 12:00" in to_do


def test_a_continuous_sweep_counts_places_and_has_none_due(make):
    both = {"name": "both", "pattern": r"(?P<angle>[\d.]+),(?P<value>[-+\d.]+)"}
    hand = make(mode="combined", profile=Profile.from_header(both))
    for deg in range(0, 360, 5):
        hand.bytes(f"{deg},0.1\r\n".encode())
        to_do = prompt(hand.run.view().task)
        assert to_do.startswith("all round: finish" if deg > 335 else "turn the crank slowly round")
    hand.bytes(b"5,0.1\r\n")
    assert "turn on for a narrower bar" in prompt(hand.run.view().task)
    hand.run.confirm()
    assert "every reading brings its angle" in hand.said[-1]
    assert hand.run.view().planned == 0 and " of " not in phrases.stations_read(hand.run.view())
    one = dataclasses.replace(hand.run.view(), stations=hand.run.view().stations.take(slice(0, 1)))
    assert phrases.stations_read(one) == "1 station read"


def test_a_flood_is_noted_once(hand):
    for _ in range(30):
        hand.bytes(b"+0.1\r\n" * 500)
    assert sum("more than the line can carry" in said for said in hand.said) == 1


def test_a_clock_that_jumps_back_costs_no_time(hand):
    hand.rest(0.1)
    before = hand.run.session.now()
    hand.clock.t -= 5.0
    hand.rest(0.1, 3.0)
    assert hand.run.session.now() == pytest.approx(before + 3.0, abs=0.2)
    # What was heard since is in the file already, as if nothing had been.
    lines = hand.path.read_text().splitlines()
    assert json.loads(lines[-1])["t"] > before + 2.0
    assert any("ran back by 4.9 s" in line for line in lines)


def test_more_than_can_be_fitted_ends_the_sweep_in_words(hand, monkeypatch):
    from coaxly.fitter.errors import TooManyStations

    def full(*arguments):
        raise TooManyStations(5000)

    hand.rest(0.1)
    monkeypatch.setattr(hand.run.pipeline.fitter, "add_station", full)
    hand.run.confirm()
    hand.say(0.1)
    assert isinstance(hand.run.failure, TooManyStations) and hand.run.finished.is_set()
    hand.run._keeper.close()
    assert '"kind":"seal"' in hand.path.read_text().splitlines()[-1]
    assert hand.run.view().sealed is False


def test_what_is_kept_for_later_can_be_gone_on_with(hand):
    from coaxly.job.sweep.resume import resume

    hand.take(0.1)
    hand.run.another_turn()
    hand.take(0.2)
    hand.run.stop()
    assert hand.run.view().finished and hand.run.result is None
    again, _, _ = resume(hand.path)
    assert again.next_deg == 180.0 and again.remaining == 6
    again.session.writer.close()


# The schedule and what was asked for, in any order of keys ------------------------------------

KEYS = st.lists(
    st.one_of(
        st.sampled_from(["take", "undo", "turn", "back", "pause"]), st.sampled_from([0.0, 45.0, 77.0, 180.0])
    ),
    max_size=40,
)


@given(KEYS)
def test_what_is_due_and_what_was_read_are_what_was_ever_asked_for(keys):
    schedule = Schedule(Plan(4))
    asked = sorted(Plan(4).angles())
    read = []
    for key in keys:
        if key == "undo":
            assert schedule.undo() is bool(read)
            if read:
                read.pop()
        elif key in ("turn", "back"):
            schedule.add_turn(back=key == "back")
            asked = sorted(asked + Plan(4).angles())
        else:
            due = schedule.next
            deg = key if isinstance(key, float) else (due.deg if due else 10.0)
            before = len(schedule)
            schedule.read(deg)
            read.append(deg if len(schedule) < before else None)
        there = [due.deg for due in schedule.due] + [deg for deg in read if deg is not None]
        assert sorted(there) == asked


@given(KEYS)
def test_taking_everything_back_brings_back_the_order(keys):
    schedule = Schedule(Plan(6))
    before = schedule.due
    for key in keys:
        schedule.read(key if isinstance(key, float) else 120.0)
    while schedule.undo():
        continue
    assert schedule.due == before


@given(
    st.lists(
        st.tuples(st.sampled_from(["ask", "again", "reading", "steady", "drop"]), st.floats(0.0, 3.0)),
        max_size=40,
    )
)
def test_no_reading_older_than_the_asking_is_ever_taken(steps):
    capture, t, asked = Capture(), 0.0, None
    for what, pause in steps:
        t += pause
        if what == "drop":
            capture.drop()
            asked = None
        elif what in ("ask", "again"):
            asked = t if asked is None else asked
            capture.ask(45.0, t, force=what == "again")
        else:
            at = t - 0.5  # the line was slow
            taken = capture.reading(at, what == "steady")
            if taken is not None:
                assert taken == 45.0 and asked is not None and at > asked
                asked = None


@settings(deadline=None, max_examples=60, suppress_health_check=list(HealthCheck))
@given(
    st.lists(
        st.sampled_from(["take", "ask", "undo", "retake", "turn", "back", "pause", "say", "lose", "find"]),
        max_size=25,
    )
)
def test_any_order_of_keys_leaves_a_file_that_replays_and_resumes_the_same(tmp_path_factory, keys):
    from coaxly.job.sweep.resume import resume

    hand = HandRun(tmp_path_factory.mktemp("keys") / "s.jsonl", Plan(4))
    hand.connect()
    for k, key in enumerate(keys):
        value = 0.05 * (k % 7)
        {
            "take": lambda v=value: hand.take(v),
            "ask": hand.run.confirm,
            "undo": hand.run.undo,
            "retake": hand.run.retake,
            "turn": hand.run.another_turn,
            "back": lambda: hand.run.another_turn(back=True),
            "pause": hand.run.pause,
            "say": lambda v=value: hand.say(v),
            "lose": lambda: hand.run._linked(INDICATOR, "lost"),
            "find": hand.connect,
        }[key]()
    hand.run.stop()
    stations = replay(hand.path).fitter.stations()
    assert stations.value.tolist() == hand.run.view().stations.value.tolist()
    assert stations.deg.tolist() == hand.run.view().stations.deg.tolist()
    again, _, _ = resume(hand.path)
    assert again.schedule.due == hand.run.schedule.due
    again.session.writer.close()


def test_notes_of_trouble_are_in_the_recording(hand):
    hand.wait(2.5)
    hand.run.stop()
    kept = [r for block in RecordingReader(hand.path).blocks() for r in block if isinstance(r, FaultNote)]
    assert any("nothing comes from the dial" in note.what for note in kept)
