"""All that is known of something, as text."""

from typing import ClassVar

from textual.app import ComposeResult

from ...widgets.textlines import Lines
from ..base import more
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
