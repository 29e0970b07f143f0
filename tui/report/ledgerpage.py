"""A shop's ledger on paper: what to do, the pictures, the figures; as HTML that stands alone, or as PDF."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from coaxly.fitter.shop.changes import Change
from coaxly.fitter.shop.ledger import Found, Ledger

from ..entry.names import put_new
from ..output import clean
from ..say.shop.advice import days_words, findings, one_of_each
from ..version import __version__
from .content import filled
from .effectsplot import effects_plot
from .ledgerplots import clock_plot
from .ledgertrend import trend_plot
from .pdf import from_template
from .write import form_of


@dataclass(frozen=True, slots=True)
class Told:
    """What a page is made of: the jobs, what was found of them, and the lines of figures."""

    jobs: Sequence[Found]
    ledger: Ledger
    changes: Sequence[Change]
    figures: Sequence[str]


def pictures(told: Told, unit: str) -> list[tuple[str, str]]:
    """Title and SVG of each picture."""
    drawn = [
        (f"Where the bores sit, by family of {side}s", clock_plot(told.jobs, told.ledger, side, unit))
        for side in ("housing", "block")
        if side == "housing" or len({getattr(job, f"{side}_family") for job in told.jobs}) > 1
    ]
    drawn.append(("Who is to blame", effects_plot(told.ledger, unit)))
    told_apart = [change for change, _ in one_of_each(told.changes)]
    if (trend := trend_plot(told.jobs, told.ledger, told_apart, unit)) is not None:
        drawn.append(("Over time", trend))
    return [(title, sheet.markup()) for title, sheet in drawn]


def page_of(told: Told, unit: str, paper: str = "a4") -> dict[str, Any]:
    """What the page of a ledger says. pictures: title and SVG of each. paper: "a4" or "letter"."""
    days = days_words(told.jobs)
    return {
        "title": f"What {len(told.jobs)} jobs say",
        "when": f"{days}{'. ' * bool(days)}Every direction is seen from behind the engine.",
        "findings": [asdict(each) for each in findings(told.ledger, told.changes, unit)],
        "pictures": pictures(told, unit),
        "figures": [clean(line) for line in told.figures],
        "version": __version__,
        "paper": paper,
    }


def write_page(page: dict[str, Any], target: Path) -> None:
    """Write it, as HTML or PDF, to a file that was not there. Raises UsageError or Failure."""
    if form_of(target) == "pdf":
        put_new(target, from_template("ledger.typ", page))
    else:
        put_new(target, filled("ledger.html.j2", page=page))
