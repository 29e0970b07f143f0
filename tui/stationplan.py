"""Which stations are to be read, and in which order."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Plan:
    """Which stations to read. closing: read the first once more at the end. auto: stations capture
    themselves when the dial is steady."""

    stations: int = 8
    closing: bool = True
    auto: bool = False

    def angles(self) -> list[float]:
        """Angles as entered, in order."""
        step = 360.0 / self.stations
        return [step * k for k in range(self.stations)] + ([0.0] if self.closing else [])
