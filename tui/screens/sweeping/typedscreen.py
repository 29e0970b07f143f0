"""The measuring screen for readings that are typed: a field in place of a dial, and a doubt about slips."""

from typing import ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.widgets import Input

from ...entry.papers import Written, written_line
from ...errors import UsageError
from ...job.sweep.news import Do, News, What
from ...job.sweep.request import TYPED
from ...job.sweep.run import SweepRun
from ...job.sweep.view import View
from ...say.sweep import live as phrases
from .livescreen import LiveScreen

_BEGINS: str = "0123456789+-.,"


class ReadingField(Input):
    """Takes a reading; while it is empty, letters are the screen's keys, for no reading begins with one."""

    class Letter(Message):
        """A key that was not meant for the field."""

        def __init__(self, key: str) -> None:
            """key: its name."""
            super().__init__()
            self.key = key

    async def _on_key(self, event: events.Key) -> None:
        sent = event.character or ""  # Enter sends one too, and is the field's own
        if not self.value and sent and sent.isprintable() and sent not in _BEGINS:
            event.stop()
            event.prevent_default()
            letter = sent.isascii() and sent.isupper()  # a capital does what its letter does, as everywhere
            self.post_message(self.Letter(sent.lower() if letter else event.key))


class TypedScreen(LiveScreen):
    """Work a sweep whose readings are read off and typed."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("space", "take", "Take")]
    DEFAULT_CSS = """
    TypedScreen #typed { height: 3; border: heavy $primary; margin: 0 1; }
    TypedScreen.done #typed { display: none; }
    TypedScreen #trace { display: none; }
    TypedScreen.narrow #typed { margin: 0; }
    TypedScreen.low #typed { height: 1; border: none; background: $panel; }
    TypedScreen.small > #typed { display: block; }
    TypedScreen.small.done > #typed { display: none; }
    """
    KEY_PAGE: ClassVar[list[str]] = [
        "type the reading, with its unit if it is another: 14.9thou, .378mm",
        "Enter takes it, and in an empty field finishes, once all are read",
        "While the field is empty:",
        "U  take the last station back      F  finish here",
        "N  note a few words                M  thou, in, mm, um",
        "T  one more turn                   O  one more, the other way",
        "Q  stop, kept for later            ?  this page",
    ]
    KEY_LINE: ClassVar[str] = "Enter take   U undo   F finish"

    def __init__(self, run: SweepRun, *, go_on_after: float | None = None, bare: str = "") -> None:
        """bare: unit of a number that carries none, "" for that of the profile."""
        super().__init__(run, go_on_after=go_on_after)
        self._bare = bare
        self._taken_in = bare or run.pipeline.profile.unit

    def on_mount(self) -> None:
        """The field, which keeps the keys: while a reading is due it is never hidden, for what is
        hidden loses the focus for good."""
        field = ReadingField(
            placeholder=f"reading {phrases.typed_like(self._taken_in)}", id="typed", max_length=40
        )
        self.mount(field, before="#message")
        self.set_focus(self.query_one("#typed", ReadingField))

    def take_keys(self) -> list[str]:
        """Enter is the field's own, so that it never overtakes what was typed, however fast; and a blank may
        stand between a number and its unit."""
        return [key for key in super().take_keys() if key not in ("space", "enter")]

    async def on_reading_field_letter(self, pressed: ReadingField.Letter) -> None:
        """Undo, finish, note: whatever that key does here."""
        await self.press(pressed.key)

    def on_input_submitted(self) -> None:
        """Enter."""
        self.action_take()

    def action_take(self) -> None:
        """What was typed is the reading of the station that is due."""
        field = self.query_one("#typed", ReadingField)
        if (text := field.value.strip()) and not self.run.finished.is_set():
            field.value = ""
            try:
                written = written_line(text, self._bare).placed(self.run.pipeline.setup)
            except UsageError:
                written = Written(text)  # an angle beyond a turn: told like anything else that is no reading
            self.run.typed(written.text, written.deg)
            return
        super().action_take()

    def take(self) -> None:
        """Nothing was typed: no dial ever answers, so this can only mean the end."""
        if self.run.view().task.do is Do.FINISH:
            super().take()
        else:
            self.run.say(News(What.NOTHING_TYPED))

    def begun(self, view: View) -> bool:
        """What is typed but not yet taken counts."""
        typed = self.query_one("#typed", ReadingField).value
        return super().begun(view) or (not view.finished and bool(typed))

    def status_words(self, view: View) -> str:
        """No line, no dial: what a number is taken in, whatever unit is shown, and how far it has come."""
        typed = f"typed {phrases.typed_in(self._taken_in)}\n{phrases.stations_read(view)}"
        return phrases.status(view) if view.finished else typed

    def is_live(self, view: View) -> bool:
        """What was typed last stands there until the next."""
        return True


def live_screen(run: SweepRun, *, go_on_after: float | None = None, bare: str = "") -> LiveScreen:
    """The measuring screen that suits a sweep. bare: unit of a typed number that carries none."""
    if run.pipeline.profile.name == TYPED:
        return TypedScreen(run, go_on_after=go_on_after, bare=bare)
    return LiveScreen(run, go_on_after=go_on_after)
