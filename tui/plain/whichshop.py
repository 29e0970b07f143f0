"""Which shop is meant."""

import argparse
from pathlib import Path

from ..entry.preferences import load_preferences
from ..job.folder.shop import shop_folder


def shop_of(arguments: argparse.Namespace) -> Path:
    """The shop's folder. Raises UsageError."""
    # Named before the command, it counts as well.
    return shop_folder(arguments.shop or arguments.bench_shop, load_preferences().shop)
