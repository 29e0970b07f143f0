"""A run-out as it may be, beside its limit: a thick piece of a line, and a post."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ErrorBar:
    """Lengths of TIR, mm. spread: of 95 %. reach: where the line ends. then: what the spread will be, a
    thicker piece within the other; None where nothing is to come."""

    runout: float
    spread: float
    limit: float
    reach: float
    then: float | None = None

    def drawn(self, width: int, *, plain: bool) -> str:
        """From nothing to the reach, in so many cells. plain: in ASCII."""
        base, piece, post, middle, thick = "-=|O#" if plain else "─━┃●█"
        scale = (width - 1) / self.reach
        cells = [base] * width

        def lay(half: float, char: str) -> None:
            ends = (self.runout - half, self.runout + half)
            first, last = (min(max(round(at * scale), 0), width - 1) for at in ends)
            cells[first : last + 1] = [char] * (last + 1 - first)

        lay(self.spread, piece)
        lay(self.then or 0.0, middle if self.then is None else thick)
        cells[min(round(self.limit * scale), width - 1)] = post
        return "".join(cells)
