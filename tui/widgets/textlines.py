"""Text on the screen: never read as markup, cleaned of whatever would steer the terminal, and drawn anew only
where it changes.
"""

import re
from typing import Final

from rich.segment import Segment
from rich.style import Style
from rich.text import Text
from textual import events
from textual.color import Color
from textual.filter import LineFilter
from textual.geometry import Size
from textual.message import Message
from textual.widgets import Static

from ..output import UNSAFE, clean

_NAME: Final = r"(Space|Enter|Esc|Up|Down|Left|Right|Home|F\d+|[A-Z0-9?])"
_KEY: Final = re.compile(_NAME + r"(?:,? |$)")
_CALLED: Final = {"Esc": "escape", "?": "question_mark"}
_GAP: Final = re.compile(r"( {2,}|\n)")
_ENTRY: Final = re.compile(rf"( *)((?:{_NAME} {{2,}})?\S+(?: \S+)*)")


class Lines(Static):
    """Lines of text."""

    def __init__(self, text: str = "", *, id: str | None = None, classes: str | None = None) -> None:
        super().__init__(_cleaned(text), markup=False, id=id, classes=classes)
        self._shown = text

    @property
    def text(self) -> str:
        """What is shown."""
        return self._shown

    def show(self, text: str) -> None:
        """Show another text. The page is laid out anew only where that takes more or less room: it costs as
        much as everything else of a redraw."""
        if text == self._shown:
            return
        before = self._rows()
        self._shown = text
        self.update(self.drawn(_cleaned(text)), layout=False)
        if self.display and (before is None or before != self._rows()):
            self.refresh(layout=True)

    def _rows(self) -> int | None:
        """How many rows the text takes; None where it is not known, or decides the width as well."""
        width = self.content_size.width
        if not width or self.styles.is_auto_width:
            return None
        return self.get_content_height(self.size, self.app.size, width)

    def drawn(self, text: str) -> str | Text:
        """The text as it is drawn."""
        return text


def _cleaned(text: str) -> str:
    return "\n".join(map(clean, text.split("\n")))


class KeyLine(Lines):
    """Keys and what they do, two blanks or more between them: "Space begin   Q back"."""

    class Touched(Message):
        """A key was touched, or clicked."""

        def __init__(self, key: str) -> None:
            """key: its name."""
            super().__init__()
            self.key = key

    def __init__(self, text: str = "", *, id: str | None = None) -> None:
        """With a first text."""
        super().__init__("", id=id)
        self._flowed = ""
        self.show(text)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Of its lines, broken between two entries where they are longer than this."""
        flowed = _flowed(_cleaned(self._shown), width)
        if flowed != self._flowed:
            self._flowed = flowed
            self.update(self.drawn(flowed), layout=False)
        return super().get_content_height(container, viewport, width)

    def drawn(self, text: str) -> Text:
        """What stands behind a key belongs to it, in a table too; two keys before the same words are
        each their own."""
        self._flowed, found, alone = text, Text(), ""
        for part in _GAP.split(text):
            if not part.strip():
                found.append(part)
                alone = "" if "\n" in part else alone
                continue
            key, at = alone, 0
            while (match := _KEY.match(part, at)) is not None:
                key, at = match[1], match.end()
                found.append(match[0], _pressing(key))
            found.append(part[at:], _pressing(key) if key else "")
            alone = key if at == len(part) else ""
        return found

    def on_click(self, event: events.Click) -> None:
        """As if the key were pressed."""
        if key := event.style.meta.get("key"):
            self.post_message(self.Touched(key))


def _flowed(text: str, width: int) -> str:
    """With line breaks between entries, none inside one that fits."""
    lines = []
    for line in text.split("\n"):
        row = ""
        for entry in _ENTRY.finditer(line):
            if row and len(row + entry[0]) > width:
                lines.append(row)
                row = entry[2]
            else:
                row += entry[0]
        lines.append(row)
    return "\n".join(lines)


def _pressing(key: str) -> Style:
    return Style(meta={"key": _CALLED.get(key, key.lower())})


class CleanLines(LineFilter):
    """Drops the characters that `coaxly.output` spells out; they have no width, so nothing moves."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """The same segments with clean text."""
        if not any(UNSAFE.search(segment.text) for segment in segments if not segment.control):
            return segments
        # What steers the terminal on purpose (an image) is marked so by whoever draws it; no text can be.
        return [
            segment if segment.control else Segment(UNSAFE.sub("", segment.text), segment.style)
            for segment in segments
        ]
