"""Which shop is meant."""

import argparse
from collections.abc import Iterator, Sequence
from pathlib import Path

from .. import output
from ..entry.preferences import load_preferences
from ..job.folder.shop import shop_folder


def shop_of(arguments: argparse.Namespace) -> Path:
    """The shop's folder. Raises UsageError."""
    # Named before the command, it counts as well.
    return shop_folder(arguments.shop or arguments.bench_shop, load_preferences().shop)


def watched(names: Sequence[str]) -> Iterator[str]:
    """Names of jobs that are to be read, with a bar from two seconds on."""
    return output.progress(names, len(names), "reading the jobs")
