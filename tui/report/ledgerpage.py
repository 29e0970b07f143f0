"""A shop's ledger as one page of HTML that stands alone: what to do, the pictures, the figures."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from fitter.shop.changes import Change
from fitter.shop.ledger import Found, Ledger

from .. import __version__
from ..output import clean
from ..say.ledger import findings, one_of_each
from .effectsplot import effects_plot
from .ledgerplots import clock_plot
from .ledgertrend import trend_plot

_PAGE: Final = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>Ledger of {{ jobs }} jobs</title>
<meta name="viewport" content="width=device-width"><style>
@page { margin: 15mm }
body { color: #1c2430; background: #fff; font: 16px/1.4 Georgia, 'Times New Roman', serif; max-width: 46rem;
  margin: 2rem auto; padding: 0 1rem }
h1 { font-size: 1.6rem; margin-bottom: 0 } h2 { font-size: 1.15rem; margin: 2rem 0 .3rem }
li { margin-bottom: .9rem; break-inside: avoid } .why { color: #5d6875 } .do { font-weight: bold }
figure { margin: 0; break-inside: avoid } svg { max-width: 100%; height: auto }
pre { font-size: .8rem; white-space: pre-wrap } footer, .from { color: #5d6875; font-size: .9rem }
</style></head><body>
<h1>What {{ jobs }} jobs say</h1>
<p class="from">{{ when }}Every direction is seen from behind the engine.</p>
<ol>{% for each in findings %}
<li>{{ each.what }} <span class="why">{{ each.why }}</span><br>
<span class="do">Do: {{ each.do }}</span></li>
{% endfor %}</ol>
{% for title, picture in pictures %}
<figure><h2>{{ title }}</h2>
{{ picture | safe }}</figure>{% endfor %}
<h2>Figures</h2>
<pre>{% for line in figures %}{{ line }}
{% endfor %}</pre>
<footer>coaxly {{ version }}</footer>
</body></html>
"""


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


def ledger_page(told: Told, unit: str) -> str:
    """The page. Everything that a job or a table says is escaped."""
    import jinja2

    days = sorted(job.day for job in told.jobs if job.day is not None)
    first, last = (date.fromordinal(round(days[k])).isoformat() if days else "" for k in (0, -1))
    page = jinja2.Environment(autoescape=True, undefined=jinja2.StrictUndefined).from_string(_PAGE)
    return page.render(
        jobs=len(told.jobs),
        when=f"From {first} to {last}. " if days else "",
        findings=findings(told.ledger, told.changes, unit),
        pictures=pictures(told, unit),
        figures=[clean(line) for line in told.figures],
        version=__version__,
    )
