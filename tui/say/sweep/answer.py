"""What is largest on a finished sweep: the decision in one word, and the run-out with its uncertainty."""

from dataclasses import dataclass, replace

from coaxly.fitter import Result

from ...entry.lengths import half_width, number, show_length
from .noverdict import large_word, state_of


@dataclass(frozen=True)
class Answer:
    """state: "inside", "outside", "unsure", or "withheld"; word: why it is withheld, in large letters, else
    "".
    number: the run-out in digits; lines: what stands beneath it. runout, spread (95 %), limit: TIR in mm,
        for the bar."""

    state: str
    number: str
    lines: tuple[str, ...]
    runout: float
    spread: float
    limit: float
    word: str = ""

    def with_number(self, number: str) -> "Answer":
        """The same with other digits."""
        return replace(self, number=number)


def answer(result: Result, unit: str, *more: str) -> Answer:
    """The answer of a result; `more`: lines to stand last."""
    runout, spread = result.tir.fitted, 2.0 * result.eccentricity.u95_amount
    return Answer(
        state=state_of(result.decision),
        number=number(runout, unit),
        lines=(
            f"+- {half_width(spread, unit)} run-out",
            f"limit {show_length(result.decision.limit, unit)}",
            *more,
        ),
        runout=runout,
        spread=spread,
        limit=result.decision.limit,
        word=large_word(result.decision.withheld),
    )
