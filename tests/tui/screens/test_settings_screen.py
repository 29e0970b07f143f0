"""Settings are asked for on the screen, written beside what a person wrote there, and obeyed at once."""

import clockwork
import pytest
from screening import press, rows, until, words

from coaxly.entry.preferences import Memory, Preferences, load_preferences, preferences_path
from coaxly.errors import UsageError
from coaxly.fitter.keys import keys_of
from coaxly.job.folder.ownsettings import set_setting
from coaxly.screens.app import CoaxlyApp
from coaxly.screens.flows import work_bench
from coaxly.screens.jobs.jobsscreen import JobsScreen
from coaxly.screens.small.askscreens import AskScreen, QuestionScreen
from coaxly.screens.small.settingsscreen import SettingsScreen


@pytest.fixture
def path(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    return preferences_path()


def at_settings(tmp_path, work, size=(80, 24)):
    async def main():
        app = CoaxlyApp(
            lambda app: work_bench(app, Memory(tmp_path / "last.json"), tmp_path / "shop"),
            load_preferences().unit,
            load_preferences(),
        )
        async with app.run_test(size=size):
            await until(lambda: isinstance(app.screen, JobsScreen) and words(app, "step"))
            await press(app, "e")
            await until(lambda: isinstance(app.screen, SettingsScreen) and words(app, "about"))
            await work(app)
            app.exit()

    clockwork.run(main())


async def change(app, name, key="", text=""):
    page = app.screen
    names = [one.name for one in page._settings]
    for _ in range(len(names)):
        await press(app, "up")
    for _ in range(names.index(name)):
        await press(app, "down")
    await press(app, "enter")
    if key:
        await until(lambda: isinstance(app.screen, QuestionScreen))
        await press(app, key)
    else:
        await until(lambda: isinstance(app.screen, AskScreen) and app.focused is not None)
        app.focused.value = text
        await app.focused.action_submit()
    await until(lambda: isinstance(app.screen, SettingsScreen) and app.screen is not page)


def test_what_is_asked_is_written_and_obeyed_and_own_comments_stay(tmp_path, path):
    path.parent.mkdir(parents=True)
    path.write_text('# my own words\nkit = "5thou"  # the drawer\n', encoding="utf-8")

    async def work(app):
        assert app.unit == "thou"
        await change(app, "unit", key="3")
        assert app.unit == "mm" and "unit is set" in words(app, "text")
        await change(app, "theme", key="2")
        assert "light" in app.theme
        await change(app, "take_keys", text="space, f7")
        assert app.preferences.take_keys == ("space", "f7")
        await change(app, "kit", text="5")
        assert words(app, "text").startswith("! kit: '5' has no unit")
        await change(app, "take_keys", text="c")
        assert "does something else" in words(app, "text")
        await change(app, "paper", key="escape")
        await press(app, "q")
        await until(lambda: isinstance(app.screen, JobsScreen))

    at_settings(tmp_path, work)
    text = path.read_text(encoding="utf-8")
    assert text.startswith('# my own words\nkit = "5thou"  # the drawer\n')
    known = load_preferences()
    assert (known.unit, known.theme, known.take_keys, known.kit) == ("mm", "light", ("space", "f7"), "5thou")
    assert known.said == {"unit", "theme", "take_keys", "kit"}


@pytest.mark.parametrize("size", [(40, 12), (60, 20), (80, 24), (120, 40)])
def test_all_of_them_can_be_picked_at_any_size(tmp_path, path, size):
    async def work(app):
        for _ in keys_of(Preferences):
            await press(app, "down")
        await until(lambda: any("> voice" in row for row in rows(app)))
        assert "spoken" in " ".join(" ".join(rows(app)).split())
        assert "Q back" in " ".join(" ".join(rows(app)[-3:]).split())

    at_settings(tmp_path, work, size)


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [
        ("voice", "yes", True),
        ("voice", "off", False),
        ("shop", "/jobs", "/jobs"),
        ("glyphs", "ascii", "ascii"),
    ],
)
def test_a_setting_is_taken_as_people_say_it(path, name, text, value):
    assert getattr(set_setting(name, text), name) == value


@pytest.mark.parametrize(("name", "text"), [("unit", "ells"), ("voice", "perhaps"), ("take_keys", "")])
def test_what_cannot_be_meant_is_refused_and_nothing_is_written(path, name, text):
    with pytest.raises(UsageError, match=name):
        set_setting(name, text)
    assert not path.exists()
