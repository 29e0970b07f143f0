"""What is set for this user: picked from a list, and changed."""

import os
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from coaxly.fitter.keys import Choice, YesNo, keys_of

from ...entry.preferences import Preferences, preferences_path
from ...errors import OURS, on_screen
from ...job.folder.ownsettings import set_setting
from ...say.settingwords import ENVIRONMENT, Setting, kept_words, question, settings_of
from ...voice import find_voice
from ...widgets.picklist import PickList
from ...widgets.textlines import KeyLine, Lines
from ..base import Bench, CoaxlyScreen, Program
from .askscreens import AskScreen, QuestionScreen


class SettingsScreen(CoaxlyScreen[str]):
    """Dismissed with the name of the setting that is to be changed; "" to leave."""

    TOPIC = "settings"
    leaving = ""
    AUTO_FOCUS = None
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down", "pick(1)", "Next"),
        Binding("up", "pick(-1)", "Before"),
        Binding("enter,space", "change", "Change"),
    ]
    DEFAULT_CSS = """
    SettingsScreen #about { height: auto; padding: 0 1; margin: 1 0 0 0; color: $primary; text-style: bold; }
    SettingsScreen #text { height: auto; padding: 0 1; color: $secondary; }
    """

    def __init__(self, settings: list[Setting], where: str, said: str = "", picked: str = "") -> None:
        """where: the file that holds them. said: of the last change. picked: begin at that one."""
        super().__init__()
        self._settings, self._where, self._said = settings, where, said
        self._at = next((k for k, one in enumerate(settings) if one.name == picked), 0)

    def compose(self) -> ComposeResult:
        """The list, what the picked one is, where they are kept."""
        yield Lines("Settings", id="title")
        yield PickList()
        yield Lines(id="about")
        yield Lines(self._said or self._where, id="text")
        yield KeyLine("Enter change   Up Down another   ? manual   Q back", id="keys")

    def on_mount(self) -> None:
        """The first one, or that which was changed."""
        self.action_pick(0)

    def action_pick(self, way: int) -> None:
        """Another one."""
        self._at = min(max(self._at + way, 0), len(self._settings) - 1)
        self.query_one(PickList).show(len(self._settings), lambda k, width: self._settings[k].line, self._at)
        self.tell("about", self._settings[self._at].about)

    def action_change(self) -> None:
        """This one."""
        self.dismiss(self._settings[self._at].name)


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
            said = f"! {on_screen(error)}"


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
