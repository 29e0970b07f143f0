"""A new job, one question at a time; what is learnt later is written into job.toml beside what people wrote."""

import asyncio

import clockwork
import pytest
from clockwork import until
from screening import press, rows, words

from coaxly.entry.preferences import Memory, Preferences
from coaxly.job.folder.index import open_job
from coaxly.job.folder.journal import Opened, now
from coaxly.job.folder.material import kit_of, limit_of, value_of
from coaxly.job.folder.newjob import said
from coaxly.job.folder.shop import Job
from coaxly.job.folder.snapshot import look
from coaxly.job.steps.jobsteps import rig_of, setup_of
from coaxly.screens.app import CoaxlyApp
from coaxly.screens.flows import work_bench
from coaxly.screens.jobs.jobsscreen import JobsScreen
from coaxly.screens.jobs.newjobscreen import NewJobScreen
from coaxly.screens.small.askscreens import QuestionScreen


def at_work(tmp_path, work, size=(80, 24)):
    async def main():
        memory = Memory(tmp_path / "last.json")
        memory.keep(dial_unit="in")
        app = CoaxlyApp(lambda app: work_bench(app, memory, tmp_path / "shop"), "thou", Preferences())
        async with app.run_test(size=size):
            await at_the_jobs(app)
            await work(app)
            await at_the_jobs(app)
            app.exit()

    clockwork.run(main())


async def at_the_jobs(app):
    await until(lambda: isinstance(app.screen, JobsScreen) and words(app, "step"))
    await asyncio.sleep(0.5)


async def say(app, short, text):
    """Answer a question that is there."""
    await until(lambda: app.screen.query("#large") and app.screen.query_one("#large")._text == short)
    app.screen.query_one("#answer").value = text
    await press(app, "enter")


def only_job(tmp_path):
    (path,) = (path for path in (tmp_path / "shop").iterdir() if path.is_dir() and path.name[:2] == "20")
    return Job(path)


def test_a_new_job_is_asked_for_one_question_at_a_time(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "shop").mkdir()
    (tmp_path / "shop" / "drawer.toml").write_text('[[size]]\noffset = "7thou"\n')

    async def work(app):
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, NewJobScreen))
        await say(app, "TITLE", " ")
        await until(lambda: "needs a title" in words(app, "amiss"))
        await say(app, "TITLE", "blue  van")
        await until(lambda: "shimming the face moves the bore" in words(app, "why"))
        await say(app, "FACE TOO", "perhaps")
        await until(lambda: "write yes or no" in words(app, "amiss"))
        await say(app, "FACE TOO", "yes")
        await say(app, "FACE RADIUS", "far")
        await until(lambda: words(app, "amiss"))
        assert app.screen.query_one("#answer").selected_text == "far"
        await press(app, "6", "i", "n", "enter")  # what was refused gives way to what is typed next
        await say(app, "BOLTS", "6@420mm")
        await say(app, "SHIMS", "1thou,2thou")
        await say(app, "DEPTH", "90mm")
        await until(lambda: app.screen.query_one("#large")._text == "LIMIT")
        assert "maker's data come first" in words(app, "why")
        await say(app, "LIMIT", "5")
        await until(lambda: words(app, "amiss"))
        await say(app, "LIMIT", "4thou")
        await say(app, "WHOSE LIMIT", "the maker's data")
        await say(app, "KIT", "shop/drawer.toml")
        await say(app, "HOLES", "-5.5in,-1in 5.5in,-1in")
        await say(app, "BLOCK", "K2 / 118")
        await until(lambda: app.screen.query_one("#large")._text == "HOUSING")
        await press(app, "escape")
        await until(lambda: app.screen.query_one("#answer").value == "K2 / 118")
        await press(app, "enter")
        await say(app, "HOUSING", "R2-07")
        await say(app, "STATIONS", "2")
        await until(lambda: "3 to 360" in words(app, "amiss"))
        await say(app, "STATIONS", "12")
        await at_the_jobs(app)
        assert words(app, "step") == "sweep the face as found"
        assert app.screen.query_one("#large")._text == "SWEEP THE FACE"

    at_work(tmp_path, work)
    monkeypatch.chdir("/")
    job = only_job(tmp_path)
    known = look(job).details
    assert (known.title, known.block.family, known.block.serial, known.housing.serial) == (
        "blue van", "K2", "118", "R2-07",
    )  # fmt: skip
    assert known.kit == "../drawer.toml" and kit_of(look(job)).sizes[0].offset == pytest.approx(7 * 0.0254)
    assert (
        limit_of(look(job)).tir == pytest.approx(4 * 0.0254)
        and limit_of(look(job)).source == "the maker's data"
    )
    assert value_of(look(job), "dowels") is not None and rig_of(look(job)).stations == 12
    assert look(job).state.face.wanted
    assert (known.face_radius, known.bolts, known.shims, known.depth) == (
        "6in", "6@420mm", "1thou,2thou", "90mm",
    )  # fmt: skip
    assert setup_of(look(job), "face").face_radius_mm == pytest.approx(152.4)
    assert setup_of(look(job), "bore").face_radius_mm is None


def test_the_rest_is_as_usual_and_leaving_begins_nothing(tmp_path):
    async def work(app):
        await press(app, "n")
        await until(lambda: isinstance(app.screen, NewJobScreen) and app.focused is not None)
        await press(app, "q", "f2")
        await at_the_jobs(app)
        assert words(app, "step") == "sweep the bore as found"
        await press(app, "n")
        await until(lambda: isinstance(app.screen, NewJobScreen) and app.focused is not None)
        await press(app, "x", "escape")

    at_work(tmp_path, work)
    job = only_job(tmp_path)
    assert look(job).title == "q" and limit_of(look(job)) is None and rig_of(look(job)).stations == 8


def test_what_is_learnt_later_is_written_beside_what_people_wrote(tmp_path):
    job = open_job(tmp_path / "shop", "van", {"rig": {"sag": "1thou"}}, Opened(time=now(), title="van"))
    path = job.path / "job.toml"
    path.write_text("# my own words\n" + path.read_text() + "\n[mine]\nx = 1\n")

    async def work(app):
        await press(app, "j")
        await until(lambda: isinstance(app.screen, QuestionScreen))
        await press(app, "e")
        await say(app, "LIMIT", "sae2")
        await say(app, "WHOSE LIMIT", "")
        await say(app, "KIT", "5thou,7thou")
        await until(lambda: app.screen.query_one("#large")._text == "HOLES")
        text = path.read_text().replace('customer = ""', 'customer = "written meanwhile"')
        path.write_text(text.replace('sag = "1thou"', 'sag = "1thou"\ntip_angle = 30'))
        for _ in range(3):
            await press(app, "enter")
        await say(app, "STATIONS", "6")
        await press(app, "f2")

    at_work(tmp_path, work)
    text = path.read_text()
    assert text.startswith("# my own words\n") and "[mine]\nx = 1" in text
    known = look(job).details
    assert (known.limit, known.kit, known.customer) == ("sae2", "5thou,7thou", "written meanwhile")
    assert known.rig == {"sag": "1thou", "tip_angle": 30, "stations": 6}
    assert "TM 10-4320" in limit_of(look(job)).source


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 55)], ids=str)
def test_no_question_is_cut(tmp_path, size):
    async def work(app):
        await press(app, "n")
        await until(lambda: isinstance(app.screen, NewJobScreen) and app.focused is not None)
        await say(app, "TITLE", "van")
        await say(app, "FACE TOO", "yes")
        for _ in range(12):
            seen = " ".join(" ".join(rows(app)).split())
            for name in ("ask", "why", "empty", "keys"):
                assert " ".join(words(app, name).split()) in seen, words(app, name)
            assert "x,y x,y" not in words(app, "ask") or "x,y x,y" in "\n".join(rows(app))
            at = app.screen._at
            await press(app, "enter")
            await until(lambda at=at: not isinstance(app.screen, NewJobScreen) or app.screen._at > at)
            await asyncio.sleep(0.1)
            if not isinstance(app.screen, NewJobScreen):
                break

    at_work(tmp_path, work, size)


def test_a_kit_outside_the_shop_is_found_from_anywhere_by_its_whole_path(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "drawer.toml").write_text('[[size]]\noffset = "5thou"\n')
    _, _, values = said({"title": "van", "kit": "drawer.toml,3thou"}, tmp_path / "shop")
    assert values["kit"] == f"{tmp_path}/drawer.toml,3thou"
