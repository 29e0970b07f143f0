"""A sweep beside the one before: a tip that was not moved from the face, a crank that was turned the other way."""

import json
import math

import pytest
from shopping import SWEEP, Shop, readings

from coaxly.fitter.clues.before import Before
from coaxly.job.folder.snapshot import look
from coaxly.job.recorded.pipeline import Pipeline, replay
from coaxly.job.steps import jobsteps as steps
from coaxly.job.sweep.begin import new_header
from coaxly.logger.angle.source import AngleSource, Source
from coaxly.logger.profile import built_in
from coaxly.logger.recording.records import Raw
from coaxly.say.sweep.warnings import sentence


@pytest.fixture
def van(tmp_path):
    shop = Shop(tmp_path / "shop")
    shop("job", "open", "van", "--limit", "5thou", "--kit", "5thou,10thou,15thou")
    return shop


def withheld(shop, x, y, *more):
    """What a sweep of readings off by so many thou leaves in doubt."""
    done = shop(*SWEEP, "--json", *more, typed=readings(x, y))
    return json.loads(done.out)["decision"]["withheld"], done


def zeroed(x, y, thou):
    """The same readings about another zero of the dial."""
    return "".join(f"{float(line) + thou / 1000.0:.5f}\n" for line in readings(x, y).split())


FACE = ("--feature", "face")


def test_readings_of_the_face_once_more_are_no_bores(van):
    assert withheld(van, -4, 2, *FACE)[0] == []
    kinds, done = withheld(van, -4, 2)
    assert kinds == ["tip_unmoved"] and done.code == 1
    assert "the readings are those of the face (face-found-1.jsonl) once more" in done.out + done.err
    # The dial was zeroed anew, and the tip stands where it stood.
    van(*SWEEP, *FACE, typed=readings(-4, 2))
    said = van(*SWEEP, typed=zeroed(-4, 2, 31))
    assert "Move it and sweep again" in said.out and "--sure tip-unmoved" in said.out
    path = van.job("van").path / "found-2.jsonl"
    assert replay(path).result().decision.withheld == ("tip_unmoved",)


@pytest.mark.parametrize("bore", [(-4, 2.5), (4, 2), (-4, -2)])
def test_another_bore_than_the_face_is_not_doubted(van, bore):
    withheld(van, -4, 2, *FACE)
    assert withheld(van, *bore)[0] == []


def test_who_made_sure_that_the_tip_was_moved_has_the_verdict(van):
    withheld(van, -4, 2, *FACE)
    assert withheld(van, -4, 2, "--sure", "tip-unmoved")[0] == []


def test_next_to_no_run_out_is_the_same_on_any_surface(van):
    withheld(van, 0.2, 0.1, *FACE)
    assert withheld(van, 0.2, 0.1)[0] == []


def mirrored(x, y):
    """The readings of a crank that is turned the other way than called out."""
    first, *others = readings(x, y).split()
    return "".join(f"{line}\n" for line in (first, *reversed(others)))


def test_a_bore_that_is_its_own_mirror_image_was_turned_the_other_way_once(van):
    assert withheld(van, -8, 3)[0] == []
    said = van(*SWEEP, typed=mirrored(-8, 3))
    assert "! these readings are those of found-1.jsonl the other way round" in said.out
    refused = van("plan", "van")
    assert refused.code == 1 and "fit nothing by this sweep before the angle is right" in refused.out
    # The third agrees with the second: that one was right.
    assert van(*SWEEP, typed=mirrored(-8, 3)).out and van("plan", "van").code == 0


def test_as_left_the_proof_tells_which_of_both_it_was(van):
    withheld(van, -8, 3)
    van("job", "fitted", "van", "5thou@90")
    van(*SWEEP, "--stage", "left", typed=readings(-3, 4))
    said = van(*SWEEP, "--stage", "left", typed=mirrored(-3, 4))
    assert "! these readings are those of left-1.jsonl the other way round" in said.out
    result = replay(van.job("van").path / "left-2.jsonl").result()
    assert result.decision.withheld == () and "mirrored" in {each.kind for each in result.remarks}


def test_the_same_bore_swept_again_is_not_doubted(van):
    withheld(van, -8, 3)
    for again in (-8.1, 3.1), (-8, 3):
        kinds, done = withheld(van, *again)
        assert kinds == [] and "mirrored" not in done.out


def test_after_dowels_nothing_is_compared(van):
    withheld(van, -8, 3)
    van("job", "fitted", "van", "10thou@90")
    van(*SWEEP, "--stage", "left", typed=mirrored(-8, 3))
    result = replay(van.job("van").path / "left-1.jsonl").result()
    assert "mirrored" not in {each.kind for each in result.remarks}


@pytest.mark.parametrize(
    "said", [{}, {"file": "a", "feature": "bore", "deg": 1, "mm": "x"}, {"deg": [0] * 8, "mm": [0] * 7}]
)
def test_what_is_no_sweep_is_compared_with_nothing(said):
    assert Before.from_header(said) is None


def turned(way, turn, sense="cw"):
    """A crank that goes round once, `way` by its encoder, and the way that somebody said."""
    angle = {"mode": "encoder", "turn": turn}
    setup = {"sense": sense}
    pipeline = Pipeline(
        new_header(instrument={"profile": "stream-decimal", "unit": "mm"}, angle=angle, setup=setup)
    )
    for k in range(400):
        t, deg = k / 20.0, way * k
        off = 0.1 * math.cos(math.radians(deg))
        pipeline.feed([Raw(t, "encoder", f"A {deg % 360:.2f}\r\n"), Raw(t, "indicator", f"{off:+.4f}\r\n")])
    return pipeline.result()


@pytest.mark.parametrize(
    ("way", "turn", "sense", "doubt"),
    [
        (1, "cw", "cw", ()), (-1, "ccw", "cw", ()), (1, "", "cw", ()), (-1, "", "cw", ()),
        (1, "ccw", "cw", ("wrong_angle",)), (-1, "cw", "cw", ("wrong_angle",)),
        (1, "cw", "ccw", ("wrong_angle",)), (1, "ccw", "ccw", ()),
    ],
)  # fmt: skip
def test_an_angle_that_goes_the_other_way_than_the_crank_is_doubted(way, turn, sense, doubt):
    result = turned(way, turn, sense)
    assert result.decision.withheld == doubt
    if doubt:
        said = next(sentence(each, "thou") for each in result.remarks if each.kind == "wrong_angle")
        assert f"the crank is turned {'clockwise' if turn == 'cw' else 'anticlockwise'} by the job" in said
        assert "does the encoder count against it (--direction -1)" in said


def test_who_types_angles_may_read_them_in_any_order_and_help_says_which_are_doubted(van):
    rows = [f"{45 * k} {line}" for k, line in enumerate(readings(10, -3).splitlines())]
    for turn in ("cw", "ccw"):
        done = van(*SWEEP, "--turn", turn, "--json", typed="\n".join(rows) + "\n")
        decision = json.loads(done.out)["decision"]
        assert (decision["state"], decision["withheld"]) == ("outside", [])
    said = " ".join(van("sweep", "--help-all").out.split())
    assert "an angle that comes by itself is doubted where it goes the other way" in said


@pytest.mark.parametrize(
    ("view", "sense", "turn"),
    [("rear", "cw", "cw"), ("rear", "ccw", "ccw"), ("front", "cw", "ccw"), ("front", "ccw", "cw")],
)
def test_a_crank_that_is_watched_from_the_front_turns_the_other_way_seen_from_behind(van, view, sense, turn):
    def look_at():
        return look(van.job("van"))

    look_at().job.edit(rig={"view": view, "sense": sense})
    assert steps.turn_of(look_at()) == turn
    other = "ccw" if turn == "cw" else "cw"
    steps.keep_turn(look_at(), other)
    assert steps.turn_of(look_at()) == other
    assert look_at().details.rig == {"view": view, "sense": sense, "turn": other}


def test_the_way_of_a_crank_is_kept_apart_from_the_scale_of_its_angles(van):
    def look_at():
        return look(van.job("van"))

    steps.keep_turn(look_at(), "ccw", called=False)
    assert look_at().details.rig == {"turn": "ccw"}
    assert steps.turn_of(look_at(), called=False) == steps.turn_of(look_at()) == "ccw"
    dial = Source("/dev/x", built_in("angle-and-value"))
    request = steps.sweep_request(look_at(), "found", "bore", dial)
    assert request.angle.to_header() == {"mode": "combined", "turn": "ccw"} and request.setup.sense == "cw"
    assert AngleSource.from_header(request.angle.to_header()).turn == "ccw"
