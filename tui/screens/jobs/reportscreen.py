"""What is handed over? The page that was written, where it is, and one key to look at it."""

import os
import sys
import webbrowser
from pathlib import Path
from typing import ClassVar, Literal

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from ...say.job.reportwords import OPENS, handed_lines
from ...say.smallwords import shortened
from ...widgets.bigwords import BigWords
from ...widgets.textlines import Lines
from ..base import more
from ..sheet import Key, Sheet

Answer = Literal["on", "pdf"]


def has_browser() -> bool:
    """Whether there is a desktop to open it on: a browser in the terminal would write over the page."""
    if sys.platform in ("darwin", "win32"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def open_file(path: Path) -> bool:
    """In the browser that the user has chosen; whether one took it."""
    try:
        return webbrowser.open(path.as_uri())
    except (OSError, ValueError, webbrowser.Error):
        return False


class ReportScreen(Sheet[Answer]):
    """Dismissed with "on" when it was seen, with "pdf" where it is wanted so."""

    TOPIC = "jobs"
    leaving = "on"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("o", "open", "Open"),
        Binding("p", "pdf", "PDF"),
    ]
    DEFAULT_CSS = """
    ReportScreen #large { height: 34%; min-height: 8; width: 100%; margin: 0 1; }
    ReportScreen #path { height: auto; padding: 1 1; text-style: bold; color: $primary; }
    ReportScreen #said { height: 1fr; padding: 0 1; }
    """

    def __init__(self, title: str, path: Path) -> None:
        """path: of the report of the job of that title."""
        super().__init__()
        self._job, self._path = title, path.resolve()

    def title_words(self) -> str:
        """Of which job."""
        return f"{shortened(self._job)}: the report is written"

    def keys(self) -> list[Key]:
        """Look at it, go on."""
        look = [("O", "open it")] if has_browser() else []
        pdf = [] if self._is_pdf else [("P", "as PDF")]
        return [("Space", "jobs"), *look, *pdf, ("Q", "jobs")]

    @property
    def _is_pdf(self) -> bool:
        return self._path.suffix == ".pdf"

    def body(self) -> ComposeResult:
        """Its name, large; where it is; what it is for."""
        yield BigWords(self.app.glyphs, self._path.name, style="good", id="large")
        yield Lines(str(self._path), id="path")
        yield more(
            Lines("\n".join(handed_lines(browser=has_browser(), pdf=self._is_pdf)), id="text"), id="said"
        )

    def go_on(self) -> None:
        """Seen."""
        self.dismiss("on")

    def action_pdf(self) -> None:
        """As PDF as well."""
        if not self._is_pdf:
            self.dismiss("pdf")

    @work(thread=True)
    def action_open(self) -> None:
        """In the browser, which may take its time."""
        if has_browser():
            said = OPENS if open_file(self._path) else "! no browser could be opened: open the file by hand"
            self.app.call_from_thread(self.tell, "keys", said)
