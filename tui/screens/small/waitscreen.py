"""What takes its time says how far it is."""

from collections.abc import Iterator, Sequence

from textual.app import ComposeResult
from textual.containers import Vertical

from ...widgets.textlines import KeyLine, Lines
from ..base import Box, more

_LOOK_S = 0.2


class Stopped(Exception):
    """Somebody does not want to wait."""


class Counted:
    """Counts what is handed on, in whatever thread; a bar of it in words."""

    def __init__(self, what: str) -> None:
        self.what, self.done, self.total, self.stopped = what, 0, 0, False

    def watch(self, names: Sequence[str]) -> Iterator[str]:
        """One after the other. Raises Stopped where nobody waits any more."""
        self.total = len(names)
        for self.done, name in enumerate(names):
            if self.stopped:
                raise Stopped
            yield name

    def words(self, width: int) -> str:
        """How far it is, in so many columns."""
        share = self.done / self.total if self.total else 0.0
        full = round(share * width)
        return f"{self.what}: {self.done} of {self.total}\n{'#' * full}{'.' * (width - full)}"


class WaitScreen(Box[None]):
    """Over an empty page, until whoever opened it takes it away; Esc stops what is waited for."""

    DEFAULT_CSS = "WaitScreen #box { width: 50; }"

    def __init__(self, counted: Counted) -> None:
        super().__init__()
        self._counted = counted

    def compose(self) -> ComposeResult:
        """The bar, the way out."""
        with Vertical(id="box"):
            yield more(Lines(id="text"))
            yield KeyLine("Esc stops", id="keys")

    def on_mount(self) -> None:
        """Drawn anew all the while."""
        self.set_interval(_LOOK_S, self._look)

    def _look(self) -> None:
        lines = self.query_one("#text", Lines)
        lines.show(self._counted.words(max(lines.size.width, 10)))

    def action_leave(self) -> None:
        """It ends as soon as it can."""
        self._counted.stopped = True
        self.tell("keys", "It stops.")
