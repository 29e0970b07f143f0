"""What every step on the screens needs: the program, what this machine remembers of its dial, and the folder
of the shop.
"""

from dataclasses import dataclass
from pathlib import Path

from ..entry.preferences import Memory
from .base import Program


@dataclass(frozen=True)
class Bench:
    """Where the work is done: the screen, what this machine remembers of its dial, and the shop's folder."""

    app: Program
    memory: Memory
    shop: Path

    @property
    def unit(self) -> str:
        """Of the lengths shown."""
        return self.app.unit

    @property
    def kit(self) -> str:
        """Dowels at hand where a job names none."""
        return self.app.preferences.kit
