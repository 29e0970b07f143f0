import pytest
from hypothesis import given
from hypothesis import strategies as st

from coaxly.logger.line.framing import framing_of, split
from coaxly.logger.line.listen import as_toml, recognise_lines, settings_to_try
from coaxly.logger.line.questions import Told
from coaxly.logger.profile import Profile, load


def recognise(data, line, told=None):
    """What is made of the bytes of captures, by phase or only heard; the first line may have lost its head."""
    came = {"heard": data} if isinstance(data, bytes) else data
    framing = framing_of(b"".join(came.values()))

    def whole(part):
        lines, _ = split(part, framing)
        return [each.decode("latin-1") for each in (lines[1:] if len(lines) > 3 else lines)]

    return recognise_lines({phase: whole(part) for phase, part in came.items()}, line, framing, told)


@pytest.mark.parametrize(
    ("data", "shape", "example"),
    [
        (b"+00.1234\r\n" * 6, "value", "0.1234 mm"),
        (b"045.0,+0.25\r\n" * 6, "angle and value", "0.25 mm at 45 deg"),
        (b"+0,125\r" * 6, "value", "0.125 mm"),
        (b"+ 1.250 mm\r\n" * 6, "value", "1.25 mm"),
        (b"-0.0125in\r\n" * 6, "value", "-0.0125 in"),
        (b"0,50 mm\n" * 6, "value", "0.5 mm"),
        (b"90.0; 0.125\n" * 6, "angle and value", "0.125 mm at 90 deg"),
        (b"A=0.5\n" * 6, "value", "0.5 mm"),
        (b"01A0.5 mm\n".replace(b"01A", b"A1:") * 6, "value", "0.5 mm"),
    ],
)
def test_shapes_of_lines(data, shape, example):
    roles = ("angle", "value") if shape == "angle and value" else None
    found = recognise(data[3:] + data, Profile(), Told(roles, unit="mm"))
    assert found is not None and (found.shape, found.examples[0]) == (shape, example)


def test_three_examples_are_enough_and_they_are_the_first_that_are_surely_whole():
    lines = [b"%d.5 mm\n" % k for k in range(9)]
    found = recognise(b"".join([*lines[:3], b"1.25 mm Err\n", *lines[3:]]), Profile())
    assert found.examples == ("1.5 mm", "2.5 mm", "3.5 mm")


def test_error_lines_are_understood_as_such():
    found = recognise(b"1.25 mm\n" * 5 + b"1.25 mm Err\n" + b"1.25 mm\n" * 2, Profile())
    assert found.shape == "value" and found.share == 1.0


@pytest.mark.parametrize("data", [b"", b"\x80\x00\xf8" * 40, b"hello world\n" * 9])
def test_noise_is_not_believed(data):
    assert recognise(data, Profile()) is None


@given(st.binary(max_size=400))
def test_any_bytes_are_understood_or_not(data):
    recognise(data, Profile())


def test_a_written_profile_reads_back(tmp_path):
    found = recognise(b"+0.5 mm\n" * 6, Profile(baud=4800, bytesize=7, parity="E", request="?\r"))
    path = tmp_path / "dial.toml"
    path.write_text(as_toml(found.profile))
    again = load(str(path))
    assert (again.baud, again.bytesize, again.parity, again.request) == (4800, 7, "E", "?\r")
    assert again.pattern == found.profile.pattern


def test_the_usual_settings_come_first():
    tried = list(settings_to_try())
    assert tried[0].baud == 9600 and not any(line.request for line in tried)
    assert len(tried) == len(set(tried)) and (300, 7, "O") in {(t.baud, t.bytesize, t.parity) for t in tried}
    assert {line.baud for line in settings_to_try(19200)} == {19200}


@pytest.mark.parametrize(("name", "asked"), [("7", None), ("21.5", "crank"), ("-3", "crank")])
def test_only_what_may_be_an_angle_at_rest_has_the_crank_turned(name, asked):
    def lines(values):
        return "".join(f"{name};{value:.4f}\r\n" for value in values).encode()

    still, pushed = [0.0112, 0.0113, 0.0111] * 4, [0.1 * (k % 3) + 0.0112 for k in range(12)]
    found = recognise({"heard": lines(still), "plunger": lines(pushed)}, Profile(), Told(unit="mm"))
    assert (found.question.about if found.question else None) == asked and not found.has_angle
