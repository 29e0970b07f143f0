"""Old recordings, to be watched again."""

from pathlib import Path

from textual.app import ComposeResult
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from ...output import clean
from ...say.smallwords import counted
from ...widgets.textlines import KeyLine, Lines
from ..base import CoaxlyScreen


class RecordingsScreen(CoaxlyScreen[Path | None]):
    """Dismissed with the file to be watched, or None."""

    TOPIC = "files"
    DEFAULT_CSS = """
    RecordingsScreen OptionList { height: 1fr; }
    """

    def __init__(self, job: str, entries: list[tuple[Path, str]]) -> None:
        """job: whose they are, "" for nobody's. entries: file, and what is said of it."""
        super().__init__()
        self._job, self._entries = job, entries

    def compose(self) -> ComposeResult:
        """A list."""
        from rich.text import Text

        count = counted(len(self._entries), "recording")
        whose = f"of {self._job} and in this folder" if self._job else "in this folder"
        yield Lines(f"{count} {whose}", id="title")
        yield OptionList(*[Option(Text(clean(words))) for _, words in self._entries])
        yield KeyLine("Enter watch   Q back", id="keys")

    def on_mount(self) -> None:
        """The list takes the keys."""
        self.query_one(OptionList).focus()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Watch this one."""
        self.dismiss(self._entries[event.option_index][0])
