"""Is it square? What goes under each bolt, what it does to the bore, and which keys say that it is in."""

import asyncio
import shutil
from dataclasses import replace

import clockwork
import pytest
from making import RECORDINGS, THOU, by_hand
from screening import press, rows, until, words
from sheets import cut, shown
from shopping import lay_in
from textual.widgets import Input

from coaxly.draw.boltpicture import Bolt, draw_bolts
from coaxly.entry.places import parse_bolts
from coaxly.entry.preferences import Memory, Preferences
from coaxly.fitter.analysis import corrected
from coaxly.fitter.face import Mounting, squareness
from coaxly.job.folder.index import open_job
from coaxly.job.folder.journal import Answer, Opened, Shimmed, Sweep, now
from coaxly.job.folder.snapshot import look
from coaxly.job.recorded.pipeline import replay
from coaxly.job.steps.jobsteps import face_radius_of
from coaxly.main import main
from coaxly.say.sweep.facing import shim_lines
from coaxly.screens.app import CoaxlyApp
from coaxly.screens.flows import work_bench
from coaxly.screens.jobs.facescreen import Face, FaceScreen
from coaxly.screens.jobs.jobflow import together
from coaxly.screens.jobs.jobsscreen import JobsScreen
from coaxly.screens.small.askscreens import AskScreen
from coaxly.widgets.bigwords import BigWords

SIX = tuple(parse_bolts("6@420mm"))
STOCK = (1 * THOU, 2 * THOU, 5 * THOU)


def swept(path=RECORDINGS / "launch-face.jsonl", **mounting):
    pipeline = replay(path)
    result = pipeline.result()
    stations = corrected(pipeline.setup, pipeline.fitter.stations())
    return result, squareness(result, stations, pipeline.setup.face_radius_mm, Mounting(**mounting))


def page(besides=False, **mounting):
    return FaceScreen(Face("blue van", *swept(**mounting), besides=besides))


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 55)])
@pytest.mark.parametrize(
    "mounting", [{"bolts": SIX, "stock": STOCK, "depth": 90.0}, {}], ids=["known", "unknown"]
)
def test_where_it_is_high_is_large_nothing_is_cut_and_no_bore_words(mounting, size):
    async def look(app):
        assert cut(app) == []
        text = "\n".join(rows(app))
        assert "seen from BEHIND" in text and "S sweep again" in text
        assert "dowel" not in text and "off-centre" not in text and "ousing must move" not in text
        assert app.screen.query_one("#high", BigWords)._text == "HIGH 7:46"
        assert app.screen.query_one("#verdict").size.height >= max(8, size[1] // 3)

    shown(page(**mounting), look, size)


def test_each_bolt_has_its_shims_and_what_they_do_to_the_bore_is_said():
    result, found = swept(bolts=SIX, stock=STOCK, depth=90.0)
    text = "\n".join(shim_lines(result, found, "thou"))
    for shim in found.shims:
        assert shim.clock in text
    assert "They carry the bore 1.8 thou towards 7:46 (tilt x depth)" in text and "lacks" not in text
    text = "\n".join(shim_lines(*swept(bolts=SIX), "thou"))
    assert "stock is not known" in text and "depth in job.toml is not known" in text


@pytest.mark.parametrize(
    ("decision", "says"),
    [
        ({"state": "unsure"}, "Too close to call"),
        ({"state": "unsure", "withheld": ("other_unit",)}, "No shims before the unit is sure"),
    ],
)
def test_nothing_is_shimmed_by_a_sweep_that_decides_nothing(decision, says):
    result, found = swept(bolts=SIX, stock=STOCK)
    result = replace(result, decision=replace(result.decision, **decision))

    async def look(app):
        assert words(app, "text").startswith(f"! {says}")
        await asyncio.sleep(1.0)
        await press(app, "space")
        assert app.got is None

    shown(FaceScreen(Face("blue van", result, found)), look)


def test_it_is_the_radius_that_is_missing_where_it_is(tmp_path):
    readings = [0.0, 0.1, 0.2, 0.3, 0.4, 0.3, 0.2, 0.1]
    path = by_hand(tmp_path / "a.jsonl", readings, feature="face")
    lines = shim_lines(*swept(path, bolts=SIX, stock=STOCK, depth=90.0), "thou")
    text = " ".join(lines)
    assert lines[0].startswith("! The radius at which the dial ran is not known") and "face_radius" in text
    assert "depth in job.toml" not in text and "bolts in job.toml" not in text
    job = open_job(tmp_path, "van", {"face_radius": "6in"}, Opened(time=now(), title="van", face=True))
    assert face_radius_of(look(job)) == pytest.approx(152.4)
    lines = shim_lines(*swept(), "thou")
    assert lines[0].startswith("! Where the bolts are is not known")


def test_that_three_shims_do_not_reach_is_said():
    text = "\n".join(shim_lines(*swept(bolts=SIX, stock=(2 * THOU,)), "thou"))
    assert "2:00 still lacks 2.2 thou" in text and "more than three shims" in text


def test_bolts_are_drawn_where_they_are_with_what_goes_under_them():
    bolts = [Bolt(0.0, "6.0"), Bolt(90.0, "2.0"), Bolt(180.0, ""), Bolt(270.0, "1.0")]
    for size in ((36, 13), (60, 24), (90, 40)):
        text = ["".join(part for part, _ in row) for row in draw_bolts(bolts, 230.0, *size, "blocks").rows()]
        (top,) = [k for k, row in enumerate(text) if "6.0" in row]
        (right,) = [row for row in text if "2.0" in row]
        assert top <= 1 and right.index("1.0") < size[0] / 4 and right.index("2.0") > size[0] / 2
        assert any("high" in row for row in text) and "seen from behind" in text[-1]


@pytest.mark.parametrize(
    ("mounting", "besides", "key", "answer"),
    [
        ({"bolts": SIX, "stock": STOCK}, False, "l", "in"),
        ({"bolts": SIX, "stock": STOCK}, False, "n", "none"),
        ({"bolts": SIX, "stock": STOCK}, True, "n", None),
        ({"bolts": SIX}, False, "l", None),
        ({"bolts": SIX}, False, "o", "others"),
        ({"bolts": SIX}, False, "s", "again"),
    ],
)
def test_keys_say_what_was_done_and_the_pedal_nothing(mounting, besides, key, answer):
    async def look(app):
        await asyncio.sleep(1.0)
        await press(app, "space")
        assert app.got is None and "pedal does nothing" in words(app, "keys")
        await press(app, key)
        await (until(lambda: app.got == answer) if answer else asyncio.sleep(0.2))
        assert app.got == answer

    shown(page(besides, **mounting), look)


def test_a_square_face_asks_for_nothing_and_the_pedal_goes_on(tmp_path):
    readings = [0.0101, 0.0099, 0.01, 0.0102, 0.0098, 0.01, 0.0101, 0.01]
    path = by_hand(tmp_path / "a.jsonl", readings, feature="face", setup={"face_radius_mm": 150.0})

    async def look(app):
        assert app.screen.query_one("#high", BigWords)._text == "SQUARE"
        assert "No shims are needed" in words(app, "text")
        await asyncio.sleep(1.0)
        await press(app, "space")
        await until(lambda: app.got == "none")

    shown(FaceScreen(Face("blue van", *swept(path))), look)


def test_shims_that_go_in_besides_others_are_added_under_their_place():
    assert together(((0.0, 0.1), (60.0, 0.2)), ((60.4, 0.05), (120.0, 0.3))) == (
        (0.0, 0.1), (60.0, pytest.approx(0.25)), (120.0, 0.3),
    )  # fmt: skip
    assert together(((359.8, 0.1),), ((0.1, 0.1),)) == ((359.8, pytest.approx(0.2)),)


def in_a_job(tmp_path, work, records=(), **details):
    """A job whose face was swept, gone on with from the list."""
    job = open_job(tmp_path, "blue van", details, Opened(time=now(), title="blue van", face=True))
    came = Answer(0.15, 0.01, 0.127, "outside")
    for record in records or [Sweep(file="face-found-1.jsonl", stage="found", feature="face", answer=came)]:
        job.note(record)
        if isinstance(record, Sweep):
            shutil.copy(RECORDINGS / "launch-face.jsonl", job.path / record.file)

    async def main():
        app = CoaxlyApp(
            lambda app: work_bench(app, Memory(tmp_path / "state.json"), tmp_path), "thou", Preferences()
        )
        async with app.run_test(size=(80, 24)):
            await until(lambda: isinstance(app.screen, JobsScreen) and words(app, "step"))
            await asyncio.sleep(0.5)
            await press(app, "enter")
            await until(lambda: isinstance(app.screen, FaceScreen) and words(app, "text"))
            await work(app)
            await until(lambda: isinstance(app.screen, JobsScreen) and words(app, "step"))
            app.exit()

    clockwork.run(main())
    return job


def test_shims_that_are_in_are_noted_in_the_job_and_it_goes_on(tmp_path):
    async def work(app):
        await press(app, "l")

    job = in_a_job(tmp_path, work, bolts="6@420mm", shims="1thou,2thou,5thou", depth="90mm")
    _, found = swept(bolts=SIX, stock=STOCK)
    noted = look(job).state.face.shimmed
    assert noted is not None
    assert list(noted.shims) == [
        (pytest.approx(each.deg), pytest.approx(each.thickness)) for each in found.shims if each.thickness
    ]
    assert (look(job).state.next, look(job).state.feature) == ("sweep left", "face")


def test_what_else_went_in_is_asked_for_and_noted(tmp_path):
    async def work(app):
        await press(app, "o")
        await until(lambda: isinstance(app.screen, AskScreen) and app.screen.query(Input))
        await press(app, "escape")
        await until(lambda: isinstance(app.screen, FaceScreen) and words(app, "text"))
        await press(app, "o")
        await until(lambda: isinstance(app.screen, AskScreen) and app.screen.query(Input))
        app.screen.query_one(Input).value = "2thou@60"
        await press(app, "enter")

    job = in_a_job(tmp_path, work)
    assert look(job).state.face.shimmed.shims == ((60.0, pytest.approx(2 * THOU)),)


def test_a_second_round_adds_to_what_is_in(tmp_path):
    came = Answer(0.15, 0.01, 0.127, "outside")
    records = [
        Sweep(file="face-found-1.jsonl", stage="found", feature="face", answer=came),
        Shimmed(shims=((120.0, 0.1),)),
        Sweep(file="face-left-1.jsonl", stage="left", feature="face", answer=came),
    ]

    async def work(app):
        assert "BESIDES" in words(app, "text") and "N none" not in words(app, "keys")
        await press(app, "l")

    job = in_a_job(tmp_path, work, records, bolts="6@420mm", shims="1thou,2thou,5thou")
    _, found = swept(bolts=SIX, stock=STOCK)
    (fresh,) = [each.thickness for each in found.shims if round(each.deg) == 120]
    assert dict(look(job).state.face.shimmed.shims)[120.0] == pytest.approx(0.1 + fresh)


def test_without_the_screen_the_job_knows_its_bolts_too(tmp_path, capsys, monkeypatch):
    job = open_job(
        tmp_path,
        "blue van",
        {"bolts": "6@420mm", "shims": "2thou", "depth": "90mm", "rig": {"face-radius": "6in"}},
        Opened(time=now(), title="blue van", face=True),
    )
    lay_in(job, RECORDINGS / "launch-face.jsonl", "face-found-1.jsonl")
    assert main(["plan", "blue van", "--shop", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert "2:00 still lacks 2.2 thou" in said and "Shimming moves the bore 1.8 thou" in said
