"""Plain text that changes: foreign text is never read as markup, and nothing is redrawn in vain."""

from textual.widgets import Static

from ..output import clean


class Lines(Static):
    """Lines of text."""

    def __init__(self, text: str = "", *, id: str | None = None, classes: str | None = None) -> None:
        """With a first text."""
        super().__init__(_cleaned(text), markup=False, id=id, classes=classes)
        self._shown = text

    @property
    def text(self) -> str:
        """What is shown."""
        return self._shown

    def show(self, text: str) -> None:
        """Show another text."""
        if text != self._shown:
            self._shown = text
            self.update(_cleaned(text))


def _cleaned(text: str) -> str:
    return "\n".join(map(clean, text.split("\n")))
