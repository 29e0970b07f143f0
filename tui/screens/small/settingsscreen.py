"""What is set for this user: picked from a list, and changed."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from ...say.settingwords import Setting
from ...widgets.picklist import PickList
from ...widgets.textlines import KeyLine, Lines
from ..base import CoaxlyScreen


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
