"""Plain text that changes: foreign text is never read as markup, and nothing is redrawn in vain."""

from textual.widgets import Static


class Lines(Static):
    """Lines of text."""

    def __init__(self, *, id: str | None = None, classes: str | None = None) -> None:
        """Empty."""
        super().__init__("", markup=False, id=id, classes=classes)
        self._shown = ""

    @property
    def text(self) -> str:
        """What is shown."""
        return self._shown

    def show(self, text: str) -> None:
        """Show another text."""
        if text != self._shown:
            self._shown = text
            self.update(text)
