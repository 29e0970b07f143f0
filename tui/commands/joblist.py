"""`coaxly job list`: all jobs of the shop. It is asked for often, and answers without numpy."""

import argparse

from .. import output
from ..errors import FINE
from ..job.folder.index import Index
from ..job.folder.shop import Job, asked_for
from ..job.steps.leftoff import left_off_at
from ..plain.whichshop import shop_of, watched
from ..say.job.listwords import list_line, row_object


def run(arguments: argparse.Namespace) -> int:
    """A line a job, the newest work first."""
    shop = shop_of(arguments)
    with Index(shop, watched) as index:
        rows = index.rows(" ".join(arguments.words))
    if arguments.json:
        output.json_object({"shop": str(shop), "jobs": [row_object(row) for row in rows]})
        return FINE
    left_off = [left_off_at(Job(shop / row.folder), row.next) for row in rows]
    lines = [list_line(row, arguments.unit_shown, off) for row, off in zip(rows, left_off, strict=True)]
    output.text(lines or [f"no such job in {shop}: 'coaxly job open TITLE{asked_for(shop)}' begins one"])
    return FINE
