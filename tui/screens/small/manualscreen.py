"""The manual on the screen, a page at a time; and what the keys do, over whatever is on the screen."""

from typing import ClassVar, Final

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.widgets import Markdown

from ...say.manual import contents, page, topics
from ...widgets.textlines import KeyLine, Lines
from ..base import Box, CoaxlyScreen, more

_KEYS: Final = "Down Up more   Right Left other page   T all pages   Q back"


class ManualScreen(CoaxlyScreen[None]):
    """A page of the manual; "" is the list of all. Links lead to other pages."""

    AUTO_FOCUS = None
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("q,escape,question_mark,h,f1", "leave", "Back", priority=True),
        Binding("right", "turn(1)", "Next"),
        Binding("left", "turn(-1)", "Before"),
        Binding("t,home", "open('')", "All pages"),
        Binding("down", "roll(3)", "Down"),
        Binding("up", "roll(-3)", "Up"),
        Binding("space,enter,pagedown", "leaf(1)", "A screen down"),
        Binding("pageup", "leaf(-1)", "A screen up"),
    ]
    DEFAULT_CSS = """
    ManualScreen #title { color: $primary; }
    ManualScreen .more { height: 1fr; }
    ManualScreen Markdown { max-width: 110; background: $background; }
    """

    def __init__(self, topic: str = "") -> None:
        """The page to begin with."""
        super().__init__()
        self.topic = topic

    def compose(self) -> ComposeResult:
        """Title, page, keys."""
        yield Lines(id="title")
        yield more(Markdown(open_links=False))
        yield KeyLine(_KEYS, id="keys")

    async def on_mount(self) -> None:
        """The first page."""
        await self.action_open(self.topic)

    async def action_open(self, topic: str) -> None:
        """Show a page from its top."""
        self.topic = topic
        names = list(topics())
        place = f"   {names.index(topic) + 1} of {len(names)}" if topic else ""
        self.tell("title", f"Manual: {topics().get(topic, 'all pages')}{place}")
        await self.query_one(Markdown).update(page(topic) if topic else contents())
        self.query_one(VerticalScroll).scroll_home(animate=False)

    async def action_turn(self, way: int) -> None:
        """The page after this one, or before it."""
        names = ["", *topics()]
        await self.action_open(names[(names.index(self.topic) + way) % len(names)])

    async def on_markdown_link_clicked(self, event: Markdown.LinkClicked) -> None:
        """Another page of the manual; what is elsewhere is only named."""
        event.stop()
        topic = event.href.removesuffix(".md")
        if topic in topics():
            await self.action_open(topic)

    def action_leaf(self, way: int) -> None:
        """A screenful, but for two lines."""
        scroll = self.query_one(VerticalScroll)
        scroll.scroll_relative(y=way * max(scroll.size.height - 2, 1), animate=False)


class HelpScreen(Box[None]):
    """A box of text; any of the usual keys closes it, and the one that opened it opens the manual."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,h,q,space,enter", "leave", "Close", priority=True),
        Binding("question_mark,f1", "manual", "Manual", priority=True),
    ]
    DEFAULT_CSS = """
    HelpScreen #box, HelpScreen .more, HelpScreen .more > Lines { width: auto; }
    HelpScreen .more > Lines { max-width: 85vw; }
    """

    def __init__(self, lines: list[str], topic: str = "screen") -> None:
        """The lines to show, and the page of the manual that tells more."""
        super().__init__()
        self._text, self._topic = "\n".join(lines), topic

    def compose(self) -> ComposeResult:
        """The box."""
        with Vertical(id="box"):
            yield more(KeyLine(self._text, id="text"))
            yield KeyLine("Esc closes   ? the manual", id="keys")

    def action_manual(self) -> None:
        """More than keys."""
        self.app.switch_screen(ManualScreen(self._topic))
