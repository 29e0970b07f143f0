"""The keys at the bottom of a page: wrapped where they are too many, and each can be clicked or touched."""

import re
from typing import Final

from rich.style import Style
from rich.text import Text
from textual import events
from textual.message import Message

from .lines import Lines

_KEY: Final = re.compile(r"(Space|Enter|Esc|Up|Down|Left|Right|Home|F\d+|[A-Z0-9?])(?:,? |$)")
_CALLED: Final = {"Esc": "escape", "?": "question_mark"}
_GAP: Final = re.compile(r"( {2,}|\n)")


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
        self.show(text)

    def drawn(self, text: str) -> Text:
        """What stands behind a key belongs to it, in a table too; two keys before the same words are
        each their own."""
        found, alone = Text(), ""
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


def _pressing(key: str) -> Style:
    return Style(meta={"key": _CALLED.get(key, key.lower())})
