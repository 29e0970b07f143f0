"""Plain pages: all that is known of something, and old recordings to be watched again."""

from pathlib import Path
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from ...output import clean
from ...say.smallwords import counted, shortened
from ...widgets.textlines import KeyLine, Lines
from ..base import CoaxlyScreen, more
from ..sheet import Key, Sheet


class Page(Sheet[None]):
    """A title, and lines that roll. Dismissed when it was read."""

    TOPIC = "jobs"
    ROOMY: ClassVar[bool] = False
    DEFAULT_CSS = "Page #said { height: 1fr; padding: 0 1; }"

    def __init__(self, title: str, lines: list[str]) -> None:
        super().__init__()
        self._title, self._lines = title, lines

    def title_words(self) -> str:
        """Of what."""
        return self._title

    def keys(self) -> list[Key]:
        """Back."""
        return [("Space", "back"), ("Q", "back")]

    def body(self) -> ComposeResult:
        """The lines."""
        yield more(Lines("\n".join(self._lines), id="text"), id="said")

    def go_on(self) -> None:
        """It was read."""
        self.dismiss(None)


class RecordingsScreen(CoaxlyScreen[Path | None]):
    """Dismissed with the file to be watched, or None."""

    TOPIC = "files"
    DEFAULT_CSS = "RecordingsScreen OptionList { height: 1fr; }"

    def __init__(self, job: str, entries: list[tuple[Path, str]]) -> None:
        """job: whose they are, "" for nobody's. entries: file, and what is said of it."""
        super().__init__()
        self._job, self._entries = job, entries

    def compose(self) -> ComposeResult:
        """A list."""
        count = counted(len(self._entries), "recording")
        whose = f"of {shortened(self._job)} and in this folder" if self._job else "in this folder"
        yield Lines(f"{count} {whose}", id="title")
        yield OptionList(*[Option(Text(clean(words))) for _, words in self._entries])
        yield KeyLine("Enter watch   Q back", id="keys")

    def on_mount(self) -> None:
        """The list takes the keys."""
        self.query_one(OptionList).focus()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Watch this one."""
        self.dismiss(self._entries[event.option_index][0])
