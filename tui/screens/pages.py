"""A page of text with one way on: for what is decided between sweeps and at the end."""

import time
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen

from ..widgets.lines import Lines


class Page(Screen[bool]):
    """A title, text that scrolls, and what the keys do. True: go on, False: leave."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space,enter", "go_on", "Go on", priority=True),
        Binding("q", "leave", "Quit"),
    ]
    DEFAULT_CSS = """
    Page { layout: vertical; background: $background; color: $foreground; }
    Page #title { height: 3; background: $panel; padding: 1 2; text-style: bold; color: $primary; }
    Page #text { padding: 1 2; height: auto; }
    Page #keys { height: 1; background: $panel; padding: 0 1; }
    """

    def __init__(self, title: str, lines: list[str], on: str, *, go_on_after: float | None = None) -> None:
        """`on`: what happens next, for the key line; "" where there is no next."""
        super().__init__()
        self._words = title, "\n".join(lines)
        self._on = on
        self._go_on_after = go_on_after
        self._since = time.monotonic()

    def compose(self) -> ComposeResult:
        """Title, text, keys."""
        yield Lines(id="title")
        with VerticalScroll():
            yield Lines(id="text")
        yield Lines(id="keys")

    def on_mount(self) -> None:
        """Fill in the words and start the countdown, if there is one."""
        self.query_one("#title", Lines).show(self._words[0])
        self.query_one("#text", Lines).show(self._words[1])
        self._count()
        if self._go_on_after is not None:
            self.set_interval(0.5, self._count)

    def _count(self) -> None:
        parts = [f"Space {self._on}"] if self._on else []
        if self._go_on_after is not None:
            left = self._go_on_after - (time.monotonic() - self._since)
            parts.append(f"(by itself in {max(left, 0.0):.0f} s)")
            if left <= 0.0 and self.is_current:
                self.dismiss(True)
        self.query_one("#keys", Lines).show("   ".join([*parts, "Q quit"]))

    def action_go_on(self) -> None:
        """Go on, if there is a next thing."""
        if self._on:
            self.dismiss(True)

    def action_leave(self) -> None:
        """Leave."""
        self.dismiss(False)
