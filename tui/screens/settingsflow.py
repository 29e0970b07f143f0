"""Settings on the screen: asked for one at a time, written, and obeyed from then on."""

import os

from coaxly.fitter.keys import Choice, YesNo, keys_of

from ..entry.preferences import Preferences, preferences_path
from ..errors import OURS
from ..job.folder.ownsettings import set_setting
from ..say.settingwords import ENVIRONMENT, kept_words, question, settings_of
from ..voice import find_voice
from .base import Program
from .bench import Bench
from .small.askscreens import AskScreen, QuestionScreen
from .small.settingsscreen import SettingsScreen


async def settings(bench: Bench) -> None:
    """Until somebody leaves."""
    app, said, name = bench.app, "", ""
    while True:
        page = SettingsScreen(settings_of(app.preferences, bench.shop), str(preferences_path()), said, name)
        name = await app.push_screen_wait(page)
        if not name:
            return
        text = await _asked(bench, name)
        if not text:
            said = ""
            continue
        try:
            app.preferences = set_setting(name, text)
            said = kept_words(name)
            _obey(app, name)
        except OURS as error:
            said = f"! {error}"


async def _asked(bench: Bench, name: str) -> str:
    """What it is to be; "" to leave it as it is."""
    one = keys_of(Preferences)[name]
    if not isinstance(one.kind, Choice | YesNo):
        said: str = await bench.app.push_screen_wait(AskScreen(question(name)))
        return said
    options = one.kind.options if isinstance(one.kind, Choice) else ("yes", "no")
    answers = [(str(k), str(option), str(option)) for k, option in enumerate(options, 1)]
    wanted: str = await bench.app.push_screen_wait(QuestionScreen(question(name), answers))
    return wanted


def _obey(app: Program, name: str) -> None:
    """What is on the screen already; a variable of the environment counts before it."""
    known = app.preferences
    if os.environ.get(ENVIRONMENT.get(name, "")):
        return
    if name == "unit":
        app.unit = known.unit
    elif name == "glyphs" and known.glyphs is not None:
        app.glyphs = known.glyphs
    elif name == "theme":
        app.dress()
    elif name == "voice":
        app.voice = find_voice() if known.voice else None
