"""Two numbers of a plain dial, as options say them."""

import argparse
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from ..errors import UsageError

if TYPE_CHECKING:  # a plan of a recording has nothing to record
    from ..job.sweep.begin import TwoNumbers

_EXAMPLE = "--tir 9thou --high 3:40"


def two_numbers(arguments: argparse.Namespace) -> "TwoNumbers | None":
    """Both of them; None where neither was said. Raises UsageError."""
    if arguments.tir is None and arguments.high is None:
        return None
    if arguments.tir is None or arguments.high is None:
        missing = "--tir" if arguments.tir is None else "--high"
        raise UsageError(f"{missing} is missing: it takes both, such as {_EXAMPLE}")
    from ..job.sweep.begin import TwoNumbers

    return TwoNumbers(arguments.tir, arguments.high)


@contextmanager
def laid_down(arguments: argparse.Namespace) -> Iterator[argparse.Namespace]:
    """The arguments with a file in them: that which was named, else a recording of the two numbers, kept
    while the command runs. Raises UsageError."""
    numbers = two_numbers(arguments)
    if numbers is None:
        if arguments.file is None:
            raise UsageError(f"name a recording or a job, or say what a plain dial read: {_EXAMPLE}")
        yield arguments
        return
    if arguments.file is not None:
        raise UsageError(
            f"{arguments.file}: two numbers take the place of a recording, so leave one of them out; "
            f"into a job they come by coaxly sweep --job JOB {_EXAMPLE}"
        )
    with tempfile.TemporaryDirectory(prefix="coaxly-") as folder:
        path = Path(folder) / "two-numbers.jsonl"
        _record(numbers, path)
        yield argparse.Namespace(**{**vars(arguments), "file": str(path)})


def _record(numbers: "TwoNumbers", path: Path) -> None:
    import asyncio

    from coaxly.fitter import Setup
    from coaxly.logger.angle.source import Source
    from coaxly.logger.profile import load

    from ..job.sweep.begin import told
    from ..job.sweep.request import TYPED, SweepRequest

    asyncio.run(told(SweepRequest(dial=Source("", load(TYPED)), setup=Setup(), out=path), numbers))
