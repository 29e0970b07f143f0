"""A page of text with one way on: for what is decided between sweeps and at the end."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll

from ...widgets.keyline import KeyLine
from ...widgets.lines import Lines
from ..base import CoaxlyScreen


class Page(CoaxlyScreen[bool]):
    """A title, text that scrolls, and what the keys do. True: go on, False: leave."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space,enter", "go_on", "Go on", priority=True),
        Binding("q", "leave", "Quit"),
    ]
    DEFAULT_CSS = """
    Page #title { color: $primary; }
    Page #text { padding: 0 1; height: auto; }
    Page VerticalScroll { height: 1fr; scrollbar-size-vertical: 1; }
    """

    def __init__(self, title: str, lines: list[str], on: str) -> None:
        """`on`: what happens next, for the key line; "" where there is no next."""
        super().__init__()
        self._words = title, "\n".join(lines)
        self._on = on

    def on_mount(self) -> None:
        """Whatever the pedal presses goes on."""
        self.bind_pedal("go_on")

    def compose(self) -> ComposeResult:
        """Title, text, keys."""
        title, text = self._words
        keys = [f"Space {self._on}"] if self._on else []
        yield Lines(title, id="title")
        with VerticalScroll():
            yield Lines(text, id="text")
        yield KeyLine("   ".join([*keys, "Q quit"]), id="keys")

    def action_go_on(self) -> None:
        """Go on, if there is a next thing."""
        if self._on:
            self.dismiss(True)

    def action_leave(self) -> None:
        """Leave."""
        self.dismiss(False)
