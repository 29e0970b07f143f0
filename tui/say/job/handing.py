"""What a report is, for the one who hands it over."""

from typing import Final

OPENS: Final = "It opens in the browser. Space goes back to the jobs."


def handed_lines(*, browser: bool, pdf: bool = False) -> list[str]:
    """What it holds, and what to do with it. pdf: it is one."""
    look = "O opens it in the browser." if browser else "Open it in any browser; it needs no network."
    return [
        look,
        "Page 1 is the customer's: before and after, what was fitted, the limit and whose it is.",
        "Page 2 is the shop's: stations, uncertainty, checks, proof, journal and seals.",
        "Print it from there." if pdf else "Print it from there; P writes it as PDF too.",
    ]
