"""What a shop learns is told word for word as it was: ledger, figures, study, stock, and what is known of a rig."""

import pytest
from golden import kept
from making import RECORDINGS

from coaxly.entry.foundlist import load_found
from coaxly.fitter.dial import DialCheck, StepError
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.sag import Sag
from coaxly.fitter.shop.changes import changes
from coaxly.fitter.shop.ledger import ledger
from coaxly.fitter.shop.parallelstock import Choice, Kept, Work
from coaxly.fitter.shop.splitstock import MixedChoice
from coaxly.fitter.shop.study import Repeat, study
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.say.shop import rig
from coaxly.say.shop.ledgerwords import figure_lines, ledger_lines
from coaxly.say.shop.stockwords import Asked, stock_lines
from coaxly.say.shop.studywords import study_lines

pytestmark = pytest.mark.arithmetic
CHECK = DialCheck(
    12, (StepError(0.0, 0.0, 0.0, 0.0), StepError(0.25, 0.252, 0.002, 0.0004), StepError(1.0, 1.02, 0.02, 0.002)),
    -0.004, 0.001, 0.0015, 8, 0.001, (), 0.001,
)  # fmt: skip
WORK = Work(5.0 * THOU, pins=Pins((-139.7, -25.4), (139.7, 25.4)))
CURVE = [Choice((7 * THOU,), 0.61, (0.5,)), Choice((5 * THOU, 10 * THOU), 0.82, (0.4, 0.3))]
MIXED = [MixedChoice((7 * THOU,), 0.7, ((7 * THOU, 7 * THOU, 0.6),))]
KEEP = [Kept(5 * THOU, 10, 6.4), Kept(10 * THOU, 8, 4.8)]


@pytest.fixture(scope="module")
def shop():
    jobs = load_found(RECORDINGS / "made-shop.csv")
    found = ledger(jobs)
    return jobs, found, changes(jobs, found)


def repeated():
    """Three people who swept two housings, twice in each of two mountings."""
    steps = (0.3, -0.2, 0.4, -0.5, 0.1, -0.1, 0.2, -0.3)
    listed = []
    for k, (housing, person, mounting, turn) in enumerate(
        (h, p, m, t) for h in "AB" for p in "PQR" for m in "12" for t in range(2)
    ):
        x = 6.0 * (housing == "B") + 1.5 * (person == "Q") + steps[k % 8] + 0.4 * (mounting == "2")
        sense = 1 if turn else -1
        listed.append(
            Repeat(housing, person, mounting, (x * THOU, steps[k % 7] * THOU), 0.2 * THOU, sense, f"{k}")
        )
    return study(listed, 5.0 * THOU)


TOLD = {
    "ledger": lambda shop: ledger_lines(*shop, "thou"),
    "ledger in mm": lambda shop: ledger_lines(*shop, "mm"),
    "figures": lambda shop: figure_lines(*shop[1:], "thou"),
    "study": lambda shop: study_lines(repeated(), "thou"),
    "stock": lambda shop: stock_lines(CURVE, [], KEEP, Asked(20.0, 0.05, WORK, 0, 2), "thou"),
    "stock of unlike pairs": lambda shop: stock_lines(
        CURVE, MIXED, KEEP, Asked(20.0, 0.05, WORK, 31, 1), "mm"
    ),
    "gauge steps": lambda shop: rig.dial_lines(CHECK, 0.005, "mm"),
    "gauge steps in thou": lambda shop: rig.dial_lines(CHECK, 0.0, "thou"),
    "sag": lambda shop: rig.sag_lines(Sag(0.05, 0.002, 0.001, 0.002), "thou"),
}


@pytest.mark.parametrize("name", TOLD)
def test_it_is_told_as_it_was(name, shop):
    text = "\n".join(TOLD[name](shop)) + "\n"
    assert text == kept(f"told/{name}", text)
